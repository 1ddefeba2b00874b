"""Trailing arms against their closed form: angle asin(h / L), reach sqrt(L² - h²)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text

# An arm of 400 mm that carries its blade at its very end. The blade's lower face hangs 2 mm seat
# and 6 mm steel under the arm's end, and is asked to go 8 mm deep: the end rides on the soil.
SCENE = """
name: an arm
units: mm
rows: {{count: 2, spacing: 600, keep_out: 60}}
tractor: {{use: small-belly, lift: {{lowest: 100, highest: 900}}}}
toolbar: {{size: 50, wall: 5, length: 1500, height: {height}}}
parts:
  clamp: {{kind: bar-clamp, fits: 50, width: 70, plate_thickness: 10, plate_height: 100,
    bolt_diameter: 10}}
  arm-400: {{kind: trailing-arm, length: 400, depth: 40, width: 25, bracket_width: 35,
    bracket_height: 40, bracket_thickness: 5, pivot_back: 76, pivot_drop: {drop},
    pin_diameter: 20, spring_diameter: 32, spring_length: 150,
    down_stop: -75, up_stop: 10, work_angle: {work}}}
  flat: {{kind: a-blade, width: 150, length: 60, thickness: 6, sweep: 30, tang_height: 80,
    tang_thickness: 8, tang_length: 30}}
stations:
  - at: gaps
    depth: 8
    build:
      mount: clamp
      place: centre
      tool: {{name: arm, part: arm-400, carries: [{{name: blade, part: flat}}]}}
"""


def riding(height: float, drop: float, work: float) -> Assembly:
    return assemble(scene_from_text(SCENE.format(height=height, drop=drop, work=work)))


@pytest.mark.parametrize(
    ("pivot", "angle", "reach"),
    [(250.0, 38.6822, 312.250), (300.0, 48.5904, 264.575), (350.0, 61.0450, 193.649)],
)
@pytest.mark.parametrize("drop", [0.0, 30.0])
def test_an_arm_rides_at_the_angle_whose_sine_is_height_over_length(
    pivot: float, angle: float, reach: float, drop: float
) -> None:
    # Closed form with L = 400 mm and the pivot 250, 300 and 350 mm over the arm's end.
    assembly = riding(pivot + drop, drop, -math.degrees(math.asin(pivot / 400.0)))
    joint = assembly.mechanism.joints["gap1.arm.float"]
    assert joint.value == pytest.approx(-angle, abs=1e-4)
    frame = assembly.work_frames[assembly.mechanism.part("gap1.arm").frame]
    end = frame @ np.array([-400.0, 0.0, 0.0, 1.0])
    assert frame[0, 3] - end[0] == pytest.approx(reach, abs=1e-3)
    assert frame[2, 3] - end[2] == pytest.approx(pivot, abs=1e-3)
    assert end[2] == pytest.approx(0.0, abs=1e-3)


def test_the_solver_finds_the_angle_wherever_the_arm_was_meant_to_work() -> None:
    # The blade leans with the arm, so its edge is where it rests; it still meets its depth.
    for work in (-60.0, -30.0, -10.0):
        assembly = riding(300.0, 0.0, work)
        low, _ = assembly.at_work(assembly.mechanism.part("gap1.blade")).extent((0.0, 0.0, 1.0))
        assert low == pytest.approx(-8.0, abs=1e-3)


def test_a_positive_turn_of_an_arm_lifts_what_trails_behind_it() -> None:
    assembly = riding(300.0, 0.0, -45.0)
    blade = assembly.mechanism.part("gap1.blade")
    heights = []
    for angle in (-60.0, -45.0, -20.0, 0.0):
        pose = Pose("turned", {"gap1.arm.float": angle})
        heights.append(assembly.mechanism.placed(blade, pose).bounds()[0, 2])
    assert heights == sorted(heights)


def test_an_arm_too_short_lies_on_its_stop() -> None:
    assert riding(600.0, 0.0, -45.0).mechanism.joints["gap1.arm.float"].value == -75.0
    assert riding(101.0, 150.0, -45.0).mechanism.joints["gap1.arm.float"].value == 10.0


@pytest.mark.parametrize("work", [20.0, -80.0])
def test_an_arm_that_works_beyond_its_stops_is_refused(work: float) -> None:
    with pytest.raises(InputError, match="work_angle"):
        riding(300.0, 0.0, work)


def test_stops_the_wrong_way_round_are_refused() -> None:
    text = SCENE.format(height=300, drop=0, work=-45).replace("down_stop: -75", "down_stop: 30")
    with pytest.raises(InputError, match="down stop, 30°"):
        assemble(scene_from_text(text))
