"""Finds room for labels: near what they name, off what is drawn, never on one another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from meshes_generic.mesh import Mesh, merge
from meshes_generic.transform import FloatArray
from rigmodel.view.camera import project
from rigmodel.view.picture import Area, Camera, Label, Pixel
from rigmodel.view.raster import covered
from rigmodel.view.text import text_width

CELL = 6.0  # pixels
_TURNS = tuple(math.radians(a) for a in (90, 60, 120, 30, 150, 0, 180, -30, -150, -60, -120, -90))
_RINGS = (26, 40, 58, 80, 106, 136, 170, 210, 256, 310, 372)
_GAP = 5.0
_PAD = 4.0
_BUSY_COST = 280.0
_CROSS_COST = 160.0


@dataclass(frozen=True)
class Wanted:
    """A text to find room for.

    Attributes:
        text: what it says.
        anchor: the point it names, pixels.
        size: pixels.
        colour: ``#rrggbb``.
        bold: whether it is heavy.
    """

    text: str
    anchor: Pixel
    size: float
    colour: str
    bold: bool = False


def busy_cells(camera: Camera, area: Area, meshes: Sequence[Mesh]) -> FloatArray:
    """Where a panel is covered: 1.0 or 0.0 for each cell of `CELL` pixels, rows from below."""
    whole = merge(meshes)
    flat = (project(camera, area, whole.vertices) - (area.left, area.low)) / CELL
    rows, columns = (math.ceil(size / CELL) + 1 for size in (area.height, area.width))
    return covered(flat[whole.faces], rows, columns)


@dataclass
class Placer:
    """Places labels one after the other; the first ones get the best places.

    Attributes:
        area: where labels may lie.
        origin: lower left corner of the cells.
        busy: see `busy_cells`.
        marks: boxes that no label may lie on.
        taken: boxes of labels, which no other label and no leader may touch.
        leaders: strokes already drawn.
    """

    area: Area
    origin: Pixel
    busy: FloatArray
    marks: list[Area] = field(default_factory=list)
    taken: list[Area] = field(default_factory=list)
    leaders: list[tuple[Pixel, Pixel]] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Sums the cells up, so that any box is added in four look-ups."""
        self._sums = np.zeros((self.busy.shape[0] + 1, self.busy.shape[1] + 1))
        self._sums[1:, 1:] = self.busy.cumsum(axis=0).cumsum(axis=1)

    def place(self, wanted: Wanted) -> Label | None:
        """The label in the best place left, or None where there is none near it."""
        width = text_width(wanted.text, wanted.size) + 2 * _PAD
        height = 1.35 * wanted.size + _PAD
        scale = wanted.size / 16.0
        best: tuple[float, Area] | None = None
        for ring in _RINGS:
            if best is not None and best[0] <= ring * scale * 0.5:
                break
            for k, turn in enumerate(_TURNS):
                box = _box_at(wanted.anchor, ring * scale, turn, width, height)
                cost = self._cost(box, wanted.anchor, ring * scale)
                if cost is not None and (best is None or cost + k < best[0]):
                    best = (cost + k, box)
        if best is None:
            return None
        box = best[1]
        self.taken.append(box)
        self.leaders.append((wanted.anchor, leader_end(box, wanted.anchor)))
        return Label(wanted.text, wanted.anchor, box, wanted.size, wanted.colour, wanted.bold)

    def _cost(self, box: Area, anchor: Pixel, distance: float) -> float | None:
        if not self.area.holds(box):
            return None
        if any(box.overlaps(other, _GAP) for other in (*self.taken, *self.marks)):
            return None
        leader = (anchor, leader_end(box, anchor))
        if any(crosses_box(leader, other) for other in self.taken):
            return None
        if any(crosses_box(other, box) for other in self.leaders):
            return None
        crossings = sum(_cross(leader, other) for other in self.leaders)
        return distance + _BUSY_COST * self._busy_share(box) + _CROSS_COST * crossings

    def _busy_share(self, box: Area) -> float:
        rows, columns = self.busy.shape
        x0 = min(max(int((box.left - self.origin[0]) / CELL), 0), columns)
        x1 = min(max(math.ceil((box.right - self.origin[0]) / CELL), x0), columns)
        y0 = min(max(int((box.low - self.origin[1]) / CELL), 0), rows)
        y1 = min(max(math.ceil((box.high - self.origin[1]) / CELL), y0), rows)
        cells = (x1 - x0) * (y1 - y0)
        s = self._sums
        return float(s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0]) / cells if cells else 0.0


def _box_at(anchor: Pixel, distance: float, turn: float, width: float, height: float) -> Area:
    """A box whose nearest edge is `distance` from the anchor in a direction."""
    c, s = math.cos(turn), math.sin(turn)
    x = anchor[0] + c * distance + (c * width / 2.0 if abs(c) > 0.3 else 0.0)
    y = anchor[1] + s * distance + (s * height / 2.0 if abs(s) > 0.3 else 0.0)
    return Area(x - width / 2.0, y - height / 2.0, width, height)


def leader_end(box: Area, anchor: Pixel) -> Pixel:
    """The point of a box nearest to the anchor."""
    return (
        min(max(anchor[0], box.left), box.right),
        min(max(anchor[1], box.low), box.high),
    )


def crosses_box(stroke: tuple[Pixel, Pixel], box: Area) -> bool:
    """Whether a stroke touches a box (slab test)."""
    (x0, y0), (x1, y1) = stroke
    enter, leave = 0.0, 1.0
    for start, step, low, high in (
        (x0, x1 - x0, box.left, box.right),
        (y0, y1 - y0, box.low, box.high),
    ):
        if abs(step) < 1e-9:
            if not low <= start <= high:
                return False
            continue
        first, second = sorted(((low - start) / step, (high - start) / step))
        enter, leave = max(enter, first), min(leave, second)
    return enter <= leave


def _cross(one: tuple[Pixel, Pixel], other: tuple[Pixel, Pixel]) -> bool:
    def side(a: Pixel, b: Pixel, c: Pixel) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, other
    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0
