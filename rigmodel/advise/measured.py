"""Reads what was measured on a built rig: marks, shanks, bar and wheels, from CSV or YAML."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.store import nearest
from rigmodel.errors import Fault, InputError, ReadingError, shown
from rigmodel.reading.named_values import NamedValue, read_named_values
from rigmodel.shop.marks import Mark, marks
from rigmodel.units import Unit, parse_angle, parse_length

SHOWS = ".shows"
# Values of the scene that a tape or a level can check, and what kind they are.
SPEC_VALUES: Mapping[str, str] = {
    "toolbar.height": "mm",
    "toolbar.offset": "mm",
    "toolbar.roll": "deg",
    "toolbar.pitch": "deg",
    **{
        f"tractor.{axle}.{what}": "mm"
        for axle in ("rear", "front")
        for what in ("track", "tyre_width", "tyre_diameter")
    },
}
_NAMES, _VALUES = ("name", "field", "mark"), ("measured", "value")
_SIDE = re.compile(r"(.*?)\s*\b(left|right|l|r)\.?", re.IGNORECASE | re.DOTALL)
_NUMBER = re.compile(r"(?:mark\s*)?(\d{1,3})(\.shows)?", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True)
class Measured:
    """One measured value.

    Attributes:
        name: what was measured: a station (its mark), ``<station>.shows``, or a value of the
            scene such as ``toolbar.height``.
        value: mm or degrees; a mark counts from the bar's centre, left positive.
        kind: ``mark``, ``shows`` or ``spec``.
        unit: ``mm`` or ``deg``.
    """

    name: str
    value: float
    kind: str
    unit: str = "mm"


def planned_values(plan: Assembly) -> Mapping[str, float]:
    """Everything on a rig that can be measured and what its plan says, mm or degrees, by name."""
    found: dict[str, float] = {}
    for mark in marks(plan):
        found[mark.station] = mark.centre_mm
        shows = shown_mm(mark)
        if shows is not None:
            found[mark.station + SHOWS] = shows
    for name in ("height", "offset", "roll", "pitch"):
        found[f"toolbar.{name}"] = getattr(plan.scene.spec.toolbar, name)
    for axle in plan.scene.axles:
        found[f"tractor.{axle.name}.track"] = axle.track_mm
        found[f"tractor.{axle.name}.tyre_width"] = axle.tyre.width_mm
        found[f"tractor.{axle.name}.tyre_diameter"] = axle.tyre.diameter_mm
    return found


def shown_mm(mark: Mark) -> float | None:
    """How much of a clamp's first shank shows above its holder; None if it has none."""
    shanks = [tool.shank.above_mm for tool in mark.tools if tool.shank is not None]
    return shanks[0] if shanks else None


def read_measured(path: Path, plan: Assembly) -> tuple[Measured, ...]:
    """What was measured, each value under the full name of what it belongs to.

    Args:
        path: a CSV file with the columns name (or field, mark) and measured (or value), or a YAML
            file with one ``name: value`` a line. A mark may also be named by its number on the
            setup sheet. Empty values were not measured and are left out. Bare numbers are in the
            scene's unit.
        plan: the assembled scene.

    Raises:
        InputError: with every name that is not known and every value that does not read, or where
            nothing was filled in.
    """
    cells = read_named_values(path, _NAMES, _VALUES)
    stations = tuple(mark.station for mark in marks(plan))
    names, unit = planned_values(plan), plan.scene.unit
    faults: list[Fault] = []
    found: dict[str, Measured] = {}
    for cell in cells:
        if not cell.text.strip():
            continue
        try:
            measured = _measured(cell, stations, names, unit)
            if measured.name in found:
                raise ReadingError(cell.name, f"{shown(measured.name)} is given twice", "it once")
        except ReadingError as error:
            where = (path.name, cell.line, 0, error.read, error.expected, error.hint, cell.name)
            faults.append(Fault(error.problem, *where))
            continue
        found[measured.name] = measured
    if faults:
        raise InputError(faults)
    if not found:
        problem = "nothing is filled in, so there is nothing to hold against the plan"
        expected = f"at least one value in the column {_VALUES[0]}"
        raise InputError((Fault(problem, path.name, 0, 0, "", expected),))
    return tuple(found.values())


def _measured(
    cell: NamedValue, stations: Sequence[str], names: Mapping[str, float], unit: Unit
) -> Measured:
    name = _full_name(cell.name.strip(), stations)
    if name not in names:
        near = nearest(name, names)
        raise ReadingError(
            cell.name,
            f"{shown(cell.name)} is not on this rig",
            "a station or its number on the setup sheet, <station>.shows, or a value such as "
            "toolbar.height",
            f"did you mean {shown(near)}?" if near else "",
        )
    if name in SPEC_VALUES:
        kind = SPEC_VALUES[name]
        value = parse_angle(cell.text) if kind == "deg" else parse_length(cell.text, unit)
        return Measured(name, value, "spec", kind)
    if name.endswith(SHOWS):
        return Measured(name, parse_length(cell.text, unit), "shows")
    return Measured(name, _sided(cell.text, unit), "mark")


def _full_name(name: str, stations: Sequence[str]) -> str:
    """The station of a mark's number; any other name as it stands."""
    number = _NUMBER.fullmatch(name)
    if number is None or not 1 <= int(number[1]) <= len(stations):
        return name
    return stations[int(number[1]) - 1] + (number[2] or "").lower()


def _sided(text: str, unit: Unit) -> float:
    """A length from the bar's centre: signed, or followed by left or right."""
    side = _SIDE.fullmatch(text.strip())
    if side is None:
        return parse_length(text, unit)
    value = parse_length(side[1], unit)
    if value < 0.0:
        problem = f"{shown(text)} has both a minus and a side"
        raise ReadingError(text, problem, "one of them: left is positive")
    return value if side[2].lower().startswith("l") else -value
