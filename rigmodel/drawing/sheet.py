"""Papers, scales, views and sheets."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from rigmodel.drawing.primitives import Item, Point
from rigmodel.units import Unit


class Paper(StrEnum):
    """A size of paper, always lying."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"
    TABLOID = "Tabloid"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height (ISO 216; ANSI/ASME Y14.1 for the inch sizes; from memory)."""
        return {
            Paper.A4: (297.0, 210.0),
            Paper.A3: (420.0, 297.0),
            Paper.LETTER: (279.4, 215.9),
            Paper.TABLOID: (431.8, 279.4),
        }[self]


PAPERS: tuple[str, ...] = tuple(paper.value for paper in Paper)


def usual_paper(unit: Unit) -> Paper:
    """The paper that suits a scene's unit."""
    return Paper.TABLOID if unit in (Unit.IN, Unit.FT) else Paper.A3


# Reduction scales of ISO 5455, and the usual ones between inches and feet; from memory.
_METRIC = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_INCH = (1, 2, 4, 8, 12, 16, 24, 32, 48, 64, 96, 192, 384, 768)


def scales(unit: Unit) -> tuple[int, ...]:
    """The standard scales 1:n of a unit, largest picture first."""
    return _INCH if unit in (Unit.IN, Unit.FT) else _METRIC


@dataclass(frozen=True)
class Box:
    """A rectangle, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Along u."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Along v."""
        return self.top - self.bottom

    def moved(self, u: float, v: float) -> Box:
        """The box shifted."""
        return Box(self.left + u, self.bottom + v, self.right + u, self.top + v)

    def overlaps(self, other: Box, by: float = 0.0) -> bool:
        """Whether the two share more than a strip of `by` mm."""
        return (
            min(self.right, other.right) - max(self.left, other.left) > by
            and min(self.top, other.top) - max(self.bottom, other.bottom) > by
        )

    def inside(self, other: Box, by: float = 1e-6) -> bool:
        """Whether it lies within the other."""
        return (
            self.left >= other.left - by
            and self.bottom >= other.bottom - by
            and self.right <= other.right + by
            and self.top <= other.top + by
        )


def around(boxes: Iterable[Box]) -> Box:
    """The smallest box round others; a point at the origin where there are none."""
    listed = list(boxes)
    if not listed:
        return Box(0.0, 0.0, 0.0, 0.0)
    return Box(
        min(b.left for b in listed),
        min(b.bottom for b in listed),
        max(b.right for b in listed),
        max(b.top for b in listed),
    )


@dataclass(frozen=True)
class View:
    """Something drawn at one scale.

    Attributes:
        name: what it shows.
        items: primitives in the view's own axes, mm of the real thing.
        scale: n of 1:n.
        origin: where the view's zero lies on the paper, mm from its lower left corner.
    """

    name: str
    items: tuple[Item, ...]
    scale: int
    origin: Point = (0.0, 0.0)

    def at(self, origin: Point) -> View:
        """The same view elsewhere on the paper."""
        return View(self.name, self.items, self.scale, origin)


@dataclass(frozen=True)
class Sheet:
    """One sheet of paper.

    Attributes:
        name: what it shows, such as ``The bar``.
        title: the scene's title.
        paper: its size.
        unit: unit of the numbers on it.
        number: counted from 1.
        views: what is drawn to scale.
        furniture: frame, title block, tables and notes, in mm on paper.
        stamp: what must be known of the rig before it is built, over everything drawn of it.
    """

    name: str
    title: str
    paper: Paper
    unit: Unit
    number: int
    views: tuple[View, ...]
    furniture: tuple[Item, ...]
    stamp: str = ""

    @property
    def all_views(self) -> tuple[View, ...]:
        """The views, and the furniture as one more at 1:1."""
        return (*self.views, View("sheet", self.furniture, 1))
