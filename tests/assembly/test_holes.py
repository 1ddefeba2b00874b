"""Perforated tubes: clamps on the bar's holes, cross tubes pinned through one of theirs."""

from __future__ import annotations

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import SquareTube
from rigmodel.spec.load import scene_from_text

INCH = 25.4
SCENE = """
name: holes
units: in
rows: {{positions: [16, 0, -13], keep_out: 2 1/2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 72, height: 20, offset: {offset}{pitch}}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, rank: [0, {rank}]}}
  - {{use: blade-rigid, at: gaps, depth: 1}}
  - {{use: point-rigid, at: [30], depth: 1, rank: {ahead}}}
"""


def built(
    pitch: float | None = None, offset: float = 0.0, rank: float = -8.0, ahead: float = 0.0
) -> Assembly:
    holes = "" if pitch is None else f", hole_pitch: {pitch}"
    return assemble(
        scene_from_text(SCENE.format(pitch=holes, offset=offset, rank=rank, ahead=ahead))
    )


@pytest.mark.parametrize("pitch", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("offset", [0.0, 3.25])
def test_clamps_stand_on_the_nearest_hole_of_the_bar(pitch: float, offset: float) -> None:
    assembly, free = built(pitch, offset), built(None, offset)
    for station in assembly.stations:
        place = assembly.adjustment[f"{station.name}.place"]
        holes = place.value / (pitch * INCH)
        assert holes == pytest.approx(round(holes), abs=1e-9)
        assert abs(place.value - place.wanted) <= pitch * INCH / 2 + 1e-9
        assert place.step == pitch * INCH
        assert place.wanted == pytest.approx(free.adjustment[place.name].value, abs=1e-9)


def test_clamps_on_a_plain_bar_stand_where_they_are_wanted() -> None:
    assembly = built()
    for station in assembly.stations:
        place = assembly.adjustment[f"{station.name}.place"]
        assert place.value == place.wanted
        assert place.step == 0.0


@pytest.mark.parametrize("rank", [-5.0, -7.5, -8.0, -8.4, -11.9])
def test_a_cross_tube_behind_the_bar_is_pinned_through_a_hole_under_its_middle(
    rank: float,
) -> None:
    assembly = built(rank=rank)
    check_pinned(assembly, "row2.left", "finger_wheel_tube", rank, rear=True)


@pytest.mark.parametrize("ahead", [4.0, 6.3, 9.0])
def test_a_cross_tube_ahead_of_the_bar_is_pinned_through_a_hole_under_its_middle(
    ahead: float,
) -> None:
    assembly = built(ahead=ahead)
    check_pinned(assembly, "place1", "point_tube", ahead, rear=False)


def check_pinned(assembly: Assembly, station: str, tube: str, rank: float, rear: bool) -> None:
    part = assembly.mechanism.part(f"{station}.{tube}")
    entry = assembly.scene.catalogue.parts[part.item]
    assert isinstance(entry, SquareTube)
    assert entry.hole_pitch is not None
    low, high = assembly.at_work(part).extent((1.0, 0.0, 0.0))
    middle = assembly.scene.tractor.toolbar_ahead
    reach = middle - low if rear else high - middle  # from the end that carries the tool
    holes = (reach - entry.hole_start) / entry.hole_pitch
    assert holes == pytest.approx(round(holes), abs=1e-6)
    set_to = assembly.adjustment[f"{station}.rank"]
    assert set_to.wanted == pytest.approx(rank * INCH)
    assert abs(set_to.value - set_to.wanted) <= entry.hole_pitch / 2 + 1e-9
    assert assembly.station[station].rank_mm == set_to.value


@pytest.mark.parametrize("rank", [-8.0, -11.5])
def test_the_tool_stands_its_rank_behind_one_on_the_bar(rank: float) -> None:
    level, back = built(rank=0.0), built(rank=rank)
    name = "row2.left.finger_wheel_arm_bracket"
    x0, x1 = (float(a.at_work(a.mechanism.part(name)).bounds()[1, 0]) for a in (level, back))
    assert x1 - x0 == pytest.approx(back.adjustment["row2.left.rank"].value, abs=1e-6)
