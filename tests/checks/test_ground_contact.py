"""ground-contact: tools off their depth, and parts that drag."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
LIMIT = 6.35
POINT = "[{use: point-rigid, at: [0], depth: 1}]"


def at_height(rig: Rig, height_mm: float) -> Assembly:
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: {height_mm:.6f} mm}}"
    tractor = "{use: small-belly, frame: {clearance: 60}, lift: {lowest: 4, highest: 40}}"
    return rig(stations=POINT, toolbar=toolbar, tractor=tractor)


def highest_mm(rig: Rig) -> float:
    """Height of the bar at which the shank is all the way down and the tool just at its depth."""
    assembly = rig(stations=POINT)
    slide = assembly.adjustment["place1.point_shank.slide"]
    return 20.0 * INCH + slide.high - slide.wanted


@pytest.mark.parametrize(
    ("short", "verdict"),
    [
        (0.0, Verdict.PASS),
        (LIMIT - 0.01, Verdict.PASS),
        (LIMIT, Verdict.PASS),
        (LIMIT + 0.01, Verdict.FAIL),
        (100.0, Verdict.FAIL),
    ],
)
def test_both_sides_of_the_depth_tolerance(
    rig: Rig, finds: Find, short: float, verdict: Verdict
) -> None:
    (finding,) = finds(at_height(rig, highest_mm(rig) + short), "ground-contact")
    assert finding.value == pytest.approx(short, abs=1e-5)
    assert finding.verdict is verdict
    assert ("too shallow" in finding.message) == (verdict is Verdict.FAIL)


def test_a_tool_that_cannot_go_up_runs_too_deep(rig: Rig, finds: Find) -> None:
    found = finds(at_height(rig, 0.5 * INCH), "ground-contact")
    assert any("too deep" in f.message for f in found if f.verdict is Verdict.FAIL)


def test_lowering_the_bar_or_a_longer_shank_is_the_remedy(rig: Rig, cured: Find) -> None:
    (finding,) = cured(at_height(rig, highest_mm(rig) + 60.0), "ground-contact")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path in (
        ("toolbar", "height"),
        ("stations", 0, "swap", "point_shank"),
    )


def test_a_bar_in_the_soil_drags(rig: Rig, finds: Find) -> None:
    # Arithmetic: the axis of a 2 in bar at 3/4 in puts its lower face 1/4 in deep.
    found = finds(at_height(rig, 0.75 * INCH), "ground-contact")
    (bar,) = [f for f in found if f.parts == ("bar",)]
    assert bar.value == pytest.approx(-0.25 * INCH, abs=1e-6)
    assert bar.verdict is Verdict.FAIL


def test_every_tool_off_its_depth_is_named(rig: Rig, finds: Find) -> None:
    toolbar = "{tube: tube-2x1-4, length: 72, height: 34}"
    stations = "[{use: point-rigid, at: [-20, 0, 20], depth: 1}]"
    found = finds(rig(stations=stations, toolbar=toolbar), "ground-contact")
    assert {f.parts[0] for f in found if f.verdict is Verdict.FAIL} == {
        "place1.point",
        "place2.point",
        "place3.point",
    }
