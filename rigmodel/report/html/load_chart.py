"""The loaded bar as a drawing: what acts on it, bending, shear, torque, and how it sags."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.along import AlongBar
from rigmodel.loads.bar import pulls, pushes, weights
from rigmodel.loads.hung import BarForce
from rigmodel.report.html.across import LEFT, RIGHT, WIDE, Scale, grid
from rigmodel.report.html.markup import Html, scrolled, tag
from rigmodel.sides import side
from rigmodel.sides import way as side_way

_LANE, _GAP, _AXIS, _ARROW = 64.0, 26.0, 40.0, 44.0
_SIDEWAYS = 26.0  # the longest arrow along the bar
_LABEL = 4.0  # between a curve's highest point and its number
_LETTER = 6.8  # width of a letter
_NAMES = 3  # heights that names of stations stand on
_LARGER = (1000, 500, 200, 100, 50, 20, 10, 5, 2, 1)


@dataclass(frozen=True)
class _Lane:
    """One curve: its title, its values and how the greatest is told; sag is drawn to scale."""

    title: str
    values: FloatArray
    form: Callable[[float], str]
    length: bool = False


def load_chart(assembly: Assembly, along: AlongBar) -> Html:
    """The drawing with its caption, and the same in words for who cannot see it."""
    offset = assembly.scene.spec.toolbar.offset
    half = assembly.scene.spec.toolbar.length / 2.0
    scale = Scale(offset - 1.04 * half, offset + 1.04 * half)
    hangers = [offset + at for at in assembly.scene.spec.toolbar.hangers or ()]
    struts = [offset + strut.clamp.centre_mm for strut in assembly.struts]
    unit = assembly.scene.unit
    drawn = list(_stations(assembly, scale))
    top = _NAMES * 14.0 + 34.0
    begin = top
    for title, forces, axis in (
        ("Weight|on the bar", weights(assembly), 2),
        ("Draft|high end", pulls(assembly), 0),
    ):
        drawn += _arrows(assembly, title, forces, axis, scale, top)
        drawn += _hangers(scale, hangers, top + _ARROW + 6.0)
        drawn += _struts(scale, struts, top + _ARROW + 6.0)
        top += _LANE + _GAP
    aside = pushes(assembly)
    if aside:
        drawn += _aside(assembly, aside, scale, top)
        top += _LANE
    told = []
    for lane in _lanes(assembly, along):
        curve, name = _curve(lane, along.at_mm + offset, scale, top, assembly)
        drawn += curve
        told.append(name)
        top += _LANE + _GAP
    words_ = "; ".join(told)
    drawing = tag(
        "svg",
        {
            "class": "coverage loads",
            "viewBox": f"0 0 {WIDE:g} {top + _AXIS:g}",
            "role": "img",
            "aria-label": f"The loaded bar, seen from behind: {words_}.",
        },
        list(grid(unit, scale, top)),
        [
            tag("line", {"class": "held", "x1": x, "x2": x, "y1": begin + _ARROW + 6.0, "y2": top})
            for x in map(scale.x, [*hangers, *struts])
        ],
        drawn,
    )
    return tag(
        "figure",
        None,
        scrolled("Load drawing", drawing),
        tag(
            "figcaption",
            None,
            f"The bar under weight and draft, seen from behind; {words_}. Triangles under the bar "
            f"and dashed lines are hangers{', circles there struts' if struts else ''}; on top, "
            "triangles are blades and circles finger wheels, and a short stroke on every curve is "
            "a station's clamp. Each curve has a scale of its own; sag is drawn to the scale of "
            "the bar's length, as many times larger as it says.",
        ),
    )


def _lanes(assembly: Assembly, along: AlongBar) -> tuple[_Lane, ...]:
    unit = assembly.scene.unit

    def force(newtons: float) -> str:
        return words.force(abs(newtons), unit)

    def moment(newton_metres: float) -> str:
        return words.moment(abs(newton_metres), unit)

    def length(mm: float) -> str:
        return words.deflection(mm, unit)

    return (
        _Lane("Shear|upright", along.shear_n[0], force),
        _Lane("Bending|upright", along.moment_nm[0], moment),
        _Lane("Shear|level", along.shear_n[1], force),
        _Lane("Bending|level", along.moment_nm[1], moment),
        _Lane("Torque|", along.torque_nm, moment),
        _Lane("Sag|downwards", along.moved_mm[0], length, length=True),
        _Lane("Bent|backwards", along.moved_mm[1], length, length=True),
        _Lane("Twist|", along.turned_deg, lambda degrees: f"{abs(degrees):.2f}°"),
    )


def _stations(assembly: Assembly, scale: Scale) -> Iterator[Html]:
    """Tools over the drawing, and names of their stations where there is room."""
    yield from _title("Tools|", _NAMES * 14.0 + 12.0)
    free = [0.0] * _NAMES  # where each height is free again
    offset = assembly.scene.spec.toolbar.offset
    for station in sorted(assembly.stations, key=lambda s: -s.place_mm):
        x = scale.x(station.place_mm + offset)
        room = _LETTER * len(station.name) / 2.0
        level = next((k for k in range(_NAMES) if free[k] <= x - room), None)
        if level is not None:
            free[level] = x + room + 6.0
            y = 12.0 + 14.0 * level
            yield tag("text", {"class": "name", "x": x, "y": y}, station.name)
    y = _NAMES * 14.0 + 8.0
    for tool in assembly.tools:
        x = scale.x(tool.centre_mm)
        blade = assembly.mechanism.part(tool.part).role is Role.BLADE
        shape = f"M{x - 6:.1f} {y:.1f}h12l-6 10z" if blade else (
            f"M{x - 5:.1f} {y + 5:.1f}a5 5 0 1 1 10 0a5 5 0 1 1 -10 0z"
        )  # fmt: skip
        yield tag("g", None, tag("title", None, tool.part),
                  tag("path", {"class": "tool", "d": shape}))  # fmt: skip


def _ticks(assembly: Assembly, scale: Scale, y: float) -> Html:
    """Short strokes on a curve's line at every clamp, so that it is read at a station."""
    offset = assembly.scene.spec.toolbar.offset
    places = sorted({station.place_mm for station in assembly.stations})
    strokes = "".join(f"M{scale.x(place + offset):.1f} {y - 3.0:.1f}v6" for place in places)
    return tag("path", {"class": "place", "d": strokes})


