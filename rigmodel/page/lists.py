"""Lists of the scene that grow and shrink: things on the tractor, stretches kept free, struts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rigmodel.clearance.bar_cures import strut_tube
from rigmodel.page.controls import Control, control, exact_length, resolved, units_of_scene
from rigmodel.page.text_edit import EditError, Path, Written, add_item, remove_item, set_value
from rigmodel.page.text_edit import value_at as written_at
from rigmodel.spec.resolve import Scene
from rigmodel.spec.struts import strut_clamps
from rigmodel.units import Unit

_OVER_MM = 600.0  # a new thing on the tractor begins so far over the highest bar, clear of the rig
_SIZE_MM = 254.0
_HALF_MM = 25.4


@dataclass(frozen=True)
class Listed:
    """A list of the scene.

    Attributes:
        path: where it is.
        title: of the list.
        item: what one of it is called.
        help: what belongs there.
        fields: names of the values of an item, in the order they are asked.
        begin: makes a new item of a scene; its number is given, and the unit to write in.
    """

    path: Path
    title: str
    item: str
    help: str
    fields: tuple[str, ...]
    begin: Callable[[Scene, int, Unit], dict[str, Written]]

    @property
    def id(self) -> str:
        """Its name in the page."""
        return "-".join(str(step) for step in self.path)


def _obstacle(scene: Scene, number: int, unit: Unit) -> dict[str, Written]:
    high = scene.tractor.lift.highest + _OVER_MM
    at = [exact_length(mm, unit) for mm in (scene.tractor.toolbar_ahead, 0.0, high)]
    taken = {thing.name for thing in scene.tractor.obstacles}
    name = next(n for n in (f"thing{i}" for i in range(number, 999)) if n not in taken)
    return {"name": name, "at": at, "size": [exact_length(_SIZE_MM, unit)] * 3}


def _stretch(scene: Scene, number: int, unit: Unit) -> dict[str, Written]:
    low, high = exact_length(-_HALF_MM, unit), exact_length(_HALF_MM, unit)
    return {"low": low, "high": high, "why": f"hanger {number}"}


def _strut(scene: Scene, number: int, unit: Unit) -> dict[str, Written]:
    """Left and right in turn, from over the outer hanger to two thirds of the way to the end."""
    tube = strut_tube(scene)
    clamps = strut_clamps(scene.catalogue, scene.tube.size)
    if tube is None or not clamps:
        raise EditError("the catalogue has no tube and clamp for a strut on this bar")
    way, bar = (1.0 if number % 2 else -1.0), scene.spec.toolbar
    top = max((way * place for place in bar.hangers or (0.0,)), default=0.0)
    at = top + 2.0 * (bar.length / 2.0 - top) / 3.0
    step, high = (25.4, 24.0) if unit in (Unit.IN, Unit.FT) else (10.0, 60.0)
    places = (way * round(at / step) * step, way * top, high * step)
    names = ("at", "top", "height")
    lengths = (exact_length(mm, unit) for mm in places)
    return {**dict(zip(names, lengths, strict=True)), "tube": tube, "clamp": clamps[0]}


LISTS = (
    Listed(
        ("tractor", "obstacles"),
        "Things on the tractor to clear",
        "Thing",
        "Engine, seat, exhaust, tank: each a box that the rig must clear over the whole lift.",
        ("name", "at", "size"),
        _obstacle,
    ),
    Listed(
        ("toolbar", "no_clamp"),
        "Stretches of the bar to keep free",
        "Stretch",
        "Welds and hangers: nothing may be clamped there.",
        ("low", "high", "why", "face"),
        _stretch,
    ),
    Listed(
        ("toolbar", "struts"),
        "Struts that hold the bar",
        "Strut",
        "Tubes pinned to the bar and, higher up, to the frame that it hangs on and rises with. "
        "What they carry is known where the hangers are given.",
        ("at", "top", "height", "ahead", "tube", "clamp", "yield_mpa"),
        _strut,
    ),
)


def items(listed: Listed, scene: Scene, text: str) -> tuple[tuple[Control, ...], ...]:
    """The controls of every item of a list."""
    return tuple(
        tuple(control((*listed.path, i, name), scene, text) for name in listed.fields)
        for i in range(len(resolved(listed.path, scene) or ()))
    )


def find(name: str) -> Listed:
    """The list of that id.

    Raises:
        EditError: there is none.
    """
    for listed in LISTS:
        if listed.id == name:
            return listed
    raise EditError("there is no such list")


def owned(text: str, scene: Scene, path: Path) -> str:
    """The text with a list written out in it that so far came with the tractor.

    Args:
        text: the scene's text.
        scene: what it says.
        path: of a value; only one inside a list that can grow is looked at.

    Raises:
        EditError: what came with the tractor is a mesh, which is changed in the text.
    """
    for listed in LISTS:
        if path[: len(listed.path)] == listed.path and written_at(text, listed.path) is None:
            given = resolved(listed.path, scene) or ()
            if given:
                unit = units_of_scene(text)
                told: list[Written] = [_told(item, unit) for item in given]
                return set_value(text, listed.path, told)
    return text


def _told(item: Any, unit: Unit) -> dict[str, Written]:
    if item.size is None:
        raise EditError(f"{item.name} is a mesh that came with the tractor; change it in the text")
    return {
        "name": item.name,
        "at": [exact_length(mm, unit) for mm in item.at],
        "size": [exact_length(mm, unit) for mm in item.size],
    }


def add(text: str, scene: Scene, name: str) -> str:
    """Adds an item to a list.

    Raises:
        EditError: it cannot be written there.
    """
    listed = find(name)
    text = owned(text, scene, listed.path)
    number = len(resolved(listed.path, scene) or ()) + 1
    item = listed.begin(scene, number, units_of_scene(text))
    if written_at(text, listed.path):
        return add_item(text, listed.path, item)
    first: list[Written] = [item]
    return set_value(text, listed.path, first)


def remove(text: str, scene: Scene, name: str, index: int) -> str:
    """Takes an item away; an empty list stays where the tractor's own would else come back.

    Raises:
        EditError: there is no such item, or it cannot be taken away alone.
    """
    listed = find(name)
    text = owned(text, scene, listed.path)
    there = written_at(text, listed.path) or []
    if not 0 <= index < len(there):
        raise EditError("there is no such item")
    if len(there) > 1:
        return remove_item(text, listed.path, index)
    generic = scene.catalogue.tractors[scene.spec.tractor.use]
    keeps = listed.path[0] == "tractor" and bool(generic.obstacles)
    return set_value(text, listed.path, [] if keeps else None)
