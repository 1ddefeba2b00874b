"""A picture as plain data: surfaces, lines, cameras, and what is written over them.

Lengths in space are mm in world axes (x forward, y left, z up). Places on the picture are pixels
from its lower left corner, y up.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from meshes_generic.mesh import Mesh
from meshes_generic.transform import FloatArray
from rigmodel.view.edges import EdgeTable

Pixel = tuple[float, float]


@dataclass(frozen=True)
class Style:
    """How a surface looks.

    Attributes:
        colour: ``#rrggbb``.
        opacity: 0 to 1.
        gloss: 0 (dull) to 1 (polished).
        edge: colour of its outline and creases, or an empty string for none.
        edge_width: pixels.
    """

    colour: str
    opacity: float = 1.0
    gloss: float = 0.0
    edge: str = ""
    edge_width: float = 1.0


@dataclass(frozen=True, eq=False)
class Surface:
    """A mesh in world axes and how it looks.

    Attributes:
        name: what it is.
        mesh: mm.
        style: how it looks.
        shade: brightness of each vertex, shape (v,), 0 to 1; None where it is 1 all over.
    """

    name: str
    mesh: Mesh
    style: Style
    shade: FloatArray | None = None


@dataclass(frozen=True, eq=False)
class Lines:
    """Straight strokes in space.

    Attributes:
        name: what they are.
        ends: shape (n, 2, 3), mm.
        colour: ``#rrggbb``.
        width: pixels.
        opacity: 0 to 1.
    """

    name: str
    ends: FloatArray
    colour: str
    width: float = 1.0
    opacity: float = 1.0


@dataclass(frozen=True)
class Area:
    """An upright rectangle on the picture, pixels."""

    left: float
    low: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.left + self.width

    @property
    def high(self) -> float:
        """Its upper edge."""
        return self.low + self.height

    def overlaps(self, other: Area, gap: float = 0.0) -> bool:
        """Whether the two come nearer than `gap` pixels to each other."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.low < other.high + gap
            and other.low < self.high + gap
        )

    def holds(self, other: Area) -> bool:
        """Whether `other` lies wholly inside."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.low <= other.low
            and other.high <= self.high
        )

    def shrunk(self, left: float, low: float, right: float, high: float) -> Area:
        """The area without these margins."""
        return Area(
            self.left + left, self.low + low, self.width - left - right, self.height - low - high
        )


@dataclass(frozen=True)
class Fill:
    """A filled convex polygon on the picture."""

    points: tuple[Pixel, ...]
    colour: str
    opacity: float = 1.0


class Align(StrEnum):
    """Which side of a text its place is."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


@dataclass(frozen=True)
class Words:
    """One line of text on the picture; `at` is at half its height.

    Attributes:
        text: what it says.
        at: its place, pixels.
        size: height of the letters' body, pixels.
        colour: ``#rrggbb``.
        bold: whether it is heavy.
        align: which of its sides `at` is on.
    """

    text: str
    at: Pixel
    size: float
    colour: str
    bold: bool = False
    align: Align = Align.LEFT


Drawn = Fill | Words


class Shape(StrEnum):
    """Shape of a mark: how a fail is told from an advise without colour."""

    DIAMOND = "diamond"
    RING = "ring"


@dataclass(frozen=True)
class Mark:
    """A finding on the picture.

    Attributes:
        shape: diamond for a fail, ring for an advise.
        ends: the nearest points, pixels; one or two.
        text: the number.
        finding: its place in the findings.
    """

    shape: Shape
    ends: tuple[Pixel, ...]
    text: str
    finding: int


@dataclass(frozen=True)
class Label:
    """A text beside what it names.

    Attributes:
        text: what it says.
        anchor: the point it names, pixels.
        box: room it takes up.
        size: height of its letters' body, pixels.
        colour: ``#rrggbb``.
        bold: whether it is heavy.
    """

    text: str
    anchor: Pixel
    box: Area
    size: float
    colour: str
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Camera:
    """A camera without perspective.

    Attributes:
        toward: unit vector (3,) from the scene to the eye.
        up: unit vector (3,) that points up on the picture.
        centre: point (3,) in the middle of the panel, mm.
        half_height: half of the panel's height, mm.
    """

    toward: FloatArray
    up: FloatArray
    centre: FloatArray
    half_height: float


@dataclass(frozen=True, eq=False)
class Panel:
    """One view in its part of the picture.

    Attributes:
        title: what the view is.
        area: its part of the picture, whole pixels.
        camera: where it is seen from.
        surfaces: in drawing order; those that show through come last, farthest first.
        lines: strokes in space.
        labels: texts beside what they name.
        marks: findings.
    """

    title: str
    area: Area
    camera: Camera
    surfaces: tuple[Surface, ...]
    lines: tuple[Lines, ...]
    labels: tuple[Label, ...] = ()
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, eq=False)
class Picture:
    """All that is needed to draw one picture.

    Attributes:
        width: pixels.
        height: pixels.
        background: ``#rrggbb``.
        panels: one view, or four.
        overlay: fills and words, later ones over earlier ones.
    """

    width: int
    height: int
    background: str
    panels: tuple[Panel, ...]
    overlay: tuple[Drawn, ...]


@dataclass(frozen=True, eq=False)
class Mover:
    """What moves as one and looks alike.

    Attributes:
        surface: at work, or None where there are strokes only.
        edges: its edge table at work, or None.
        strokes: lines on it at work, or None.
        ways: world transforms from work to each pose, (poses, 4, 4).
    """

    surface: Surface | None
    edges: EdgeTable | None
    strokes: Lines | None
    ways: FloatArray


@dataclass(frozen=True, eq=False)
class Film:
    """All that is needed to draw a moving picture.

    Attributes:
        still: what stands still, in one panel, and what is always written over it.
        movers: what moves.
        notes: what is written over each pose.
        order: index of the pose of each picture of the loop.
        pause_ms: time between two pictures.
    """

    still: Picture
    movers: tuple[Mover, ...]
    notes: tuple[tuple[Drawn, ...], ...]
    order: tuple[int, ...]
    pause_ms: int
