"""Turns a filled-in list of measures, YAML or CSV, into the text of a scene file."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from rigmodel.catalog.kinds import BarClamp, SquareTube, SubAssembly
from rigmodel.catalog.store import Catalogue, builtin_catalogue
from rigmodel.errors import Fault, InputError, ReadingError, shown
from rigmodel.reading.named_values import NamedValue, read_named_values
from rigmodel.sheet.fields import Path as Steps
from rigmodel.sheet.fields import SpecField, nearest_name, spec_field, steps
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.stations import FIT_MM
from rigmodel.units import Unit, parse_length

_PLAIN = re.compile(r"[a-zA-Z0-9](?:[\w ./-]*\w)?|-\d[\d ./]*(?: ?(?:mm|cm|m|in|ft))?")
_WORDS_OF_YAML = frozenset(("null", "true", "false", "yes", "no", "on", "off", "y", "n"))
_TITLE = "Measured rig"
_FINGERS, _BLADE = "finger-pair", "blade-spring"
_OUTER_DEPTH = "stations[2].depth"  # the outer blades go as deep as those in the gaps
_PAIR_GAP, _WHEEL_DEPTH, _BLADE_DEPTH = "1 1/2 in", "1/2 in", "1 in"


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
    found = read_named_values(path, ("field",), ("value",))
    filled = tuple(m for m in found if m.text.strip())
    fields = _known(filled, path.name)
    text = _scene_text(filled, fields, path.name)
    try:
        scene_from_text(text, path.name)
    except InputError as error:
        raise InputError(_placed(fault, filled, path.name) for fault in error.faults) from None
    return text


def _known(measures: tuple[NamedValue, ...], file: str) -> Mapping[str, SpecField]:
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


def _fault(
    measure: NamedValue, file: str, problem: str, expected: str = "", hint: str = ""
) -> Fault:
    return Fault(problem, file, measure.line, 1, measure.text, expected, hint, "")


def _placed(fault: Fault, measures: tuple[NamedValue, ...], file: str) -> Fault:
    """A fault of the scene's text, moved to the line of the measure it comes from."""
    path = fault.path
    near = [m for m in measures if m.name == path or m.name.startswith((f"{path}.", f"{path}["))]
    near = near or [m for m in measures if path.startswith((f"{m.name}.", f"{m.name}["))]
    hint = fault.hint or ("fill it in" if "is missing" in fault.message else "")
    return replace(fault, file=file, line=near[0].line if near else 0, column=0, hint=hint)


def _scene_text(
    measures: tuple[NamedValue, ...], fields: Mapping[str, SpecField], file: str
) -> str:
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
