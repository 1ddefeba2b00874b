"""What a fitter does to a scene, written into its text: values, remedies, stations."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Change
from rigmodel.page.controls import exact_length, kind_of, resolved, units_of_scene
from rigmodel.page.text_edit import (
    EditError,
    Path,
    Written,
    add_item,
    copy_item,
    remove_item,
    set_value,
    value_at,
)
from rigmodel.reading.faults import path_text
from rigmodel.sheet.fields import spec_field
from rigmodel.spec.places import places
from rigmodel.spec.resolve import PlannedStation, Scene
from rigmodel.spec.struts import Strut
from rigmodel.units import Unit

_STATIONS: Path = ("stations",)
_OTHER = {"left": "right", "right": "left"}
_INCH_STEP, _MM_STEP = 25.4 / 16.0, 1.0
_SAME_MM = 1e-6
_LONG = 12  # characters; what is longer has more decimals than a tape shows


def write_value(text: str, path: Path, typed: str, unit: Unit) -> str:
    """The text with what was typed into a control.

    Args:
        text: the scene's text.
        path: where.
        typed: as typed; empty takes the value away, commas part the values of a list.
        unit: unit of a bare number as it was typed, which may not be the scene's own.

    Raises:
        EditError: it cannot be written there.
    """
    typed = " ".join(typed.split())
    if not typed:
        return text if value_at(text, path) is None else set_value(text, path, None)
    return set_value(text, path, _as_typed(typed, path, unit, units_of_scene(text)))


def _as_typed(typed: str, path: Path, unit: Unit, own: Unit) -> Written:
    field = spec_field(path_text(path))
    lists = field is not None and field.lists
    single = field is None or field.single
    items = [item.strip() for item in typed.split(",")] if lists else [typed]
    if kind_of(path) == "length" and unit is not own:
        items = [_with_unit(item, unit) for item in items]
    return items if lists and (len(items) > 1 or not single) else items[0]


def _with_unit(item: str, unit: Unit) -> str:
    """A bare number with the unit it was meant in; anything else as it is."""
    if any(c.isalpha() or c in "\"'″′”’“‘" for c in item):
        return item
    return f"{item} {unit.value}"


def _setting(mm: float, unit: Unit) -> str:
    """As `exact_length`, but to 0.1 mm where the unit cannot say it: nobody marks finer."""
    told = exact_length(mm, unit)
    return told if len(told) <= _LONG else f"{round(mm, 1):g} mm"


def write_changes(text: str, changes: Sequence[Change]) -> str:
    """The text with the changes of a remedy.

    Raises:
        EditError: one of them cannot be written there.
    """
    unit = units_of_scene(text)
    for change in changes:
        text = set_value(text, change.path, _change_text(change.value, change.unit, unit))
    return text


def _change_text(value: object, kind: str, unit: Unit) -> Written:
    if isinstance(value, tuple | list):
        items: list[Written] = [_change_text(item, kind, unit) for item in value]
        return items
    if isinstance(value, Strut):
        return {**value.written(lambda mm: exact_length(mm, unit))}
    if isinstance(value, int | float) and kind == "mm":
        return exact_length(float(value), unit)
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def step_mm(scene: Scene) -> float:
    """The step that places are moved in: hole to hole, or 1/16 in or 1 mm."""
    if scene.tube.hole_pitch is not None:
        return scene.tube.hole_pitch
    return _INCH_STEP if scene.unit in (Unit.IN, Unit.FT) else _MM_STEP


def nudge(text: str, scene: Scene, path: Path, count: int) -> str:
    """Turns a length `count` steps of 1/16 in or 1 mm up, onto a whole step.

    Raises:
        EditError: there is no single length at that place.
    """
    value = resolved(path, scene)
    if kind_of(path) != "length" or not isinstance(value, int | float):
        raise EditError("only a single length can be turned step by step")
    step = _INCH_STEP if scene.unit in (Unit.IN, Unit.FT) else _MM_STEP
    turned = (round(value / step) + count) * step
    return set_value(text, path, exact_length(turned, units_of_scene(text)))


def move_station(text: str, scene: Scene, index: int, count: int) -> str:
    """Moves a station `count` steps to the left, or outward where it stands at a row's side.

    A place given from the bar's centre is first snapped to the steps.
    """
    planned = _planned(scene, index)
    step, unit = step_mm(scene), units_of_scene(text)
    if isinstance(planned.spec.at, tuple):
        moved = [exact_length((round(at / step) + count) * step, unit) for at in planned.spec.at]
        return set_value(text, ("stations", index, "at"), moved)
    shift = (round(planned.spec.shift / step) + count) * step
    return _shifted(text, index, shift, unit)


def place_station(text: str, assembly: Assembly, index: int, name: str, to_mm: float) -> str:
    """Puts a station's clamp at the hole or step of the bar that is nearest to a mark.

    All places of a station at rows, gaps, tracks or outside go alike; a place that was given from
    the bar's centre goes alone.

    Args:
        text: the scene's text.
        assembly: what it makes.
        index: of the station in the scene.
        name: which of its places was moved.
        to_mm: the mark, mm left of the bar's centre.

    Raises:
        EditError: there is no such place.
    """
    planned = _planned(assembly.scene, index)
    own = planned.spec.name
    named = {".".join(filter(None, (p.name, own))): p for p in planned.places}
    place = named.get(name)
    if place is None or name not in assembly.station:
        raise EditError(f"station {index + 1} has no place {name}")
    step, unit = step_mm(assembly.scene), units_of_scene(text)
    moved = round(to_mm / step) * step - assembly.adjustment[f"{name}.place"].wanted
    if isinstance(planned.spec.at, tuple):
        return _placed_alone(text, planned, place.number, moved, unit)
    return _shifted(text, index, planned.spec.shift + (place.side or 1) * moved, unit)


def _placed_alone(text: str, planned: PlannedStation, number: int, moved: float, unit: Unit) -> str:
    """Moves the given distance that is the `number`-th from the left."""
    given = planned.spec.at
    assert isinstance(given, tuple)
    which = sorted(range(len(given)), key=lambda i: -given[i])[number - 1]
    told = _setting(given[which] + moved, unit)
    return set_value(text, ("stations", planned.index, "at", which), told)


def _shifted(text: str, index: int, shift: float, unit: Unit) -> str:
    path = ("stations", index, "shift")
    if abs(shift) <= _SAME_MM:
        return set_value(text, path, None) if value_at(text, path) is not None else text
    return set_value(text, path, _setting(shift, unit))


def to_all_rows(text: str, scene: Scene, index: int) -> str:
    """Puts a station at every row."""
    planned = _planned(scene, index)
    if planned.spec.at == "rows" and not planned.spec.only:
        raise EditError("this station stands at every row already")
    text = set_value(text, ("stations", index, "at"), "rows")
    for name in ("only", "sides") if planned.spec.at != "rows" else ("only",):
        if value_at(text, ("stations", index, name)) is not None:
            text = set_value(text, ("stations", index, name), None)
    if planned.unit.place == "pair-gap" and planned.spec.pair_gap is None:
        text = set_value(text, ("stations", index, "pair_gap"), "40 mm")
    return text


def mirror_station(text: str, scene: Scene, index: int) -> str:
    """Mirrors a station about the tractor's centre: sides, hands, ranks in turn, places."""
    planned = _planned(scene, index)
    spec = planned.spec
    path = ("stations", index)
    unit = units_of_scene(text)
    numbers = range(_count(scene, planned), 0, -1)
    if isinstance(spec.at, tuple):
        mirrored = [exact_length(-at, unit) for at in spec.at]
        text = set_value(text, (*path, "at"), mirrored)
    hands = spec.hand if isinstance(spec.hand, tuple) else (spec.hand,)
    turned = [_OTHER[hands[(n - 1) % len(hands)]] for n in numbers]
    text = set_value(text, (*path, "hand"), _short(turned))
    if isinstance(spec.rank, tuple):
        ranks = [exact_length(spec.rank[(n - 1) % len(spec.rank)], unit) for n in numbers]
        text = set_value(text, (*path, "rank"), _short(ranks))
    if spec.sides in _OTHER:
        text = set_value(text, (*path, "sides"), _OTHER[spec.sides])
    if spec.only:
        only = sorted(len(numbers) + 1 - n for n in spec.only)
        text = set_value(text, (*path, "only"), [str(n) for n in only])
    if spec.shift and all(place.side == 0 for place in planned.places):
        text = _shifted(text, index, -spec.shift, unit)
    return text


