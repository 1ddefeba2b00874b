"""The lift's joint against plane geometry: a bar on a circle, and a bar that goes straight up."""

from __future__ import annotations

import math

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.assembly.tractor import lift_angle
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text

INCH = 25.4
SCENE = """
name: a lift
units: in
rows: {{count: 2, spacing: 24, keep_out: 2 1/2}}
soil: {{tyres_run: {run}}}
tractor: {{use: {tractor}, lift: {{{lift}}}}}
toolbar: {{tube: tube-2x1-4, length: 60, height: {height}}}
stations:
  - {{use: blade-rigid, at: gaps, depth: 1}}
"""


def built(tractor: str, lift: str, height: float = 20.0, run: float = 0.0) -> Assembly:
    text = SCENE.format(tractor=tractor, lift=lift, height=height, run=run)
    return assemble(scene_from_text(text))


def bar_at(assembly: Assembly, value: float) -> tuple[float, float, float]:
    pose = Pose("lifted", {"lift": value})
    x, y, z = assembly.mechanism.frame_poses(pose)[assembly.mechanism.part("bar").frame][:3, 3]
    return float(x), float(y), float(z)


@pytest.mark.parametrize(("ahead", "pivot"), [(30.0, 18.0), (24.0, 26.0), (-28.0, 15.0)])
@pytest.mark.parametrize("height", [16.0, 20.0, 24.0])
def test_a_pivoting_lift_carries_the_bar_on_a_circle(
    ahead: float, pivot: float, height: float
) -> None:
    # Plane geometry: the bar stays at the same distance from the pivot; at a height t it stands
    # sqrt(r² - (t - pivot)²) from it.
    lift = f"kind: pivot, lowest: 12, highest: 36, pivot_x: {ahead}, pivot_z: {pivot}"
    assembly = built("compact-rear", lift, height)
    joint = assembly.mechanism.joints["lift"]
    x0 = assembly.scene.tractor.toolbar_ahead
    radius = math.hypot(ahead, height - pivot) * INCH
    side = math.copysign(1.0, -ahead)  # the bar's side of the pivot
    for value, target in ((joint.low, 12.0), (0.0, height), (joint.high, 36.0)):
        x, y, z = bar_at(assembly, value)
        assert z == pytest.approx(target * INCH, abs=1e-6)
        away = math.sqrt(radius**2 - ((target - pivot) * INCH) ** 2)
        assert x == pytest.approx(x0 + ahead * INCH + side * away, abs=1e-6)
        assert y == pytest.approx(0.0, abs=1e-9)
    assert joint.value == 0.0
    assert joint.turns


def test_the_angle_of_a_pivoting_lift_is_the_closed_form() -> None:
    radius, start = math.hypot(30.0, 2.0), math.atan2(2.0, 30.0)
    expected = math.degrees(math.asin(22.0 / radius) - start)
    assert lift_angle(30.0, 18.0, 20.0, 40.0) == pytest.approx(expected, abs=1e-12)


def test_a_target_out_of_reach_gives_the_top_of_the_circle() -> None:
    assert lift_angle(10.0, 20.0, 20.0, 90.0) == pytest.approx(90.0)
    assert lift_angle(10.0, 20.0, 20.0, -90.0) == pytest.approx(-90.0)


def test_a_bar_on_the_pivot_itself_is_not_lifted() -> None:
    assert lift_angle(0.0, 20.0, 20.0, 40.0) == 0.0


@pytest.mark.parametrize("height", [16.0, 20.0, 26.0])
def test_a_parallel_lift_goes_straight_up(height: float) -> None:
    assembly = built("small-belly", "lowest: 12, highest: 36", height)
    joint = assembly.mechanism.joints["lift"]
    assert not joint.turns
    assert joint.low == pytest.approx((12 - height) * INCH)
    assert joint.high == pytest.approx((36 - height) * INCH)
    start, end = bar_at(assembly, 0.0), bar_at(assembly, joint.high)
    assert end[0] == pytest.approx(start[0])
    assert end[2] == pytest.approx(36 * INCH)


@pytest.mark.parametrize("tractor", ["small-belly", "compact-rear"])
def test_tyres_that_run_lower_take_the_lift_with_them(tractor: str) -> None:
    # The lift is measured from the ground under the tyres, the bar's height from the rows' soil.
    extra = ", kind: pivot, pivot_x: 30, pivot_z: 18" if tractor == "compact-rear" else ""
    assembly = built(tractor, "lowest: 14, highest: 36" + extra, run=6.0)
    joint = assembly.mechanism.joints["lift"]
    assert bar_at(assembly, joint.high)[2] == pytest.approx(30 * INCH, abs=1e-6)
    assert bar_at(assembly, joint.low)[2] == pytest.approx(8 * INCH, abs=1e-6)


@pytest.mark.parametrize(
    ("lift", "place"),
    [
        ("highest: 10", "lift.highest"),
        ("lowest: 40", "lift.lowest"),
        ("lowest: 20, highest: 20", "lift.highest"),
        ("kind: pivot", "pivot_x"),
    ],
)
def test_a_lift_without_a_range_is_refused(lift: str, place: str) -> None:
    with pytest.raises(InputError, match=place):
        built("small-belly", lift)
