"""Where stations stand: pairs at rows, tools in gaps, tracks and at marks, by plain arithmetic."""

from __future__ import annotations

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.rig import Assembly
from rigmodel.assembly.template import PartError
from rigmodel.spec.load import scene_from_text

INCH = 25.4
SCENE = """
name: places
units: in
rows: {{{rows}, keep_out: 2 1/2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 90, height: 20, offset: {offset}}}
stations:
{stations}
"""


def built(stations: str, rows: str = "count: 3, spacing: 15", offset: float = 0.0) -> Assembly:
    text = SCENE.format(stations=stations, rows=rows, offset=offset)
    return assemble(scene_from_text(text))


def edges(assembly: Assembly, part: str) -> tuple[float, float]:
    entry = assembly.mechanism.part(part)
    solid = working_part(entry).moved(assembly.work_frames[entry.frame])
    low, high = solid.extent((0.0, 1.0, 0.0))
    return low, high


@pytest.mark.parametrize("rows", ["count: 3, spacing: 15", "positions: [18, 2, -11.5]"])
@pytest.mark.parametrize("gap", [1.5, 0.25, -0.5])
def test_a_pairs_fingers_stand_half_the_gap_each_side_of_the_row(rows: str, gap: float) -> None:
    station = f"  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2}}"
    assembly = built(station, rows)
    for i, row in enumerate(assembly.rows):
        left, _ = edges(assembly, f"row{i + 1}.left.finger_wheel")
        _, right = edges(assembly, f"row{i + 1}.right.finger_wheel")
        assert left - row.y_mm == pytest.approx(gap / 2 * INCH, abs=1e-6)
        assert row.y_mm - right == pytest.approx(gap / 2 * INCH, abs=1e-6)


@pytest.mark.parametrize("hand", ["left", "right", "[left, right]"])
@pytest.mark.parametrize("shift", [0.0, 1.25])
def test_a_tool_in_a_gap_is_centred_whatever_its_hand(hand: str, shift: float) -> None:
    station = f"  - {{use: blade-rigid, at: gaps, depth: 1, hand: {hand}, shift: {shift}}}"
    assembly = built(station)
    middles = [7.5 * INCH, -7.5 * INCH]
    for tool, middle in zip(assembly.tools, middles, strict=True):
        assert tool.centre_mm == pytest.approx(middle + shift * INCH, abs=1e-6)


def test_a_shift_at_a_side_goes_away_from_the_row() -> None:
    station = "  - {use: blade-rigid, at: outside, depth: 1, shift: 1}"
    left, right = built(station).tools
    assert left.low_mm == pytest.approx((15 + 2.5 + 1) * INCH, abs=1e-6)
    assert right.high_mm == pytest.approx(-(15 + 2.5 + 1) * INCH, abs=1e-6)


def test_marks_count_from_the_bars_centre_and_tracks_from_the_tractors() -> None:
    marks = "  - {use: point-rigid, at: [10, -20], depth: 1}"
    tracks = "  - {use: point-rigid, at: tracks, depth: 1, name: t}"
    assembly = built(f"{marks}\n{tracks}", offset=4.0)
    centres = {tool.station: tool.centre_mm / INCH for tool in assembly.tools}
    assert centres["place1"] == pytest.approx(14.0)
    assert centres["place2"] == pytest.approx(-16.0)
    assert centres["track.left.t"] == pytest.approx(30.0)
    assert centres["track.right.t"] == pytest.approx(-30.0)


def test_only_some_places_are_taken() -> None:
    assembly = built("  - {use: blade-rigid, at: gaps, only: [2], depth: 1}")
    assert [s.name for s in assembly.stations] == ["gap2"]


@pytest.mark.parametrize("depth", [0.0, 0.5, 2.0])
def test_every_tool_reaches_its_depth_exactly(depth: float) -> None:
    stations = (
        f"  - {{use: finger-pair, at: rows, pair_gap: 1, depth: {depth}, rank: [0, -8]}}\n"
        f"  - {{use: blade-spring, at: gaps, depth: {depth}}}"
    )
    assembly = built(stations)
    for tool in assembly.tools:
        part = assembly.mechanism.part(tool.part)
        low, _ = working_part(part).moved(assembly.work_frames[part.frame]).extent((0, 0, 1))
        assert low == pytest.approx(-depth * INCH, abs=1e-3)


UNBUILDABLE = {
    "point": "width: 9, length: 2, thickness: 1/4, tang_height: 3, tang_thickness: 1/4,"
    " tang_length: 1",
    "a-blade": "width: 8, length: 2, thickness: 1/4, sweep: 30, tang_height: 1/8,"
    " tang_thickness: 1/4, tang_length: 1",
    "flat-shank": "width: 1 1/2, thickness: 1/2, length: 10, crank: 2, crank_low: 8,"
    " crank_height: 8",
}


@pytest.mark.parametrize("kind", list(UNBUILDABLE))
def test_a_part_that_makes_no_solid_is_named(kind: str) -> None:
    node = {"point": "point", "a-blade": "blade", "flat-shank": "blade_shank"}[kind]
    use = "point-rigid" if kind == "point" else "blade-rigid"
    own = f"parts:\n  own: {{kind: {kind}, {UNBUILDABLE[kind]}}}"
    text = SCENE.format(
        stations=f"  - {{use: {use}, at: gaps, depth: 1, swap: {{{node}: own}}}}\n{own}",
        rows="count: 2, spacing: 20",
        offset=0,
    )
    with pytest.raises(PartError, match="'own' cannot be built"):
        assemble(scene_from_text(text))
