"""Writes a new scene file with comments, from a few answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from rigmodel.files import check_target, write_whole
from rigmodel.spec.load import scene_from_text


@dataclass(frozen=True)
class Question:
    """One thing to ask: its key, the words, and what is taken if nothing is answered."""

    key: str
    asks: str
    default: str


QUESTIONS: tuple[Question, ...] = (
    Question("name", "Title of the scene", "My weeding rig"),
    Question("units", "Unit of bare numbers (in or mm)", "in"),
    Question("tractor", "Generic tractor to start from (see `rigmodel parts`)", "small-belly"),
    Question("track", "Wheel track, tyre middle to tyre middle", "60 in"),
    Question("rows", "Number of rows", "3"),
    Question("spacing", "Row to row", "15 in"),
    Question("keep_out", "Half-width of the band round a row that no steel may enter", "2 1/2 in"),
    Question("pair_gap", "Gap between a pair's fingers at the row", "1 1/2 in"),
)

_TEMPLATE = """\
# {name}
# Written by `rigmodel new`. Measure, correct what differs, then run: rigmodel check THIS-FILE
# Positions across count from the middle, left is positive; heights count from the soil.
name: {name}
units: {units}                 # bare numbers are in this unit; '2 1/2 in' or '380 mm' always work

rows:
  count: {rows}
  spacing: {spacing}
  keep_out: {keep_out}         # no steel nearer to the row than this while working
  # plants: {{stem: 5 mm, canopy_width: 80 mm, height: 60 mm, lowest_leaf: 20 mm}}

tractor:
  use: {tractor}               # `rigmodel parts` lists the generic tractors
  front: {{track: {track}}}
  rear: {{track: {track}}}
  # frame: {{clearance: 28 in}}        # ground to the lowest part over the rig
  # lift: {{lowest: 14 in, highest: 28 in}}   # height of the bar's middle

toolbar:
  tube: tube-2x1-4
  length: {length}
  height: 20 in                # bar's middle over the soil at work

stations:
  - use: finger-pair           # a finger wheel on a trailing arm, each side of each row
    at: rows
    pair_gap: {pair_gap}
    depth: 1/2 in
    rank: [0, -8 in]           # every second row stands farther back, so that wheels clear
{between}  - use: blade-spring          # a blade outside each outer row
    at: outside
    depth: 1 in
"""

_BETWEEN = """\
  - use: blade-spring          # a blade between the rows, on a spring holder
    at: gaps
    depth: 1 in
    hand: [right, left]        # on which side of its shank the blade lies, in turn
"""


def new_scene_text(answers: Mapping[str, str]) -> str:
    """The text of a new scene file.

    Raises:
        InputError: an answer does not read; it names the line of the text that it would make.
    """
    written = {q.key: _one_line(answers[q.key]) for q in QUESTIONS}
    between = "" if written["rows"] == "1" else _BETWEEN
    text = _TEMPLATE.format(length="72 in", between=between, **written)
    scene_from_text(text, "the new scene")
    return text


def write_new(path: Path, text: str, replace: bool) -> None:
    """Writes the text to a new file, whole or not at all.

    Raises:
        FileError: the file is there already and may not be replaced, or cannot be written.
    """
    check_target(path, replace)
    write_whole(path, text.encode(), replace)


def _one_line(text: str) -> str:
    """The answer as a YAML scalar: quoted where a plain one could be misread."""
    plain = text.strip()
    safe = (
        plain and plain[0].isalnum() and not any(c in plain for c in ":#{}[],&*!|>'\"%@`\n\r\t\\")
    )
    if safe:
        return plain
    escaped = plain.replace("\\", "\\\\").replace('"', '\\"').replace("\n", " ").replace("\r", " ")
    return f'"{escaped}"'
