"""What may stand at a place of the scene, each with its picture: parts and sub-assemblies."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import quote

from rigmodel.catalog.kinds import BarClamp, SubAssembly, TeeClamp, walk
from rigmodel.page.controls import part_choices
from rigmodel.page.text_edit import Path
from rigmodel.report.html.markup import Html, joined, tag
from rigmodel.spec.resolve import PlannedStation, Scene
from rigmodel.spec.stations import FIT_MM

ADDING: Path = ("stations", "use")
"""Stands for the place of a station that is not there yet."""


@dataclass(frozen=True)
class Place:
    """A place for a part or a sub-assembly.

    Attributes:
        path: where in the scene.
        now: what stands there; may be empty.
        units: whether sub-assemblies stand there, not parts.
        choices: what may stand there, with its words.
    """

    path: Path
    now: str
    units: bool
    choices: tuple[tuple[str, str], ...]


def place_at(scene: Scene, path: Path) -> Place | None:
    """What may stand at a place; None where it is no place for a part or a sub-assembly."""
    if path == ADDING:
        return Place(path, "", True, fitting_units(scene))
    places = (p for station in scene.stations for p in places_of(scene, station))
    return next((place for place in places if place.path == path), None)


def places_of(scene: Scene, planned: PlannedStation) -> Iterator[Place]:
    """The places of a station: what it uses, then each of its parts that may be another."""
    if planned.spec.use is not None:
        path: Path = ("stations", planned.index, "use")
        yield Place(path, planned.spec.use, True, fitting_units(scene, planned.spec.use))
    unit = planned.unit
    for name, item in (("mount", unit.mount), *((n.name, n.part) for n in walk(unit.tool))):
        choices = part_choices(scene.catalogue, item)
        if len(choices) > 1:
            yield Place(("stations", planned.index, "swap", name), item, False, choices)


def fitting_units(scene: Scene, also: str = "") -> tuple[tuple[str, str], ...]:
    """Sub-assemblies whose clamp goes round the bar, with their words."""

    def fits(unit: SubAssembly) -> bool:
        mount = scene.catalogue.parts.get(unit.mount)
        return isinstance(mount, BarClamp | TeeClamp) and (
            abs(mount.fits - scene.tube.size) <= FIT_MM
        )

    return tuple(
        (name, f"{name}: {unit.summary}")
        for name, unit in scene.catalogue.assemblies.items()
        if fits(unit) or name == also
    )


def pictures_fold(place: Place) -> Html:
    """The fold that `choices_html` fills once it is opened."""
    return tag(
        "details",
        {
            "class": "pictures",
            "id": "pictures-" + "-".join(map(str, place.path)),
            "data-choices": json.dumps(place.path),
        },
        tag("summary", None, "Choose by picture"),
        tag("div", {"class": "picks"}, ""),
    )


def choices_html(place: Place, base: str) -> Html:
    """A button with picture, name and words for each choice.

    Args:
        place: where.
        base: address of the session.
    """
    kind = "unit" if place.units else "part"
    return joined(
        tag(
            "button",
            {
                "type": "button",
                "class": "pick",
                "data-pick": name,
                "data-at": json.dumps(place.path),
                "aria-pressed": "true" if name == place.now else "false",
            },
            tag("img", {"src": f"{base}/picture/{kind}/{quote(name, safe='')}", "alt": ""}),
            tag("span", None, words),
        )
        for name, words in place.choices
    )
