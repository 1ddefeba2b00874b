"""Reads what was measured on a built rig: marks, shanks, bar and wheels, from CSV or YAML."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.store import nearest
from rigmodel.errors import Fault, InputError, ReadingError, shown
from rigmodel.reading.source import MAX_BYTES, TextNode, read_source
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


@dataclass(frozen=True)
class _Cell:
    name: str
    text: str
    line: int


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
        InputError: with every name that is not known and every value that does not read.
    """
    cells = _csv(path) if path.suffix.lower() == ".csv" else _yaml(path)
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
    return tuple(found.values())


def _measured(
    cell: _Cell, stations: Sequence[str], names: Mapping[str, float], unit: Unit
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


def _yaml(path: Path) -> tuple[_Cell, ...]:
    source = read_source(path)
    found, faults = [], []
    for name, node in source.root.entries.items():
        line = source.root.key_marks[name][0]
        if isinstance(node, TextNode):
            found.append(_Cell(name, node.plain() or "", line))
        else:
            problem = f"{shown(name)} holds more than one value"
            faults.append(Fault(problem, source.name, line, 1, "", "one name: value a line"))
    if faults:
        raise InputError(faults)
    return tuple(found)


def _csv(path: Path) -> tuple[_Cell, ...]:
    text = _text(path)
    mark = max(",;\t", key=text.partition("\n")[0].count)
    reader = csv.reader(io.StringIO(text), delimiter=mark, strict=True)
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
    except csv.Error as error:
        raise _bad_file(path, str(error), reader.line_num) from None
    head = [cell.lower() for cell in rows[0][1]] if rows else []
    names = [head.index(name) for name in _NAMES if name in head]
    values = [head.index(name) for name in _VALUES if name in head]
    if not names or not values:
        raise _bad_file(path, "the first line is not the head of a table of measures", 1)
    return tuple(_cells(rows[1:], names[0], values[0]))


def _cells(rows: Sequence[tuple[int, list[str]]], name: int, value: int) -> Iterator[_Cell]:
    for line, row in rows:
        if len(row) > name and row[name]:
            yield _Cell(row[name], row[value] if len(row) > value else "", line)


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise _bad_file(path, f"cannot be read ({error.strerror})", 0) from None
    if len(data) > MAX_BYTES:
        raise _bad_file(path, "the file is too large", 0)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _bad_file(path, "the file is not UTF-8", data.count(b"\n", 0, error.start) + 1) from (
            None
        )
    if "\x00" in text:
        raise _bad_file(path, "the file is not plain text", 0)
    return text


def _bad_file(path: Path, problem: str, line: int) -> InputError:
    expected = "a CSV file with the columns name and measured, saved as UTF-8"
    return InputError((Fault(problem, path.name, line, 0, "", expected),))
