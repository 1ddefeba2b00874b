"""Turns a filled-in list of measures, YAML or CSV, into the text of a scene file."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rigmodel.catalog.kinds import BarClamp, SquareTube, SubAssembly
from rigmodel.catalog.store import Catalogue, builtin_catalogue
from rigmodel.errors import Fault, InputError, ReadingError, shown
from rigmodel.reading.source import MAX_BYTES, ListNode, TextNode, read_source
from rigmodel.sheet.fields import Path as Steps
from rigmodel.sheet.fields import SpecField, nearest_name, spec_field, steps
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.resolve import FIT_MM
from rigmodel.units import Unit, parse_length

_PLAIN = re.compile(r"[a-zA-Z0-9](?:[\w ./-]*\w)?|-\d[\d ./]*(?: ?(?:mm|cm|m|in|ft))?")
_WORDS_OF_YAML = frozenset(("null", "true", "false", "yes", "no", "on", "off", "y", "n"))
_TITLE = "Measured rig"
_FINGERS, _BLADE = "finger-pair", "blade-spring"
_OUTER_DEPTH = "stations[2].depth"  # the outer blades go as deep as those in the gaps
_PAIR_GAP, _WHEEL_DEPTH, _BLADE_DEPTH = "1 1/2 in", "1/2 in", "1 in"


@dataclass(frozen=True)
class Measure:
    """One value that was filled in.

    Attributes:
        name: its dotted name.
        text: what was written; several values have commas between.
        line: line in the file, from 1.
    """

    name: str
    text: str
    line: int


def scene_text_from_measures(path: Path | str) -> str:
    """The text of a scene with the measures in a file; it reads as a scene.

    Args:
        path: a file whose name ends in ``.csv`` (columns field and value), else YAML with one
            ``name: value`` a line. Names are the spec's dotted names; empty values are left out.

    Raises:
        InputError: a name is not known, a value does not read, or one that is needed is missing;
            every fault names the file and the line.
    """
    path = Path(path)
    found = _read_csv(path) if path.suffix.lower() == ".csv" else _read_yaml(path)
    filled = tuple(m for m in found if m.text.strip())
    fields = _known(filled, path.name)
    text = _scene_text(filled, fields, path.name)
    try:
        scene_from_text(text, path.name)
    except InputError as error:
        raise InputError(_placed(fault, filled, path.name) for fault in error.faults) from None
    return text


def _known(measures: tuple[Measure, ...], file: str) -> Mapping[str, SpecField]:
    faults, fields = [], {}
    for measure in measures:
        field = spec_field(measure.name)
        if measure.name in fields:
            faults.append(_fault(measure, file, f"{shown(measure.name)} is given twice"))
        elif field is None:
            near = nearest_name(measure.name)
            hint = f"did you mean {shown(near)}?" if near else ""
            problem = f"{shown(measure.name)} is not a measure known here"
            faults.append(_fault(measure, file, problem, "a name from the measuring sheet", hint))
        else:
            fields[measure.name] = field
    if faults:
        raise InputError(faults)
    return fields


def _fault(measure: Measure, file: str, problem: str, expected: str = "", hint: str = "") -> Fault:
    return Fault(problem, file, measure.line, 1, measure.text, expected, hint, "")


def _placed(fault: Fault, measures: tuple[Measure, ...], file: str) -> Fault:
    """A fault of the scene's text, moved to the line of the measure it comes from."""
    path = fault.path
    near = [m for m in measures if m.name == path or m.name.startswith((f"{path}.", f"{path}["))]
    near = near or [m for m in measures if path.startswith((f"{m.name}.", f"{m.name}["))]
    hint = fault.hint or ("fill it in" if "is missing" in fault.message else "")
    return replace(fault, file=file, line=near[0].line if near else 0, column=0, hint=hint)


def _read_yaml(path: Path) -> tuple[Measure, ...]:
    source = read_source(path)
    found, faults = [], []
    for name, node in source.root.entries.items():
        line = source.root.key_marks[name][0]
        if isinstance(node, TextNode):
            found.append(Measure(name, node.plain() or "", line))
        elif isinstance(node, ListNode) and all(isinstance(i, TextNode) for i in node.items):
            texts = [i.text for i in node.items if isinstance(i, TextNode)]
            found.append(Measure(name, ", ".join(texts), line))
        else:
            problem = f"{shown(name)} holds a section where one value is needed"
            hint = f"write every value on one line, such as {name}.key: 15"
            faults.append(Fault(problem, source.name, line, 1, "", "", hint))
    if faults:
        raise InputError(faults)
    return tuple(found)


def _read_csv(path: Path) -> tuple[Measure, ...]:
    text = _csv_text(path)
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text), delimiter=mark, strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise _file_fault(path, str(error), reader.line_num) from None
    return tuple(_csv_measures(path, rows))


def _csv_measures(path: Path, rows: list[tuple[int, list[str]]]) -> Iterator[Measure]:
    head = [cell.strip().lower() for cell in rows[0][1]] if rows else []
    if "field" not in head or "value" not in head:
        raise _file_fault(path, "the first line is not the head of a table of measures", 1)
    name_at, value_at = head.index("field"), head.index("value")
    for line, row in rows[1:]:
        cells = [*(cell.strip() for cell in row), *[""] * len(head)]
        name, value = cells[name_at], cells[value_at]
        if not name and value:
            raise _file_fault(path, f"{shown(value)} has no field beside it", line)
        if name:
            yield Measure(name, value, line)