def _short(values: list[str]) -> Written:
    """One value where all are alike, else the shortest list that goes round to the same."""
    for size in range(1, len(values)):
        if all(v == values[i % size] for i, v in enumerate(values)):
            return values[0] if size == 1 else values[:size]
    return values[0] if len(values) == 1 else values


def _count(scene: Scene, planned: PlannedStation) -> int:
    """How many places there are of the station's kind, whether it takes them all or not."""
    spec = planned.spec.model_copy(update={"only": (), "sides": None})
    rear = scene.axles[0].track_mm if scene.axles else 0.0
    by_edge = planned.unit.place != "centre"
    found = places(spec, scene.spec.rows, scene.spec.toolbar, rear, by_edge)
    return max((place.number for place in found), default=1)


def _planned(scene: Scene, index: int) -> PlannedStation:
    if not 0 <= index < len(scene.stations):
        raise EditError(f"there is no station {index + 1}")
    return scene.stations[index]


def add_station(text: str, scene: Scene, use: str, at: str) -> str:
    """Adds a sub-assembly of the catalogue at rows, gaps, tracks or outside."""
    unit = scene.catalogue.assemblies.get(use)
    if unit is None:
        raise EditError("choose a sub-assembly from the list")
    item: dict[str, Any] = {"use": use, "at": at, "depth": "1 in"}
    if unit.place == "pair-gap" and at == "rows":
        item["pair_gap"] = "1 1/2 in"
    taken = {(p.spec.at, p.spec.name) for p in scene.stations}
    if any(where == at for where, _ in taken):
        number = len(scene.stations) + 1
        item = {"use": use, "name": f"s{number}", **{k: v for k, v in item.items() if k != "use"}}
    return add_item(text, _STATIONS, item)


def copy_station(text: str, scene: Scene, index: int) -> str:
    """Writes a station once more, under a name of its own."""
    _planned(scene, index)
    names = {planned.spec.name for planned in scene.stations}
    number = next(n for n in range(2, 99) if f"copy{n}" not in names)
    return set_value(
        copy_item(text, _STATIONS, index), ("stations", index + 1, "name"), f"copy{number}"
    )


def remove_station(text: str, scene: Scene, index: int) -> str:
    """Takes a station away."""
    _planned(scene, index)
    return remove_item(text, _STATIONS, index)