def _title(text: str, y: float) -> Iterator[Html]:
    first, _, second = text.partition("|")
    height = y - 3.0 if second else y + 4.0
    yield tag("text", {"class": "lane", "x": LEFT - 8.0, "y": height}, first)
    if second:
        yield tag("text", {"class": "lane", "x": LEFT - 8.0, "y": y + 12.0}, second)


def _arrows(
    assembly: Assembly,
    title: str,
    forces: Sequence[BarForce],
    axis: int,
    scale: Scale,
    top: float,
) -> Iterator[Html]:
    """An arrow onto the bar for everything that acts at one place, longest for the greatest."""
    offset = assembly.scene.spec.toolbar.offset
    sums: dict[float, float] = {}
    names: dict[float, list[str]] = {}
    for one in forces:
        place = round(one.at_mm + offset, 3)
        sums[place] = sums.get(place, 0.0) + abs(float(one.force_n[axis]))
        names.setdefault(place, []).append(one.owner)
    most = max(sums.values(), default=0.0)
    bar = top + _ARROW + 6.0
    yield from _title(title, top + _ARROW / 2.0)
    yield tag("line", {"class": "bar", "x1": LEFT, "x2": WIDE - RIGHT, "y1": bar, "y2": bar})
    told: list[tuple[float, float]] = []
    for place, newtons in sorted(sums.items(), key=lambda item: -item[1]):
        long = _ARROW * newtons / most if most > 0.0 else 0.0
        if long < 1.0:
            continue
        x = scale.x(place)
        text = words.force(newtons, assembly.scene.unit)
        yield tag(
            "g",
            {"class": "force"},
            tag("title", None, f"{', '.join(names[place])}: {text}"),
            tag("line", {"x1": x, "x2": x, "y1": bar - long, "y2": bar - min(6.0, long)}),
            tag("path", {"d": f"M{x:.1f} {bar:.1f}l-4 -8h8z"}),
        )
        room = _LETTER * len(text) / 2.0
        at = min(max(x, LEFT + room), WIDE - RIGHT - room)
        if all(at + room < low or at - room > high for low, high in told):
            told.append((at - room, at + room))
            yield tag("text", {"class": "value", "x": at, "y": bar - long - _LABEL}, text)


