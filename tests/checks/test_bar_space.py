"""bar-space: gaps between clamps, the bar's ends, forbidden stretches, room for a spanner."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import BarClamp
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.clearance.checks.bar_space import HEAD_OVER_FLATS
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
WIDTH = 2.75 * INCH  # of the catalogue's clamp for a 2 in bar
GAP, TIGHT = 3.2, 1.6  # default limits, mm


def two(apart_mm: float) -> str:
    """Two points in rigid holders whose clamps' middles are `apart_mm` from each other."""
    return f"[{{use: point-rigid, at: [0, {apart_mm:.6f} mm], depth: 1}}]"


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [
        (-5.0, Verdict.FAIL),
        (GAP - 0.01, Verdict.FAIL),
        (GAP, Verdict.ADVISE),
        (GAP + TIGHT - 0.01, Verdict.ADVISE),
        (GAP + TIGHT, Verdict.PASS),
        (50.0, Verdict.PASS),
    ],
)
def test_gap_between_clamps_on_both_sides_of_the_limit(
    rig: Rig, finds: Find, gap: float, verdict: Verdict
) -> None:
    (finding,) = finds(rig(stations=two(WIDTH + gap)), "bar-space")
    assert finding.value == pytest.approx(gap, abs=1e-5)
    assert finding.verdict is verdict
    assert ("they need" in finding.message or "overlap" in finding.message) == (
        verdict is Verdict.FAIL
    )


def test_moving_a_clamp_is_the_remedy(rig: Rig, cured: Find) -> None:
    stations = (
        "[{use: point-rigid, at: [0], depth: 1},"
        " {use: point-rigid, at: [2 1/2], name: other, depth: 1}]"
    )
    (finding,) = cured(rig(stations=stations), "bar-space")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path[-1] == "shift"


@pytest.mark.parametrize(
    ("over", "verdict"), [(-0.01, Verdict.PASS), (0.0, Verdict.PASS), (0.01, Verdict.FAIL)]
)
def test_a_clamp_at_the_bars_end(rig: Rig, finds: Find, over: float, verdict: Verdict) -> None:
    assembly = rig(stations=two(20 * INCH))
    edge = max(abs(c.centre_mm) + c.width_mm / 2.0 for c in assembly.clamps)
    toolbar = f"{{tube: tube-2x1-4, length: {2.0 * (edge - over):.6f} mm, height: 20}}"
    found = finds(rig(stations=two(20 * INCH), toolbar=toolbar), "bar-space")
    assert found[0].verdict is verdict
    if verdict is Verdict.FAIL:
        assert found[0].value == pytest.approx(-over, abs=1e-5)


def test_a_longer_bar_cures_a_clamp_that_hangs_over(rig: Rig, cured: Find) -> None:
    toolbar = "{tube: tube-2x1-4, length: 40, height: 20}"
    (finding,) = cured(rig(stations=two(20 * INCH), toolbar=toolbar), "bar-space")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("toolbar", "length")


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("over", "fails"), [(-0.01, False), (0.01, True)])
def test_a_forbidden_stretch_on_both_sides_of_its_edge(
    rig: Rig, finds: Find, side: float, over: float, fails: bool
) -> None:
    assembly = rig(stations=two(20 * INCH))
    clamp = assembly.clamps[1]
    edge = clamp.centre_mm + side * clamp.width_mm / 2.0
    ends = sorted((edge - side * over, edge + side * 30.0))
    stretch = f"{{low: {ends[0]:.6f} mm, high: {ends[1]:.6f} mm, why: a weld}}"
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: 20, no_clamp: [{stretch}]}}"
    found = finds(rig(stations=two(20 * INCH), toolbar=toolbar), "bar-space")
    broken = [f for f in found if f.verdict is Verdict.FAIL]
    assert bool(broken) is fails
    assert all("a weld" in f.message and clamp.part in f.parts for f in broken)


def test_a_stretch_of_the_other_face_does_not_matter(rig: Rig, finds: Find) -> None:
    for face, count in (("front", 0), ("rear", 1), ("any", 1)):
        stretch = f"{{low: -5, high: 5, face: {face}}}"
        toolbar = f"{{tube: tube-2x1-4, length: 72, height: 20, no_clamp: [{stretch}]}}"
        found = finds(rig(stations=two(20 * INCH), toolbar=toolbar), "bar-space")
        assert sum(f.verdict is Verdict.FAIL for f in found) == count


def test_a_spanner_needs_room_past_the_clamps_edge(rig: Rig, finds: Find) -> None:
    # The outermost nut stands 1 1/2 bolt diameters inside the edge; half of a spanner's head is
    # 1.59 / 2 widths across flats (US specification A-A-1346A).
    own = (
        "{big: {kind: bar-clamp, fits: 2, width: 2 3/4, plate_thickness: 3/8, plate_height: 4,"
        " bolt_diameter: 3/8, fasteners: [{what: nut, size: 3/4-10, count: 4, spanner: 1 1/8}]}}"
    )
    needed = 1.125 * INCH * HEAD_OVER_FLATS / 2.0 - 1.5 * 0.375 * INCH
    for gap, verdict in ((needed - 0.01, Verdict.FAIL), (needed + 0.01, Verdict.ADVISE)):
        stations = two(WIDTH + gap).replace("depth: 1", "depth: 1, swap: {mount: big}")
        (finding,) = finds(rig(stations=stations, parts=own), "bar-space")
        assert finding.limit == pytest.approx(needed, abs=1e-9)
        assert finding.verdict is verdict


def test_u_bolts_on_a_two_inch_bar_take_flange_nuts_with_a_nine_sixteenths_spanner(
    rig: Rig,
) -> None:
    # common practice, no source
    clamp = builtin_catalogue().parts["bar-clamp-2"]
    assert isinstance(clamp, BarClamp)
    assert clamp.fits == 2 * INCH
    assert {f.what: f.spanner for f in clamp.fasteners} == {
        "U-bolt": pytest.approx(9 / 16 * INCH),
        "flange nut": pytest.approx(9 / 16 * INCH),
    }
    assert rig().clamps[0].spanner_mm == pytest.approx(9 / 16 * INCH)


def test_one_clamp_has_no_neighbour(rig: Rig, finds: Find) -> None:
    assert finds(rig(stations="[{use: point-rigid, at: [0], depth: 1}]"), "bar-space") == ()
