"""Where the stations of a scene stand: which row, gap, track or mark, and on which side of it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

from rigmodel.spec.scene import Rows, Station, Toolbar

LEFT, RIGHT, SINGLE = 1, -1, 0
_Value = TypeVar("_Value")


@dataclass(frozen=True)
class Place:
    """One place for one tool.

    Attributes:
        name: stable name such as ``row2.left``, ``gap1`` or ``track.right``.
        line_mm: the line it is set from, mm left of the tractor's centre.
        side: +1 left of the line, -1 right of it, 0 on it.
        number: counted from the left, from 1; a list of ranks goes round by it.
        row: index of the row the line is, or None.
    """

    name: str
    line_mm: float
    side: int
    number: int
    row: int | None = None


def _sides(wanted: str, default: str) -> tuple[int, ...]:
    choice = default if wanted == "" else wanted
    return {"both": (LEFT, RIGHT), "left": (LEFT,), "right": (RIGHT,), "one": (SINGLE,)}[choice]


_SIDE_NAME = {LEFT: ".left", RIGHT: ".right", SINGLE: ""}


def _at_rows(rows: Rows, sides: str, by_edge: bool) -> list[Place]:
    return [
        Place(f"row{i + 1}{_SIDE_NAME[side]}", line, side, i + 1, i)
        for i, line in enumerate(rows.places)
        for side in _sides(sides, "both" if by_edge else "one")
    ]


def _at_gaps(rows: Rows, sides: str) -> list[Place]:
    lines = rows.places
    found: list[Place] = []
    for i, (left, right) in enumerate(pairwise(lines)):
        for side in _sides(sides, "one"):
            name = f"gap{i + 1}{_SIDE_NAME[side]}"
            if side == SINGLE:
                found.append(Place(name, (left + right) / 2.0, SINGLE, i + 1))
            elif side == LEFT:  # the left tool of a gap stands right of the row on its left
                found.append(Place(name, left, RIGHT, i + 1, i))
            else:
                found.append(Place(name, right, LEFT, i + 1, i + 1))
    return found


def _outside(rows: Rows, sides: str) -> list[Place]:
    lines = rows.places
    ends = {LEFT: (lines[0], 0), RIGHT: (lines[-1], len(lines) - 1)}
    return [
        Place(f"outside{_SIDE_NAME[side]}", ends[side][0], side, number + 1, ends[side][1])
        for number, side in enumerate(_sides(sides, "both"))
        if side != SINGLE
    ]


def _tracks(track_mm: float, sides: str) -> list[Place]:
    return [
        Place(f"track{_SIDE_NAME[side]}", side * track_mm / 2.0, SINGLE, number + 1)
        for number, side in enumerate(_sides(sides, "both"))
        if side != SINGLE
    ]


def places(
    station: Station, rows: Rows, toolbar: Toolbar, track_mm: float, by_edge: bool
) -> tuple[Place, ...]:
    """All places of one station of a scene, from left to right.

    Args:
        station: the station as written.
        rows: the crop rows.
        toolbar: the bar, from whose centre given distances count.
        track_mm: wheel track of the axle whose tracks the tools follow.
        by_edge: the tool is set by an edge or a pair's gap, so it belongs on both sides of a row.
    """
    sides = station.sides or ""
    if isinstance(station.at, tuple):
        found = [
            Place(f"place{i + 1}", toolbar.offset + at, SINGLE, i + 1)
            for i, at in enumerate(sorted(station.at, reverse=True))
        ]
    elif station.at == "rows":
        found = _at_rows(rows, sides, by_edge)
    elif station.at == "gaps":
        found = _at_gaps(rows, sides)
    elif station.at == "outside":
        found = _outside(rows, sides)
    else:
        found = _tracks(track_mm, sides)
    if station.only:
        found = [place for place in found if place.number in station.only]
    return tuple(found)


def rank_of(station: Station, place: Place) -> float:
    """Rank in mm wanted at a place: the station's own, or the next of its list."""
    return _in_turn(station.rank, place)


def right_handed(station: Station, place: Place) -> bool:
    """Whether a single tool at a place lies right of its shank."""
    return _in_turn(station.hand, place) == "right"


def _in_turn(value: _Value | tuple[_Value, ...], place: Place) -> _Value:
    """A value of a station at a place: the one value, or the next of a list that goes round."""
    if isinstance(value, tuple):
        turned: _Value = value[(place.number - 1) % len(value)]
        return turned
    return value