def _aside(
    assembly: Assembly, forces: Sequence[BarForce], scale: Scale, top: float
) -> Iterator[Html]:
    """An arrow along the bar for the side draft at each place, longest for the greatest."""
    offset = assembly.scene.spec.toolbar.offset
    sums: dict[float, float] = {}
    for one in forces:
        place = round(one.at_mm + offset, 3)
        sums[place] = sums.get(place, 0.0) + float(one.force_n[1])
    most = max(map(abs, sums.values()))
    bar = top + _SIDEWAYS
    yield from _title("Side draft|as stated", top + _SIDEWAYS / 2.0)
    yield tag("line", {"class": "bar", "x1": LEFT, "x2": WIDE - RIGHT, "y1": bar, "y2": bar})
    free = WIDE  # how far left the words told last begin
    for place, newtons in sorted(sums.items()):
        long = _SIDEWAYS * abs(newtons) / most if most > 0.0 else 0.0
        if long < 1.0:
            continue
        x, way = scale.x(place), scale.x(place + newtons) - scale.x(place)
        sign, y = math.copysign(1.0, way), bar - 10.0
        text = f"{words.force(abs(newtons), assembly.scene.unit)} {side_way(newtons)}"
        tip = x + sign * long
        yield tag(
            "g",
            {"class": "force"},
            tag("title", None, text),
            tag("line", {"x1": x, "x2": x, "y1": bar - 4.0, "y2": bar + 4.0}),
            tag("line", {"x1": x, "x2": tip - sign * min(6.0, long), "y1": y, "y2": y}),
            tag("path", {"d": f"M{tip:.1f} {y:.1f}l{-8.0 * sign:.1f} -4v8z"}),
        )
        room = _LETTER * len(text) / 2.0
        at = min(max(x, LEFT + room), WIDE - RIGHT - room)
        if at + room < free:
            free = at - room
            yield tag("text", {"class": "value", "x": at, "y": y - 8.0}, text)


def _hangers(scale: Scale, hangers: Sequence[float], y: float) -> Iterator[Html]:
    for place in hangers:
        x = scale.x(place)
        yield tag("path", {"class": "hanger", "d": f"M{x:.1f} {y:.1f}l-6 10h12z"})


def _struts(scale: Scale, places: Sequence[float], y: float) -> Iterator[Html]:
    for place in places:
        x = scale.x(place)
        yield tag("circle", {"class": "hanger", "cx": x, "cy": y + 5.0, "r": 5})


def _curve(
    lane: _Lane, at: FloatArray, scale: Scale, top: float, assembly: Assembly
) -> tuple[list[Html], str]:
    """A filled curve between its least and greatest value; and its greatest in words."""
    values = lane.values
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    title, told = lane.title, lane.title.lower().replace("|", " ").strip()
    size = (_LANE - 16.0) / (high - low) if high > low else 0.0
    if lane.length and size:
        own = abs(scale.x(1.0) - scale.x(0.0))
        larger = next((n for n in _LARGER if n * own <= size), 1)
        size = min(size, larger * own)
        title = title.replace("|", f" ×{larger}|")
    zero = top + 8.0 + high * size
    ys = [zero - value * size for value in values.tolist()]
    points = zip(map(scale.x, at.tolist()), ys, strict=True)
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    first, last = scale.x(float(at[0])), scale.x(float(at[-1]))
    k = int(np.abs(values).argmax())
    label = lane.form(float(values[k]))
    x = min(max(scale.x(float(at[k])), LEFT + 60.0), WIDE - RIGHT - 60.0)
    y = ys[k] + (14.0 if values[k] < 0.0 else -_LABEL)
    drawn = [
        *_title(title, top + _LANE / 2.0),
        tag(
            "path", {"class": "area", "d": f"M{first:.1f} {zero:.1f}L{line}L{last:.1f} {zero:.1f}z"}
        ),
        tag("path", {"class": "curve", "d": f"M{line}"}),
        tag("line", {"class": "bar", "x1": LEFT, "x2": WIDE - RIGHT, "y1": zero, "y2": zero}),
        _ticks(assembly, scale, zero),
        tag("text", {"class": "value", "x": x, "y": y}, label),
    ]
    place = side(float(at[k]), assembly.scene.unit)
    return drawn, f"{told} at most {label}, at {place}"
