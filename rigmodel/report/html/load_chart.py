"""The loaded bar as a drawing: what acts on it, bending, torque, and how it sags."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.along import AlongBar
from rigmodel.loads.bar import BarForce, pulls, weights
from rigmodel.report.html.across import LEFT, RIGHT, WIDE, Scale, grid
from rigmodel.report.html.markup import Html, Value, tag

_LANE, _GAP, _AXIS, _ARROW = 64.0, 20.0, 40.0, 44.0
_LABEL = 4.0  # between a curve's highest point and its number


def load_chart(assembly: Assembly, along: AlongBar) -> Html:
    """The drawing with its caption, and the same in words for who cannot see it."""
    offset = assembly.scene.spec.toolbar.offset
    half = assembly.scene.spec.toolbar.length / 2.0
    scale = Scale(offset - 1.04 * half, offset + 1.04 * half)
    hangers = [offset + at for at in assembly.scene.spec.toolbar.hangers or ()]
    at = along.at_mm + offset
    say, unit = assembly.scene.say, assembly.scene.unit

    def moment(value: float) -> str:
        return words.moment(abs(value), unit)

    def length(value: float) -> str:
        return say(abs(value))

    drawn: list[Html] = []
    top = 20.0
    for title, forces, axis in (
        ("Weight|on the bar", weights(assembly), 2),
        ("Draft|high end", pulls(assembly), 0),
    ):
        drawn += _arrows(assembly, title, forces, axis, scale, top)
        drawn += _hangers(scale, hangers, top + _ARROW + 6.0)
        top += _LANE + _GAP
    told = []
    for title, values, form in (
        ("Bending|upright", along.moment_nm[0], moment),
        ("Bending|level", along.moment_nm[1], moment),
        ("Torque|", along.torque_nm, moment),
        ("Sag|downwards", along.moved_mm[0], length),
        ("Bent|backwards", along.moved_mm[1], length),
    ):
        place, most = _greatest(at, values)
        label = form(most)
        drawn += _curve(title, at, values, scale, top, label)
        name = title.lower().replace("|", " ").strip()
        told.append(f"{name} at most {label} {_side(say, place)}")
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
            tag("line", {"class": "held", "x1": x, "x2": x, "y1": _ARROW + 26.0, "y2": top})
            for x in map(scale.x, hangers)
        ],
        drawn,
    )
    region: dict[str, Value] = {"class": "scroll", "role": "region", "tabindex": 0}
    region["aria-label"] = "Load drawing"
    return tag(
        "figure",
        None,
        tag("div", region, drawing),
        tag(
            "figcaption",
            None,
            f"The bar under weight and draft, seen from behind; {words_}. Triangles and dashed "
            "lines are hangers. Each curve has a scale of its own; sag is drawn many times larger "
            "than it is.",
        ),
    )


def _greatest(at: FloatArray, values: FloatArray) -> tuple[float, float]:
    k = int(np.abs(values).argmax())
    return float(at[k]), float(values[k])


def _side(say: Callable[[float], str], place: float) -> str:
    if abs(place) < 0.5:
        return "at the centre"
    return f"{say(abs(place))} {'left' if place > 0 else 'right'}"


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
    greatest = max(sums, key=lambda place: sums[place], default=None)
    for place, newtons in sums.items():
        long = _ARROW * newtons / most if most > 0.0 else 0.0
        if long < 1.0:
            continue
        x = scale.x(place)
        told = words.force(newtons, assembly.scene.unit)
        yield tag(
            "g",
            {"class": "force"},
            tag("title", None, f"{', '.join(names[place])}: {told}"),
            tag("line", {"x1": x, "x2": x, "y1": bar - long, "y2": bar - 6.0}),
            tag("path", {"d": f"M{x:.1f} {bar:.1f}l-4 -8h8z"}),
        )
        if place == greatest:
            yield tag("text", {"class": "value", "x": x, "y": bar - long - _LABEL}, told)


def _hangers(scale: Scale, hangers: Sequence[float], y: float) -> Iterator[Html]:
    for place in hangers:
        x = scale.x(place)
        yield tag("path", {"class": "hanger", "d": f"M{x:.1f} {y:.1f}l-6 10h12z"})


def _curve(
    title: str, at: FloatArray, values: FloatArray, scale: Scale, top: float, label: str
) -> Iterator[Html]:
    """A filled curve between its least and greatest value, with the greatest told at its place."""
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    size = (_LANE - 16.0) / (high - low) if high > low else 0.0
    zero = top + 8.0 + high * size
    xs = [scale.x(y) for y in at.tolist()]
    ys = [zero - value * size for value in values.tolist()]
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in zip(xs, ys, strict=True))
    yield from _title(title, top + _LANE / 2.0)
    area = f"M{xs[0]:.1f} {zero:.1f}L{line}L{xs[-1]:.1f} {zero:.1f}z"
    yield tag("path", {"class": "area", "d": area})
    yield tag("path", {"class": "curve", "d": f"M{line}"})
    yield tag("line", {"class": "bar", "x1": LEFT, "x2": WIDE - RIGHT, "y1": zero, "y2": zero})
    k = int(np.abs(values).argmax())
    below = values[k] < 0.0
    y = ys[k] + (14.0 if below else -_LABEL)
    x = min(max(xs[k], LEFT + 60.0), WIDE - RIGHT - 60.0)
    yield tag("text", {"class": "value", "x": x, "y": y}, label)
