"""Primitives become strokes, fills, rings and texts on paper: what SVG and PDF draw alike.

Arrows are filled, 2.5 mm long and a third as wide; extension lines start 0.6 mm off the feature
and end 1.4 mm past the line; numbers stand over the line, read from below or from the right (ISO
129-1; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import singledispatch

from rigmodel.drawing.lettering import CAPITAL, DEEP, text_width
from rigmodel.drawing.primitives import (
    LETTER_MM,
    Balloon,
    Circle,
    Cross,
    Dimension,
    Edge,
    Hatch,
    Item,
    Layer,
    Ordinate,
    Point,
    Pointer,
    Polyline,
    Segments,
    Words,
)
from rigmodel.drawing.sheet import Box, Sheet, View, around

ARROW_MM, ARROW_HALF_MM = 2.5, 0.42
OFF_MM, PAST_MM, OVER_MM = 0.6, 1.4, 0.9
TAIL_MM = 5.5  # length of the line outside where arrows point in


@dataclass(frozen=True)
class Stroke:
    """A line through points on paper, mm."""

    points: tuple[Point, ...]
    layer: Layer
    closed: bool = False


@dataclass(frozen=True)
class Blot:
    """A filled polygon on paper."""

    points: tuple[Point, ...]
    layer: Layer


@dataclass(frozen=True)
class Ring:
    """A circle on paper."""

    centre: Point
    radius: float
    layer: Layer


@dataclass(frozen=True)
class Letters:
    """A line of text on paper; `at` is on its base line."""

    text: str
    at: Point
    height: float
    along: Edge
    angle: float

    @property
    def box(self) -> Box:
        """The room it takes; exact for texts that lie or stand, enough for others."""
        width = text_width(self.text, self.height)
        left = -{"start": 0.0, "middle": width / 2.0, "end": width}[self.along]
        low = -DEEP / CAPITAL * self.height
        c, s = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        spots = [
            (self.at[0] + x * c - y * s, self.at[1] + x * s + y * c)
            for x in (left, left + width)
            for y in (low, self.height)
        ]
        return _box(spots)


Mark = Stroke | Blot | Ring | Letters


@dataclass(frozen=True)
class Onto:
    """How a view's axes lie on paper."""

    factor: float
    origin: Point

    def point(self, p: Point) -> Point:
        """A point of the view on paper."""
        return (self.origin[0] + p[0] * self.factor, self.origin[1] + p[1] * self.factor)

    def points(self, listed: Iterable[Point]) -> tuple[Point, ...]:
        """Points of the view on paper."""
        return tuple(self.point(p) for p in listed)


def paint_view(view: View) -> Iterator[Mark]:
    """Everything of a view on paper."""
    onto = Onto(1.0 / view.scale, view.origin)
    for item in view.items:
        yield from paint(item, onto)


def paint_sheet(sheet: Sheet) -> Iterator[Mark]:
    """Everything on a sheet."""
    for view in sheet.all_views:
        yield from paint_view(view)


def text_boxes(sheet: Sheet) -> tuple[tuple[str, Box], ...]:
    """Every text of a sheet and the room it takes on paper."""
    found = (mark for mark in paint_sheet(sheet) if isinstance(mark, Letters))
    return tuple((mark.text, mark.box) for mark in found)


def extent(items: Iterable[Item], scale: int) -> Box:
    """The room that items take on paper, mm, with the view's zero at the origin."""
    onto = Onto(1.0 / scale, (0.0, 0.0))
    return around(box for item in items for box in _boxes(item, onto))


def _boxes(item: Item, onto: Onto) -> Iterator[Box]:
    if isinstance(item, Segments):  # may be hundreds, and their bounds are known
        left, bottom, right, top = (edge * onto.factor for edge in item.bounds)
        yield Box(left, bottom, right, top)
        return
    for mark in paint(item, onto):
        yield mark_box(mark)


def mark_box(mark: Mark) -> Box:
    """The room of one mark."""
    if isinstance(mark, Letters):
        return mark.box
    if isinstance(mark, Ring):
        (x, y), r = mark.centre, mark.radius
        return Box(x - r, y - r, x + r, y + r)
    return _box(mark.points)


def _box(points: Iterable[Point]) -> Box:
    us, vs = zip(*points, strict=True)
    return Box(min(us), min(vs), max(us), max(vs))


@singledispatch
def paint(item: Item, onto: Onto) -> Iterator[Mark]:
    """The marks of one primitive."""
    raise TypeError(f"nothing draws {type(item).__name__}")


@paint.register
def _(item: Polyline, onto: Onto) -> Iterator[Mark]:
    yield Stroke(onto.points(item.points), item.layer, item.closed)


@paint.register
def _(item: Segments, onto: Onto) -> Iterator[Mark]:
    for line in item.lines:
        yield Stroke(onto.points(line), item.layer)


@paint.register
def _(item: Circle, onto: Onto) -> Iterator[Mark]:
    yield Ring(onto.point(item.centre), item.radius_mm * onto.factor, item.layer)


@paint.register
def _(item: Pointer, onto: Onto) -> Iterator[Mark]:
    yield arrow(onto.point(item.tip), item.angle, item.size_mm, item.size_mm / 3.0, Layer.MARK)


@paint.register
def _(item: Cross, onto: Onto) -> Iterator[Mark]:
    (u, v), h = onto.point(item.centre), item.size_mm / 2.0
    yield Stroke(((u - h, v), (u + h, v)), item.layer)
    yield Stroke(((u, v - h), (u, v + h)), item.layer)


