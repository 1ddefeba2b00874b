"""Where a value is written: file and line, or nothing where nothing is."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigmodel.reading.source import ListNode, MapNode, Node, parse_source
from rigmodel.reading.written import Loc, line_of, written_at
from rigmodel.spec.load import load_scene
from rigmodel.spec.written import in_part, in_scene, in_tractor

TEXT = """# a comment
name: a rig
toolbar:
  length: 72
  hangers: [14,
    -14]
stations:
  - {use: one,
     depth: 1}
  - use: two
    rank: [0, -8]
parts: {}
"""
SOURCE = parse_source(TEXT, "some/where/rig.yaml")


def places(node: Node, loc: Loc = ()) -> list[Loc]:
    found = [loc] if loc else []
    if isinstance(node, MapNode):
        for key, child in node.entries.items():
            found += places(child, (*loc, key))
    elif isinstance(node, ListNode):
        for k, child in enumerate(node.items):
            found += places(child, (*loc, k))
    return found


@pytest.mark.parametrize(
    ("loc", "line"),
    [
        (("name",), 2),
        (("toolbar",), 3),
        (("toolbar", "hangers"), 5),
        (("toolbar", "hangers", 1), 6),
        (("stations", 0, "depth"), 9),
        (("stations", 1, "rank", 1), 11),
        (("parts",), 12),
    ],
)
def test_a_place_has_the_line_it_stands_in(loc: Loc, line: int) -> None:
    assert line_of(SOURCE, loc) == line
    assert written_at(SOURCE, loc) == f"rig.yaml:{line}"


def test_every_place_of_a_tree_has_the_line_that_a_fault_would_name() -> None:
    for loc in places(SOURCE.root):
        assert line_of(SOURCE, loc) == SOURCE.locate(loc)[0]


@pytest.mark.parametrize(
    "loc",
    [("length",), ("toolbar", "height"), ("name", "x"), ("stations", 2), ("stations", "use"),
     ("stations", -1), ("toolbar", 0), ("parts", "my-shank"), ("stations", 0, "depth", 0)],
)  # fmt: skip
def test_where_nothing_is_written_nothing_is_told(loc: Loc) -> None:
    assert line_of(SOURCE, loc) is None
    assert written_at(SOURCE, loc) == ""


SCENE = """name: two blades
units: in
catalogue: [mine.yaml]
rows: {count: 2, spacing: 24, keep_out: 2}
tractor:
  use: compact-rear
  wheelbase: 70
toolbar: {tube: tube-2x1-4, length: 60, height: 20}
stations: [{use: blade-rigid, at: [0], depth: 1, swap: {blade_shank: my-shank}}]
parts:
  own-shank: {kind: flat-shank, width: 1 1/2, thickness: 1/2, length: 26}
"""
MINE = """units: in
parts:
  # mine goes before the one that comes with the program
  my-shank:
    {kind: flat-shank, width: 1 1/2, thickness: 1/2, length: 26}
  blade-8:
    kind: a-blade
    width: 8
    length: 3
    thickness: 3/16
    tang_height: 3
    tang_thickness: 3/8
    tang_length: 2
    sweep: 30 deg
"""


def test_what_a_scene_says_is_told_with_its_file(tmp_path: Path) -> None:
    (tmp_path / "rig.yaml").write_text(SCENE, encoding="utf-8")
    (tmp_path / "mine.yaml").write_text(MINE, encoding="utf-8")
    scene = load_scene(tmp_path / "rig.yaml")
    assert in_scene(scene, "toolbar", "length") == "toolbar.length, rig.yaml:8"
    assert in_scene(scene, "stations", 0, "depth") == "stations[1].depth, rig.yaml:9"
    assert in_scene(scene, "limits", "front_share") == "limits.front_share, default"
    assert in_part(scene, "own-shank") == "parts.own-shank, rig.yaml:11"
    assert in_part(scene, "my-shank") == "catalogue: my-shank, mine.yaml:4"
    assert in_part(scene, "blade-8", "sweep") == "catalogue: blade-8.sweep, mine.yaml:14"
    assert in_part(scene, "blade-8", "pitch") == "catalogue: blade-8.pitch, default"
    assert in_tractor(scene, "wheelbase") == "tractor.wheelbase, rig.yaml:7"
    assert in_tractor(scene, "lift").startswith("catalogue: compact-rear.lift, tractors.yaml:")
