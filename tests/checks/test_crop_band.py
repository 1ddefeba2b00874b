"""crop-band: steel against the row's line and against its leaves."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import not_checked
from rigmodel.clearance.checks.crop_band import GRAIN_MM
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
PLANTS = "{{count: 1, keep_out: 2 1/2, plants: {{canopy_width: {}, height: 3, lowest_leaf: 1}}}}"


def beside(edge_mm: float) -> str:
    """A blade each side of each row, its edge `edge_mm` from the row."""
    blade = "use: blade-rigid, at: rows, sides: both, depth: 1"
    return f"[{{{blade}, keep_out: {edge_mm:.6f} mm}}]"


def test_a_ten_inch_blade_beside_a_band_of_two_and_a_half(rig: Rig) -> None:
    # common practice, no source: a band of 2 1/2 in kept each side with a 10 in blade puts the
    # blade's centre 7 1/2 in from the row.
    stations = "[{use: blade-rigid, at: rows, sides: both, depth: 1, swap: {blade: blade-10}}]"
    assembly = rig(rows="{count: 1, keep_out: 2 1/2}", stations=stations)
    centres = sorted(tool.centre_mm for tool in assembly.tools)
    assert centres == pytest.approx([-7.5 * INCH, 7.5 * INCH], abs=1e-6)


def test_two_rows_stand_half_a_spacing_each_side_of_the_middle(rig: Rig) -> None:
    # common practice, no source
    assembly = rig(rows="{count: 2, spacing: 24, keep_out: 2 1/2}")
    assert [row.y_mm for row in assembly.rows] == pytest.approx([12 * INCH, -12 * INCH])


@pytest.mark.parametrize(
    ("inside", "verdict"),
    [(-1.0, Verdict.PASS), (0.0, Verdict.PASS), (2 * GRAIN_MM, Verdict.FAIL), (20.0, Verdict.FAIL)],
)
def test_both_sides_of_the_bands_edge(
    rig: Rig, finds: Find, inside: float, verdict: Verdict
) -> None:
    edge = 2.5 * INCH - inside
    found = finds(rig(stations=beside(edge)), "crop-band")
    assert {f.verdict for f in found} == {verdict}
    for finding in found:
        assert finding.value == pytest.approx(edge, abs=2e-3 + finding.error_bound)


def test_shifting_the_blade_is_the_remedy(rig: Rig, cured: Find) -> None:
    stations = "[{use: blade-rigid, at: rows, sides: left, depth: 1, keep_out: 2}]"
    found = cured(rig(stations=stations), "crop-band")
    for finding in found:
        assert finding.remedy is not None
        assert finding.remedy.changes[0].path[-1] in ("shift", "blade")


@pytest.mark.parametrize(("canopy", "verdict"), [(4.8, Verdict.PASS), (5.2, Verdict.FAIL)])
def test_leaves_on_both_sides_of_the_steel(
    rig: Rig, finds: Find, canopy: float, verdict: Verdict
) -> None:
    # A blade on a spring holder rises through the leaves' height when it trips.
    stations = "[{use: blade-spring, at: rows, sides: both, depth: 1}]"
    assembly = rig(rows=PLANTS.format(canopy), stations=stations)
    leaves = [
        f for f in finds(assembly, "crop-band") if any(p.endswith(".leaves") for p in f.parts)
    ]
    assert {f.verdict for f in leaves} == {verdict}


def test_leaves_that_are_not_given_are_said_not_to_be_checked(rig: Rig, finds: Find) -> None:
    given = rig(rows=PLANTS.format(3), stations="[{use: blade-rigid, at: rows, depth: 1}]")
    without = rig()
    told = [n for n in not_checked(without) if n.check == "crop-band" and "leaves" in n.reason]
    assert len(told) == 1
    assert not [n for n in not_checked(given) if "leaves" in n.reason]
    assert all(not p.endswith(".leaves") for f in finds(without, "crop-band") for p in f.parts)


def test_fingers_may_enter_the_band_but_their_metal_may_not(rig: Rig, finds: Find) -> None:
    wheels = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"
    assert {f.verdict for f in finds(rig(stations=wheels), "crop-band")} == {Verdict.PASS}
    tight = rig(stations=wheels, rows="{count: 2, spacing: 24, keep_out: 3 1/4}")
    broken = [f for f in finds(tight, "crop-band") if f.verdict is Verdict.FAIL]
    assert broken
    assert all(f.parts[0].split(".")[2].startswith("finger_wheel") for f in broken)
