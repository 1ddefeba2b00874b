"""bar-level: what roll and pitch of the bar cost, by the closed form lever · sin(angle)."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.bar_level import allowed_tilt
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.heights import lowest_points

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
POINT = "[{use: point-rigid, at: [24], depth: 1}]"


def tilted(rig: Rig, roll: float = 0.0, pitch: float = 0.0, stations: str = POINT) -> Assembly:
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: 20, roll: {roll}, pitch: {pitch}}}"
    return rig(stations=stations, toolbar=toolbar)


@pytest.mark.parametrize("roll", [-2.0, -0.5, 0.5, 1.0, 2.0])
def test_roll_moves_a_tool_by_its_lever_times_the_sine(rig: Rig, finds: Find, roll: float) -> None:
    # Closed form: a point (y, z) from the bar's axis rises by y sin(roll) + z (cos(roll) - 1)
    # where the right end (y < 0) goes down by a positive roll.
    assembly = tilted(rig, roll)
    (finding,) = finds(assembly, "bar-level")
    tool = assembly.tools[0]
    _, y, z = lowest_points(assembly, assembly.level_pose)[tool.part].point
    angle, z = math.radians(roll), z - 20.0 * INCH
    half = (tool.high_mm - tool.low_mm) / 2.0  # the lowest corner may change to the other edge
    assert abs(y - 24.0 * INCH) <= half + 1e-6
    expected = abs(24.0 * INCH * math.sin(angle) + z * (math.cos(angle) - 1.0))
    assert finding.value == pytest.approx(expected, abs=half * math.sin(abs(angle)) + 1e-6)
    assert ("higher" if roll > 0 else "deeper") in finding.message


@pytest.mark.parametrize(("roll", "verdict"), [(0.0, Verdict.PASS), (3.0, Verdict.FAIL)])
def test_level_passes_and_much_roll_fails(
    rig: Rig, finds: Find, roll: float, verdict: Verdict
) -> None:
    (finding,) = finds(tilted(rig, roll), "bar-level")
    assert finding.verdict is verdict


def test_both_sides_of_the_depth_tolerance(rig: Rig, finds: Find) -> None:
    assembly = tilted(rig, 1.0)
    (finding,) = finds(assembly, "bar-level")
    assert finding.value is not None
    for more, verdict in ((0.01, Verdict.PASS), (-0.01, Verdict.FAIL)):
        limits = f"{{depth_tolerance: {finding.value + more:.6f} mm}}"
        toolbar = "{tube: tube-2x1-4, length: 72, height: 20, roll: 1}"
        (again,) = finds(rig(stations=POINT, toolbar=toolbar, limits=limits), "bar-level")
        assert again.verdict is verdict


@pytest.mark.parametrize(("roll", "pitch"), [(3.0, 0.0), (0.0, 12.0)])
def test_levelling_the_bar_is_the_remedy(rig: Rig, cured: Find, roll: float, pitch: float) -> None:
    (finding,) = cured(tilted(rig, roll, pitch), "bar-level")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("toolbar", "roll" if roll else "pitch")
    assert finding.remedy.changes[0].value == 0.0


def test_allowed_tilt_is_where_the_lever_moves_by_the_tolerance() -> None:
    for lever in (100.0, 762.0, 2000.0):
        angle = math.radians(allowed_tilt(6.35, lever))
        assert lever * math.sin(angle) == pytest.approx(6.35, abs=1e-9)
    assert allowed_tilt(6.35, 6.0) == 90.0


def test_tools_that_float_are_not_held_to_the_bar(rig: Rig, finds: Find) -> None:
    wheels = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"
    assert finds(tilted(rig, 2.0, stations=wheels), "bar-level") == ()
