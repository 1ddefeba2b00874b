"""wheel-clash against the closed form for flat wheels.

Wheels without tilt on arms that cannot float lie in one plane. Their ring of fingers is a disc of
the full diameter at its middle height, its rim rounded, so the least gap of two wheels is exactly
the distance of their centres less the diameter. The search stops within its error bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.wheel_clash import flat_stagger_mm
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
AGREES = 0.1  # mm; the rim's rounding takes nothing from it
CLEARANCE = 12.7  # default limit between wheels, mm

PARTS = """{{
  flat: {{kind: finger-wheel, diameter: {diameter}, finger_length: 2, finger_thickness: 5/8,
    driver_diameter: 4, driver_thickness: 1/4, tine_length: 3/4, hub_diameter: 2 1/2,
    hub_height: 2, stub_diameter: 1, stub_length: 1, tilt: 0}},
  stiff: {{kind: trailing-arm, length: 20, depth: 1 1/2, width: 1, bracket_width: 1 3/8,
    bracket_height: 1 1/2, bracket_thickness: 3/16, pivot_back: 3, pivot_drop: 0,
    pin_diameter: 3/4, spring_diameter: 1 1/4, spring_length: 6,
    down_stop: -15, up_stop: -15, work_angle: -15}},
  plain: {{kind: square-tube, size: 2, wall: 3/16}}
}}"""
UNIT = """{mount: bar-clamp-2, place: pair-gap, rank_mount: {clamp: tee-clamp-2, tube: plain},
  tool: {name: arm, part: stiff, carries: [
    {name: holder, part: rigid-holder-stem, offset: [-1/4, 0, 0], carries: [
      {name: stem, part: stem-1-16, carries: [{name: wheel, part: flat}]}]}]}}"""


def flat_rig(rig: Rig, spacing: float, diameter: float, gap: float, stagger_mm: float) -> Assembly:
    station = f"at: rows, pair_gap: {gap}, depth: 1/2, rank: [0, {-stagger_mm:.6f} mm]"
    return rig(
        rows=f"{{count: 2, spacing: {spacing}, keep_out: 2}}",
        stations=f"[{{build: {UNIT}, {station}}}]".replace("\n", " "),
        parts=PARTS.format(diameter=diameter).replace("\n", " "),
        tolerances="{setting: 0}",
        toolbar="{tube: tube-2x1-4, length: 90, height: 20}",
    )


def wheels_only(found: tuple[Finding, ...]) -> list[Finding]:
    return [f for f in found if all(p.endswith(".wheel") for p in f.parts)]


@pytest.mark.parametrize(
    ("spacing", "diameter", "gap", "stagger"),
    [(15, 8, 1.5, 8), (15, 10, 0.79, 10), (12, 8, 0.79, 9), (18, 12, 1, 14), (30, 8, 1.5, 0)],
)
def test_least_gap_of_flat_wheels_is_that_of_their_circles(
    rig: Rig, finds: Find, spacing: float, diameter: float, gap: float, stagger: float
) -> None:
    found = finds(flat_rig(rig, spacing, diameter, gap, stagger * INCH), "wheel-clash")
    (finding,) = wheels_only(found)
    circles = math.hypot(spacing - gap - diameter, stagger) - diameter
    assert finding.value == pytest.approx(circles * INCH, abs=AGREES)
    assert finding.error_bound <= AGREES
    assert finding.verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("spacing", "diameter", "gap"), [(15, 8, 0.79), (15, 10, 0.79), (12, 8, 0.79), (18, 12, 0.79)]
)
def test_the_stagger_that_just_clears_is_the_closed_form(
    rig: Rig, finds: Find, spacing: float, diameter: float, gap: float
) -> None:
    stagger = flat_stagger_mm(diameter * INCH, spacing * INCH, gap * INCH, CLEARANCE)
    for more, verdict in ((-AGREES, Verdict.FAIL), (AGREES, Verdict.ADVISE)):
        found = wheels_only(
            finds(flat_rig(rig, spacing, diameter, gap, stagger + more), "wheel-clash")
        )
        assert {f.verdict for f in found} == {verdict}
        assert found[0].value == pytest.approx(CLEARANCE, abs=2 * AGREES)


def test_flat_wheels_that_clear_in_line_need_no_stagger(rig: Rig, finds: Find) -> None:
    # 2 D + g + c <= S
    spacing = 2 * 8 + 0.79 + 0.5
    for more, verdict in ((-0.01, Verdict.FAIL), (0.01, Verdict.ADVISE)):
        found = wheels_only(finds(flat_rig(rig, spacing + more, 8, 0.79, 0.0), "wheel-clash"))
        assert {f.verdict for f in found} == {verdict}


def test_setting_a_row_back_is_the_remedy(rig: Rig, cured: Find) -> None:
    for finding in cured(flat_rig(rig, 15, 8, 1.5, 0.0), "wheel-clash"):
        assert finding.remedy is not None
        (change,) = finding.remedy.changes
        assert change.path == ("stations", 0, "rank")
        assert isinstance(change.value, tuple)
        # The least sixteenth of an inch at or past the closed form.
        exact = flat_stagger_mm(8 * INCH, 15 * INCH, 1.5 * INCH, CLEARANCE)
        stagger = abs(change.value[0] - change.value[1])
        assert exact - 1e-3 <= stagger <= exact + INCH / 16 + AGREES


def test_floating_arms_need_more_than_stiff_ones(rig: Rig, finds: Find) -> None:
    stations = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, rank: [0, -8]}]"
    rows = "{count: 2, spacing: 15, keep_out: 2 1/2}"
    (floating,) = finds(rig(rows=rows, stations=stations), "wheel-clash")
    assembly = rig(rows=rows, stations=stations)
    wheels = [assembly.mechanism.part(f"row{i}.finger_wheel") for i in ("1.right", "2.left")]
    one, other = (assembly.at_work(part).bounds() for part in wheels)
    assert floating.value is not None
    assert floating.value < math.hypot(*(one.mean(axis=0) - other.mean(axis=0)))
    assert floating.pose


def test_one_row_has_no_neighbours(rig: Rig, finds: Find) -> None:
    stations = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"
    assert finds(rig(rows="{count: 1, keep_out: 2}", stations=stations), "wheel-clash") == ()
