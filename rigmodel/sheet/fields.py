"""What to measure, in the order a person walks round; every name is the spec's own."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import lru_cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from rigmodel.spec.scene import SceneSpec

Path = tuple[str | int, ...]

_NAME = re.compile(r"[a-z_]+(?:\[[1-9]\d?\])?(?:\.[a-z_]+(?:\[[1-9]\d?\])?)*")
_STEP = re.compile(r"([a-z_]+)(?:\[(\d+)\])?")


@dataclass(frozen=True)
class Section:
    """One stop on the way round.

    Attributes:
        title: where to stand.
        how: how to measure there.
        sketch: name of its drawing in the form's template, or an empty string.
        names: what to measure, as dotted names of the spec; list items count from 1.
    """

    title: str
    how: str
    sketch: str
    names: tuple[str, ...]


SECTIONS: tuple[Section, ...] = (
    Section(
        "First", "Fill in what you know; what stays empty is not claimed.", "", ("name", "units")
    ),
    Section(
        "A  At the bed, looking the way the tractor drives",
        "Lay a straight lath across the bed. Heights count from the soil at the rows; left of the "
        "tractor's centre is positive. Rows at uneven distances: give rows.positions (each row "
        "from the tractor's centre, commas between) and leave count, spacing and offset empty.",
        "bed",
        (
            "rows.count",
            "rows.spacing",
            "rows.positions",
            "rows.offset",
            "rows.keep_out",
            "rows.plants.stem",
            "rows.plants.canopy_width",
            "rows.plants.height",
            "rows.plants.lowest_leaf",
            "rows.drill_rows",
            "soil.shape",
            "soil.top_width",
            "soil.height",
            "soil.shoulder",
            "soil.crown",
            "soil.tyres_run",
        ),
    ),
    Section(
        "B  Behind the tractor",
        "On hard level ground, tyres at field pressure, parking brake on. Track is from tyre "
        "middle to tyre middle: measure outside to outside, and take one tyre's width off.",
        "behind",
        (
            "tractor.use",
            "tractor.mount",
            "tractor.rear.track",
            "tractor.rear.tyre",
            "tractor.rear.tyre_width",
            "tractor.rear.tyre_diameter",
            "tractor.frame.clearance",
            "tractor.frame.width",
            "tractor.frame.offset",
        ),
    ),
    Section(
        "C  Along its left side, to the front",
        "Drop a plumb line from the middle of each axle and mark the ground; measure between the "
        "marks. Heights of the lift are of the middle of the bar, from the ground under the tyres.",
        "side",
        (
            "tractor.frame.ahead",
            "tractor.frame.length",
            "tractor.frame.height",
            "toolbar.ahead",
            "tractor.lift.kind",
            "tractor.lift.lowest",
            "tractor.lift.highest",
            "tractor.lift.pivot_x",
            "tractor.lift.pivot_z",
            "tractor.wheelbase",
            "tractor.front.track",
            "tractor.front.tyre",
            "tractor.front.tyre_width",
            "tractor.front.tyre_diameter",
            "tractor.steering_lock",
            "tractor.obstacles[1].name",
            "tractor.obstacles[1].at",
            "tractor.obstacles[1].size",
        ),
    ),
    Section(
        "D  At the bar",
        "Find the bar's middle first; places along it count from there, left is positive. Push the "
        "lifted rig sideways by hand for the play in its links. Give tube ('rigmodel parts' lists "
        "them), or size and wall.",
        "bar",
        (
            "toolbar.tube",
            "toolbar.size",
            "toolbar.wall",
            "toolbar.hole_pitch",
            "toolbar.length",
            "toolbar.height",
            "toolbar.offset",
            "toolbar.no_clamp[1].low",
            "toolbar.no_clamp[1].high",
            "toolbar.no_clamp[1].why",
            "tolerances.link_play",
        ),
    ),
    Section(
        "E  What the tools shall do",
        "Station 1 is a finger wheel on each side of every row; station 2 a blade in every gap, "
        "and as deep outside the outer rows.",
        "tools",
        ("stations[1].pair_gap", "stations[1].depth", "stations[2].depth"),
    ),
)


def all_names() -> tuple[str, ...]:
    """Every name on the form, in its order."""
    return tuple(name for section in SECTIONS for name in section.names)


def steps(name: str) -> Path:
    """A dotted name as keys and list places (from 0), such as ``("stations", 0, "depth")``.

    Raises:
        ValueError: it is not written like one.
    """
    if not _NAME.fullmatch(name):
        raise ValueError(f"{name!r} is not a dotted name")
    found: list[str | int] = []
    for key, number in _STEP.findall(name):
        found.append(key)
        if number:
            found.append(int(number) - 1)
    return tuple(found)


@dataclass(frozen=True)
class SpecField:
    """A value of the spec.

    Attributes:
        what: its description.
        lists: whether it can take several values, with commas between.
        single: whether it can take one value that is not a list.
        choices: the words it takes, where it takes no others.
    """

    what: str
    lists: bool
    single: bool
    choices: tuple[str, ...]


@lru_cache(maxsize=4096)
def spec_field(name: str) -> SpecField | None:
    """What the spec says of a dotted name; None where the spec has no such value."""
    try:
        path = steps(name)
    except ValueError:
        return None
    info: FieldInfo | None = None
    types: tuple[Any, ...] = (SceneSpec,)
    for step in path:
        if isinstance(step, int):
            types = tuple(item for kind in types for item in _items(kind))
        else:
            info = next((found for kind in types if (found := _field(kind, step))), None)
            types = () if info is None else _flat(info.annotation)
        if not types:
            return None
    inner = [item for kind in types for item in (kind, *_items(kind))]
    if info is None or any(_field(t, None) or get_origin(t) is dict for t in inner):
        return None  # a section or a list of them, not a value
    lists = [get_origin(kind) is tuple for kind in types]
    choices = [str(c) for kind in types if get_origin(kind) is Literal for c in get_args(kind)]
    return SpecField(info.description or "", any(lists), not all(lists), tuple(choices))


def nearest_name(name: str) -> str:
    """The form's name that looks most like `name`, or an empty string."""
    found = difflib.get_close_matches(name.lower(), all_names(), n=1, cutoff=0.6)
    return found[0] if found else ""


def _flat(annotation: object) -> tuple[Any, ...]:
    """The types behind a union, without None and metadata."""
    origin = get_origin(annotation)
    if origin is Annotated:
        return _flat(get_args(annotation)[0])
    if origin in (Union, UnionType):
        return tuple(t for arg in get_args(annotation) for t in _flat(arg))
    return () if annotation is NoneType else (annotation,)


def _items(kind: object) -> tuple[Any, ...]:
    """Types of a list's items."""
    return _flat(get_args(kind)[0]) if get_origin(kind) is tuple else ()


def _field(kind: object, name: str | None) -> FieldInfo | None:
    """A section's field of that name, or its first one for None; None where it has none."""
    if not (isinstance(kind, type) and issubclass(kind, BaseModel)):
        return None
    fields = kind.model_fields
    return next(iter(fields.values()), None) if name is None else fields.get(name)
