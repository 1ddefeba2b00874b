"""The drawing's few words: lines, outlines, circles, texts, dimensions, hatches, on layers.

A primitive stands in a view's own axes, u to the right and v up, in mm of the real thing. Sizes
of letters and arrows, and gaps, are mm on paper. Angles are degrees, anticlockwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType
from typing import Literal

Point = tuple[float, float]
Edge = Literal["start", "middle", "end"]

# Letters by their height, ISO 3098 series; from memory.
SMALL_MM, LETTER_MM, TITLE_MM = 1.8, 2.5, 3.5


class Layer(StrEnum):
    """What a line is for."""

    FRAME = "frame"
    OUTLINE = "outline"
    ADJACENT = "adjacent"
    CENTRE = "centre"
    SOIL = "soil"
    MARK = "mark"
    HATCH = "hatch"
    DIMENSION = "dimension"
    TEXT = "text"
    TABLE = "table"


@dataclass(frozen=True)
class Pen:
    """How a layer is drawn.

    Attributes:
        weight_mm: width of its lines.
        dashes_mm: lengths of dash, gap, dash, gap …; empty for a continuous line.
        means: what the layer holds, for people.
    """

    weight_mm: float
    dashes_mm: tuple[float, ...] = ()
    means: str = ""


# Line group 0.35 of ISO 128: thick 0.35 and thin 0.18 mm. Dashes are multiples of the width: long
# dash 24, dash 12, gap 3, dot 1/2 (shown here as 1, or printers lose it). All from memory.
_THICK, _THIN = 0.35, 0.18
_LONG, _GAP, _DOT = 24 * _THIN, 3 * _THIN, 1 * _THIN
PENS: Mapping[Layer, Pen] = MappingProxyType(
    {
        Layer.FRAME: Pen(0.7, means="frame of the sheet"),
        Layer.OUTLINE: Pen(_THICK, means="visible edges"),
        Layer.ADJACENT: Pen(
            _THIN, (_LONG, _GAP, _DOT, _GAP, _DOT, _GAP), "things that are not of the rig"
        ),
        Layer.CENTRE: Pen(_THIN, (_LONG, _GAP, _DOT, _GAP), "centre lines and crop rows"),
        Layer.SOIL: Pen(_THICK, means="the soil"),
        Layer.MARK: Pen(_THICK, means="where to mark or drill"),
        Layer.HATCH: Pen(_THIN, means="cut faces, and stretches to keep free"),
        Layer.DIMENSION: Pen(_THIN, means="dimensions"),
        Layer.TEXT: Pen(_THIN, means="texts and leaders"),
        Layer.TABLE: Pen(_THIN, means="tables and title block"),
    }
)


@dataclass(frozen=True)
class Polyline:
    """Straight lines from point to point, closed or not.

    Attributes:
        points: at least two.
        layer: its layer.
        closed: whether the last point joins the first.
    """

    points: tuple[Point, ...]
    layer: Layer = Layer.OUTLINE
    closed: bool = False


@dataclass(frozen=True)
class Segments:
    """Many lines, such as the visible edges of a rig; at least one, each from point to point."""

    lines: tuple[tuple[Point, ...], ...]
    layer: Layer = Layer.OUTLINE

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least u and v, greatest u and v, mm of the real thing."""
        us = [u for line in self.lines for u, _ in line]
        vs = [v for line in self.lines for _, v in line]
        return min(us), min(vs), max(us), max(vs)


@dataclass(frozen=True)
class Circle:
    """A circle; `radius_mm` is of the real thing."""

    centre: Point
    radius_mm: float
    layer: Layer = Layer.OUTLINE


@dataclass(frozen=True)
class Balloon:
    """A number in a ring of fixed size on paper, with a leader to what it numbers.

    Attributes:
        text: the number.
        centre: middle of the ring.
        target: end of the leader, or the centre itself for none.
        radius_mm: of the ring, on paper.
    """

    text: str
    centre: Point
    target: Point
    radius_mm: float = 3.0


@dataclass(frozen=True)
class Pointer:
    """A filled triangle of fixed size on paper whose tip marks a point.

    Attributes:
        tip: the marked point.
        angle: direction the tip points in.
        size_mm: its length on paper.
    """

    tip: Point
    angle: float
    size_mm: float = 2.2


@dataclass(frozen=True)
class Cross:
    """A centre mark of fixed size on paper: two short lines."""

    centre: Point
    size_mm: float = 1.6
    layer: Layer = Layer.CENTRE


@dataclass(frozen=True)
class Words:
    """One line of text.

    Attributes:
        text: what it says.
        at: the end, middle or start of its base line.
        height_mm: height of a capital letter on paper.
        along: which place of the base line `at` is.
        angle: direction of reading.
        raised_mm: base line this far over `at`, on paper, square to the reading.
    """

    text: str
    at: Point
    height_mm: float = LETTER_MM
    along: Edge = "start"
    angle: float = 0.0
    raised_mm: float = 0.0


@dataclass(frozen=True)
class Dimension:
    """A linear dimension along u or v.

    Attributes:
        start: first feature.
        end: second feature.
        upright: measured along v; otherwise along u.
        line: place of the dimension line on the other axis.
        text: what is printed; where it holds `<>` the measurement stands.
        number: the measurement as printed.
        text_at: middle of the text along the measured axis.
        outside: arrows point in from outside, since there is no room between.
    """

    start: Point
    end: Point
    upright: bool
    line: float
    text: str
    number: str
    text_at: float
    outside: bool

    @property
    def measured_mm(self) -> float:
        """The distance it shows, mm of the real thing."""
        i = 1 if self.upright else 0
        return abs(self.end[i] - self.start[i])

    @property
    def printed(self) -> str:
        """The text with its number."""
        return self.text.replace("<>", self.number)


@dataclass(frozen=True)
class Ordinate:
    """A running dimension: distance along u from a common zero, at the end of a line.

    Attributes:
        feature: what is measured.
        origin: the common zero.
        knee: v at which the line may bend.
        foot: end of the line, where the text begins.
        number: the measurement as printed.
    """

    feature: Point
    origin: Point
    knee: tuple[float, float]
    foot: Point
    number: str

    @property
    def measured_mm(self) -> float:
        """The distance it shows, mm of the real thing."""
        return abs(self.feature[0] - self.origin[0])

    @property
    def below(self) -> bool:
        """Whether the text stands under the view."""
        return self.foot[1] < self.feature[1]


@dataclass(frozen=True)
class Hatch:
    """Slanting lines over a polygon with holes.

    Attributes:
        outer: its outline.
        holes: outlines left free.
        angle: slope of the lines.
        step_mm: distance between lines on paper.
    """

    outer: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()
    angle: float = 45.0
    step_mm: float = 1.6


Item = (
    Polyline | Segments | Circle | Balloon | Pointer | Cross | Words | Dimension | Ordinate | Hatch
)