@paint.register
def _(item: Words, onto: Onto) -> Iterator[Mark]:
    u, v = onto.point(item.at)
    angle = math.radians(item.angle)
    at = (u - math.sin(angle) * item.raised_mm, v + math.cos(angle) * item.raised_mm)
    yield Letters(item.text, at, item.height_mm, item.along, item.angle)


@paint.register
def _(item: Balloon, onto: Onto) -> Iterator[Mark]:
    (u, v), (x, y) = onto.point(item.centre), onto.point(item.target)
    away = math.hypot(x - u, y - v)
    if away > item.radius_mm:
        share = item.radius_mm / away
        yield Stroke(((u + (x - u) * share, v + (y - v) * share), (x, y)), Layer.TEXT)
        yield Blot(_dot((x, y), 0.45), Layer.TEXT)
    yield Ring((u, v), item.radius_mm, Layer.TEXT)
    yield Letters(item.text, (u, v - LETTER_MM / 2.0), LETTER_MM, "middle", 0.0)


@paint.register
def _(item: Hatch, onto: Onto) -> Iterator[Mark]:
    for line in hatch_lines(item, onto):
        yield Stroke(line, Layer.HATCH)


@paint.register
def _(item: Dimension, onto: Onto) -> Iterator[Mark]:
    turn = _swapped if item.upright else _kept
    origin = turn(onto.origin)
    a, b = (turn(onto.point(p)) for p in (item.start, item.end))
    line = item.line * onto.factor + origin[1]
    middle = item.text_at * onto.factor + origin[0]
    for along, from_ in (a, b):
        side = math.copysign(1.0, line - from_)
        if abs(line - from_) > OFF_MM:
            ends = ((along, from_ + side * OFF_MM), (along, line + side * PAST_MM))
            yield Stroke(tuple(turn(p) for p in ends), Layer.DIMENSION)
    yield from _dimension_line(item, sorted((a[0], b[0])), line, middle)
    at = turn((middle, line + (-OVER_MM if item.upright else OVER_MM)))
    yield Letters(item.printed, at, LETTER_MM, "middle", 90.0 if item.upright else 0.0)


def _dimension_line(
    item: Dimension, ends: list[float], line: float, middle: float
) -> Iterator[Mark]:
    """The line and its two arrows; `ends`, `line` and `middle` are on paper, along and across."""
    turn = _swapped if item.upright else _kept
    low, high = ends
    if not item.outside:
        spans = [(low, high)]
    else:
        half = text_width(item.printed, LETTER_MM) / 2.0
        spans = [
            (min(low - TAIL_MM, middle - half), low) if middle < low else (low - TAIL_MM, low),
            (high, max(high + TAIL_MM, middle + half)) if middle > high else (high, high + TAIL_MM),
            (low, high),
        ]
    for one, two in spans:
        yield Stroke((turn((one, line)), turn((two, line))), Layer.DIMENSION)
    back = 180.0 if item.outside else 0.0
    for end, way in ((low, 180.0), (high, 0.0)):
        angle = way + back
        yield arrow(
            turn((end, line)),
            90.0 - angle if item.upright else angle,
            ARROW_MM,
            ARROW_HALF_MM,
            Layer.DIMENSION,
        )


def _kept(p: Point) -> Point:
    return p


def _swapped(p: Point) -> Point:
    return (p[1], p[0])


@paint.register
def _(item: Ordinate, onto: Onto) -> Iterator[Mark]:
    start, foot = onto.point(item.feature), onto.point(item.foot)
    side = -1.0 if item.below else 1.0
    knees = [onto.point((0.0, v))[1] for v in item.knee]
    path = [(start[0], start[1] + side * OFF_MM), (start[0], knees[0]), (foot[0], knees[1]), foot]
    yield Stroke(tuple(dict.fromkeys(path)), Layer.DIMENSION)
    along: Edge = "end" if item.below else "start"
    at = (foot[0] + LETTER_MM / 2.0, foot[1] + side * OVER_MM)
    yield Letters(item.number, at, LETTER_MM, along, 90.0)


def arrow(tip: Point, angle: float, length: float, half: float, layer: Layer) -> Blot:
    """A filled triangle whose tip points along `angle` degrees."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    back = (tip[0] - c * length, tip[1] - s * length)
    return Blot(
        (tip, (back[0] - s * half, back[1] + c * half), (back[0] + s * half, back[1] - c * half)),
        layer,
    )


def _dot(centre: Point, radius: float) -> tuple[Point, ...]:
    turns = [math.radians(30.0 * i) for i in range(12)]
    return tuple(
        (centre[0] + radius * math.cos(t), centre[1] + radius * math.sin(t)) for t in turns
    )


def hatch_lines(item: Hatch, onto: Onto) -> Iterator[tuple[Point, Point]]:
    """The hatch's lines on paper: parallel lines cut by the outlines, inside by even and odd."""
    c, s = math.cos(math.radians(item.angle)), math.sin(math.radians(item.angle))
    rings = [
        [(u * c + v * s, v * c - u * s) for u, v in onto.points(ring)]
        for ring in (item.outer, *item.holes)
    ]
    heights = [q for ring in rings for _, q in ring]
    at = math.floor(min(heights) / item.step_mm) * item.step_mm + item.step_mm / 2.0
    while at < max(heights):
        hits = sorted(_hits(rings, at))
        for low, high in zip(hits[::2], hits[1::2], strict=False):
            yield (low * c - at * s, low * s + at * c), (high * c - at * s, high * s + at * c)
        at += item.step_mm


def _hits(rings: list[list[Point]], at: float) -> Iterator[float]:
    for ring in rings:
        for (p1, q1), (p2, q2) in zip(ring, ring[1:] + ring[:1], strict=True):
            if (q1 > at) != (q2 > at):
                yield p1 + (p2 - p1) * (at - q1) / (q2 - q1)
