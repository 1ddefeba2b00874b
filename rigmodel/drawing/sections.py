"""Cross sections of tubes and bars, cut faces hatched."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rigmodel.catalog.kinds import FlatShank, RoundShank, SquareTube
from rigmodel.drawing.flow import fitting
from rigmodel.drawing.placing import Views, titled
from rigmodel.drawing.primitives import Circle, Hatch, Item, Layer, Point, Polyline
from rigmodel.drawing.sheet import View
from rigmodel.drawing.tiers import Side, Span, tiered
from rigmodel.units import Unit

Sectioned = SquareTube | FlatShank | RoundShank
ROOM_MM = 75.0  # width and height on paper a section may take, dimensions included
_STEPS = 6


def section_view(part: Sectioned, unit: Unit, name: str, room: float = ROOM_MM) -> View:
    """A part's cross section with its sizes, at the largest scale that keeps it small enough."""

    def build(scale: int) -> Views:
        return (titled(f"{name} (1:{scale})", _items(part, scale, unit), scale),)

    return fitting(build, room, room, unit)[0]


def _items(part: Sectioned, scale: int, unit: Unit) -> Iterator[Item]:
    if isinstance(part, SquareTube):
        yield from _square(part, scale, unit)
    elif isinstance(part, RoundShank):
        yield from _round(part, scale, unit)
    else:
        yield from _flat(part, scale, unit)


def _rounded(size: float, radius: float) -> tuple[Point, ...]:
    """A square with round corners, as a ring of points."""
    core = size / 2.0 - radius
    found = []
    for k, (x, y) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        for step in range(_STEPS + 1 if radius > 0.0 else 1):
            turn = math.radians(90.0 * (k + step / _STEPS))
            found.append(
                (x * core + radius * math.cos(turn), y * core + radius * math.sin(turn))
                if radius > 0.0
                else (x * core, y * core)
            )
    return tuple(found)


def corner_radius(tube: SquareTube) -> float:
    """Outside corner radius, mm: the given one, or twice the wall as the part's solid has it."""
    if tube.corner_radius is not None:
        return tube.corner_radius
    return min(2.0 * tube.wall, tube.size / 2.0) if tube.wall < tube.size / 2.0 else 0.0


def _square(tube: SquareTube, scale: int, unit: Unit) -> Iterator[Item]:
    half, inner = tube.size / 2.0, tube.size - 2.0 * tube.wall
    radius = corner_radius(tube)
    outer = _rounded(tube.size, radius)
    holes = (_rounded(inner, max(radius - tube.wall, 0.0)),) if inner > 0.0 else ()
    for ring in (outer, *holes):
        yield Polyline(ring, closed=True)
    yield Hatch(outer, holes)
    yield from tiered([Span((-half, -half), (half, -half))], Side.BELOW, -half, scale, unit)
    yield from tiered([Span((-half, -half), (-half, half))], Side.LEFT, -half, scale, unit)
    if holes:
        wall = Span((half - tube.wall, half), (half, half), "wall <>")
        yield from tiered([wall], Side.ABOVE, half, scale, unit)


def _round(part: RoundShank, scale: int, unit: Unit) -> Iterator[Item]:
    r = part.diameter / 2.0
    inner = r - part.wall
    yield Circle((0.0, 0.0), r)
    if inner > 0.0:
        yield Circle((0.0, 0.0), inner)
    yield Hatch(_ring(r), (_ring(inner),) if inner > 0.0 else ())
    for a, b in (((-r, 0.0), (r, 0.0)), ((0.0, -r), (0.0, r))):
        reach = (r + 2.0 * scale) / r
        ends = ((a[0] * reach, a[1] * reach), (b[0] * reach, b[1] * reach))
        yield Polyline(ends, Layer.CENTRE)
    yield from tiered([Span((-r, 0.0), (r, 0.0), "⌀<>")], Side.BELOW, -r, scale, unit)
    if inner > 0.0:
        wall = Span((inner, 0.0), (r, 0.0), "wall <>")
        yield from tiered([wall], Side.ABOVE, r, scale, unit)


def _ring(radius: float) -> tuple[Point, ...]:
    turns = [math.radians(5.0 * k) for k in range(72)]
    return tuple((radius * math.cos(t), radius * math.sin(t)) for t in turns)


def _flat(part: FlatShank, scale: int, unit: Unit) -> Iterator[Item]:
    x, y = part.width / 2.0, part.thickness / 2.0
    ring = ((-x, -y), (x, -y), (x, y), (-x, y))
    yield Polyline(ring, closed=True)
    yield Hatch(ring)
    yield from tiered([Span((-x, -y), (x, -y))], Side.BELOW, -y, scale, unit)
    yield from tiered([Span((x, -y), (x, y))], Side.RIGHT, x, scale, unit)
