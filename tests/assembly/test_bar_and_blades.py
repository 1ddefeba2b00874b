"""The bar's roll and pitch, and a blade's pitch, against y · sin(roll) and chord · sin(pitch)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from meshes_generic.solid import Solid
from rigmodel.assembly.build import assemble
from rigmodel.assembly.fingers import fingers_of
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.heights import lowest_point
from rigmodel.spec.load import scene_from_text

INCH = 25.4
SCENE = """
name: a bar
units: in
rows: {{count: 3, spacing: 15, keep_out: 2 1/2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 72, height: 20, offset: {offset}, roll: {roll},
  pitch: {pitch}}}
parts:
  own: {{kind: a-blade, width: 8, length: {chord}, thickness: 1/4, sweep: 0, tang_height: 3,
    tang_thickness: 3/8, tang_length: 1, pitch: {blade}}}
stations:
  - {{use: blade-rigid, at: gaps, depth: 1, swap: {{blade: own}}}}
  - {{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}}
"""


def built(
    roll: float = 0.0,
    pitch: float = 0.0,
    offset: float = 0.0,
    blade: float = 0.0,
    chord: float = 2.5,
) -> Assembly:
    text = SCENE.format(roll=roll, pitch=pitch, offset=offset, blade=blade, chord=chord)
    return assemble(scene_from_text(text))


@pytest.mark.parametrize("roll", [-3.0, -1.0, 0.5, 2.0])
@pytest.mark.parametrize("offset", [0.0, 4.0])
def test_a_clamp_on_a_rolled_bar_rises_by_its_place_times_the_sine(
    roll: float, offset: float
) -> None:
    assembly = built(roll=roll, offset=offset)
    for station in assembly.stations:
        frame = next(f for f in assembly.mechanism.frames if f.name == station.name)
        origin = assembly.work_frames[assembly.mechanism.frames.index(frame)][:3, 3]
        rise = station.place_mm * math.sin(math.radians(roll))
        across = station.place_mm * math.cos(math.radians(roll))
        assert origin[2] == pytest.approx(20 * INCH + rise, abs=1e-9)
        assert origin[1] == pytest.approx(offset * INCH + across, abs=1e-9)


def test_positive_roll_lowers_the_right_and_positive_pitch_the_front() -> None:
    # ISO 8855: x forward, y left, z up, right-handed.
    rolled, pitched = built(roll=2.0), built(pitch=2.0)
    bar = rolled.mechanism.part("bar").frame
    right = rolled.work_frames[bar] @ np.array([0.0, -500.0, 0.0, 1.0])
    assert right[2] < 20 * INCH
    ahead = pitched.work_frames[bar] @ np.array([500.0, 0.0, 0.0, 1.0])
    assert ahead[2] < 20 * INCH


def test_settings_are_solved_on_a_level_bar() -> None:
    level, tilted = built(), built(roll=2.0, pitch=1.0)
    assert [(a.name, a.value) for a in level.adjustments] == [
        (a.name, a.value) for a in tilted.adjustments
    ]
    assert dict(level.level_angles) == dict(tilted.level_angles)


def test_arms_ride_at_their_depth_on_a_tilted_bar() -> None:
    assembly = built(roll=1.0)
    wheels = [t for t in assembly.tools if t.arm]
    assert len(wheels) == 6
    for tool in wheels:
        part = assembly.mechanism.part(tool.part)
        low, _ = fingers_of(assembly.at_work(part)).extent((0.0, 0.0, 1.0))
        assert low == pytest.approx(tool.soil_mm - tool.depth_mm, abs=1e-3)


@pytest.mark.parametrize("chord", [2.0, 2.5, 4.0, 6.0])
@pytest.mark.parametrize("pitch", [-5.0, 0.0, 3.0, 5.0])
def test_a_pitched_blade_is_as_tall_as_its_chord_times_the_sine(chord: float, pitch: float) -> None:
    # Closed form: chord · sin(pitch) between its two edges, and the steel's own thickness.
    assembly = built(blade=pitch, chord=chord)
    blade = assembly.at_work(assembly.mechanism.part("gap1.blade"))
    wings = Solid(tuple(p for p in blade.pieces if p.label != "tang"))
    low, high = wings.extent((0.0, 0.0, 1.0))
    angle = math.radians(abs(pitch))
    expected = chord * INCH * math.sin(angle) + 0.25 * INCH * math.cos(angle)
    assert high - low == pytest.approx(expected, abs=1e-6)
    assert low == pytest.approx(-1.0 * INCH, abs=1e-6)


def test_a_pitched_blade_has_its_point_lower_than_its_heel() -> None:
    assembly = built(blade=5.0)
    blade = assembly.at_work(assembly.mechanism.part("gap1.blade"))
    wings = Solid(tuple(p for p in blade.pieces if p.label != "tang"))
    low, high = wings.extent((1.0, 0.0, 0.0))
    lowest = lowest_point(wings).point[0]
    assert lowest > (low + high) / 2.0
    assert high - lowest == pytest.approx(0.25 * INCH * math.sin(math.radians(5.0)), abs=1e-6)