def _csv_text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise _file_fault(path, f"cannot be read ({error.strerror})", 0) from None
    if len(data) > MAX_BYTES:
        raise _file_fault(path, "the file is too large", 0)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _file_fault(path, "the file is not UTF-8", line) from None
    if "\x00" in text:
        raise _file_fault(path, "the file is not plain text", 0)
    return text


def _file_fault(path: Path, problem: str, line: int) -> InputError:
    expected = "a CSV file with the columns field and value, saved as UTF-8"
    return InputError((Fault(problem, path.name, line, 0, "", expected),))


def _scene_text(measures: tuple[Measure, ...], fields: Mapping[str, SpecField], file: str) -> str:
    root: dict[str | int, Any] = {"name": _TITLE, "rows": {}, "tractor": {}, "toolbar": {}}
    written = {m.name: m.text.strip() for m in measures}
    root["stations"] = dict(enumerate(_stations(written)))
    for measure in measures:
        _put(root, steps(measure.name), _value(measure.text.strip(), fields[measure.name]))
    order = ("name", "units", "notes", "rows", "soil", "tractor", "toolbar", "stations")
    keys = sorted(root, key=lambda k: order.index(str(k)) if k in order else len(order))
    lines = [
        f"# Written by `rigmodel new --from` from {' '.join(shown(file).split())}.",
        "# Positions across count from the middle, left is positive; heights count from the soil.",
    ]
    for key in keys:
        lines += _yaml(str(key), root[key], 0)
    return "\n".join(lines) + "\n"


def _value(text: str, field: SpecField) -> str | list[str]:
    """The text, or its parts where the field takes a list."""
    if field.lists and ("," in text or not field.single):
        return [part.strip() for part in text.split(",")]
    return text


def _stations(written: Mapping[str, str]) -> list[dict[str | int, Any]]:
    """A finger wheel each side of every row, a blade in every gap and outside, for the bar."""
    places = written.get("rows.positions", "")
    alone = ("," not in places) if places else written.get("rows.count") == "1"
    catalogue = builtin_catalogue()
    size = _bar_size(written, catalogue)
    fingers = _for_bar(catalogue, _FINGERS, size)
    blade = _for_bar(catalogue, _BLADE, size)
    wheels: dict[str | int, Any] = {
        "at": "rows",
        "pair_gap": _PAIR_GAP,
        "depth": _WHEEL_DEPTH,
        "rank": ["0", "-8 in"],
    }
    outside = {**blade, "at": "outside", "depth": written.get(_OUTER_DEPTH, _BLADE_DEPTH)}
    if alone:
        del wheels["rank"]
        return [{**fingers, **wheels}, outside]
    gaps = {**blade, "at": "gaps", "hand": ["right", "left"], "depth": _BLADE_DEPTH}
    return [{**fingers, **wheels}, gaps, outside]


def _bar_size(written: Mapping[str, str], catalogue: Catalogue) -> float | None:
    """The bar's outside size in mm; None where it is not given or does not read."""
    tube = catalogue.parts.get(written.get("toolbar.tube", ""))
    if isinstance(tube, SquareTube):
        return tube.size
    unit = written.get("units", "")
    known = Unit(unit) if unit in {u.value for u in Unit} else Unit.MM
    try:
        return parse_length(written.get("toolbar.size", ""), known)
    except ReadingError:
        return None


def _for_bar(catalogue: Catalogue, base: str, size: float | None) -> dict[str | int, Any]:
    """The sub-assembly of a family that fits the bar, or its first with another clamp."""
    if size is None:
        return {"use": base}
    family: dict[str, SubAssembly] = {
        name: unit
        for name, unit in catalogue.assemblies.items()
        if name == base or name.startswith(f"{base}-")
    }
    for name in sorted(family):
        if _goes_round(catalogue, family[name].mount, size):
            return {"use": name}
    clamps = (name for name in sorted(catalogue.parts) if _goes_round(catalogue, name, size))
    mount = next(clamps, None)
    return {"use": base} if mount is None else {"use": base, "swap": {"mount": mount}}


def _goes_round(catalogue: Catalogue, clamp: str, size: float) -> bool:
    part = catalogue.parts[clamp]
    return isinstance(part, BarClamp) and abs(part.fits - size) <= FIT_MM


def _put(root: dict[str | int, Any], path: Steps, value: object) -> None:
    """Sets a value; lists are held as dicts by place until they are written."""
    here = root
    for step in path[:-1]:
        here = here.setdefault(step, {})
    here[path[-1]] = value


def _yaml(key: str, value: object, depth: int) -> Iterator[str]:
    pad = "  " * depth
    if not isinstance(value, dict):
        yield f"{pad}{key}: {_flow(value)}"
    elif value and all(isinstance(k, int) for k in value):
        yield f"{pad}{key}:"
        for place in sorted(value):
            lines = [line for k, v in value[place].items() for line in _yaml(str(k), v, depth + 2)]
            yield f"{pad}  - {lines[0].strip()}"
            yield from lines[1:]
    elif value:
        yield f"{pad}{key}:"
        for name, inner in value.items():
            yield from _yaml(str(name), inner, depth + 1)
    else:
        yield f"{pad}{key}: {{}}"


def _flow(value: object) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    text = str(value)
    if _PLAIN.fullmatch(text) and text.lower() not in _WORDS_OF_YAML:
        return text
    quoted = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + " ".join(quoted.splitlines()) + '"'
