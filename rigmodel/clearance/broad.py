"""Bodies, and the boxes that they cannot leave: most pairs of a rig are settled by these alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from meshes_generic.shapes import Shape
from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Mechanism
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.limbs import LimbTable
from rigmodel.clearance.pieces import Covers, PieceTree, piece_tree, spread
from rigmodel.clearance.supports import IntArray, ShapeTable


@dataclass(frozen=True, eq=False)
class Body:
    """What is checked as one thing: a part, or some of its pieces.

    Attributes:
        name: stable name.
        frame: index of the frame that carries it.
        solid: its solid, placed in that frame, mm.
    """

    name: str
    frame: int
    solid: Solid


def bodies_of(mechanism: Mechanism) -> tuple[Body, ...]:
    """One body for each part, in the same order."""
    return tuple(Body(part.name, part.frame, part.solid) for part in mechanism.parts)


class BodyTable:
    """Pieces of bodies in flat arrays; those of a surface with boxes over them (`pieces`).

    Attributes:
        bodies: the bodies.
        shapes: their shapes by number.
        links: link of each body, shape (n,).
        start: first piece of each body, and the number of pieces at the end, shape (n + 1,).
        placements: placement of each piece in its link, shape (pieces, 4, 4).
        numbers: number of each piece's shape, shape (pieces,).
        first: first child of each piece that is a box over others, else 0, shape (pieces,).
        count: number of its children, 0 for a true piece, shape (pieces,).
        roots: pieces that no box covers, body by body, shape (r,).
        root_start: first of each body's roots, and their number at the end, shape (n + 1,).
        surfaces: whether each body has a piece that is a surface, shape (n,).
    """

    def __init__(
        self, linkage: Linkage, bodies: Sequence[Body], trees: Sequence[PieceTree] | None = None
    ) -> None:
        self.bodies = tuple(bodies)
        trees = [piece_tree(body.solid) for body in bodies] if trees is None else trees
        counts = np.array([len(tree.shapes) for tree in trees], dtype=np.int64)
        frames = np.array([body.frame for body in bodies], dtype=np.int64)
        known: dict[Shape, int] = {}
        self.numbers = np.array(
            [known.setdefault(shape, len(known)) for tree in trees for shape in tree.shapes]
        )
        self.shapes = ShapeTable(tuple(known))
        self.start = _starts(counts)
        self.links = linkage.link_of_frame[frames]
        own = np.concatenate([np.empty((0, 4, 4)), *(tree.placements for tree in trees)])
        self.placements = np.repeat(linkage.in_link[frames], counts, axis=0) @ own
        none = np.zeros(0, dtype=np.int64)
        self.count = np.concatenate([none, *(tree.count for tree in trees)])
        base = np.repeat(self.start[:-1], counts)
        self.first = np.concatenate([none, *(tree.first for tree in trees)]) + base * (
            self.count > 0
        )
        root_counts = np.array([len(tree.roots) for tree in trees], dtype=np.int64)
        self.root_start = _starts(root_counts)
        self.roots = np.concatenate([none, *(tree.roots for tree in trees)])
        self.roots += np.repeat(self.start[:-1], root_counts)
        self.surfaces = np.array([bool(tree.count.any()) for tree in trees], dtype=bool)
        self._trees = tuple(trees)

    def some_piece(self, body: int) -> int:
        """Number of a true piece of a body."""
        return int(np.flatnonzero(self._trees[body].count == 0)[0])


def root_boxes(linkage: Linkage, table: BodyTable, top: int) -> FloatArray:
    """Boxes that bodies never leave, in the axes of a link that carries all, (n, 2, 3), mm."""
    counts = np.diff(table.root_start)
    limbs = LimbTable(
        linkage,
        table.shapes,
        np.repeat(table.links, counts),
        np.full(len(table.roots), top, dtype=np.int64),
        table.placements[table.roots],
        table.numbers[table.roots],
    )
    boxes = limbs.boxes(np.arange(len(table.roots)))
    starts = table.root_start[:-1]
    low = np.minimum.reduceat(boxes[:, 0], starts)
    return np.stack((low, np.maximum.reduceat(boxes[:, 1], starts)), axis=1)


def box_gaps(boxes: FloatArray, pairs: IntArray, enough: FloatArray) -> FloatArray:
    """Lower bounds of clearances from boxes (n, 2, 3) that bodies never leave, shape (k,), mm.

    In every pose both bodies lie in their boxes, so no clearance is less than the gap. Joints that
    move both alike count here as if they moved each by itself, which a `Stage` does better; but
    one box for each body settles most of many pairs.

    Args:
        boxes: box of each body, all seen from one frame.
        pairs: pairs of them, shape (k, 2).
        enough: bounds from here on need not be the best, shape (k,).
    """
    a, b = pairs[:, 0], pairs[:, 1]
    # A rig is widest across: the gap along y alone settles most pairs.
    low, high = np.ascontiguousarray(boxes[:, 0, 1]), np.ascontiguousarray(boxes[:, 1, 1])
    gaps: FloatArray = np.maximum(low[b] - high[a], low[a] - high[b])
    near = np.flatnonzero(gaps < enough)
    one, other = boxes[a[near]], boxes[b[near]]
    gaps[near] = _gaps(one[:, 0], one[:, 1], other[:, 0], other[:, 1])
    return gaps


class Stage:
    """Limbs for pairs of bodies, each seen from the deepest link that carries both.

    Joints above that link move both alike and do not count.

    Args:
        linkage: the compiled mechanism.
        table: the bodies.
        pairs: pairs of body numbers, shape (k, 2).

    Attributes:
        limbs: every limb that is needed.
        covers: which of them end in a box over others.
        low: lower bound of each pair's clearance from the boxes, mm, shape (k,).
    """

    def __init__(self, linkage: Linkage, table: BodyTable, pairs: IntArray) -> None:
        self._table, self._pairs = table, pairs
        links = table.links[pairs]
        tops = linkage.meets[links[:, 0], links[:, 1]]
        needed = np.full((len(table.bodies), len(linkage.parent)), -1, dtype=np.int64)
        needed[pairs[:, 0], tops] = 0
        needed[pairs[:, 1], tops] = 0
        bodies, body_tops = np.nonzero(needed >= 0)
        needed[bodies, body_tops] = np.arange(len(bodies))
        self._groups = needed[pairs, tops[:, None]]
        counts = np.diff(table.start)[bodies]
        self._start = _starts(counts)
        pieces = spread(table.start[bodies], counts)
        self._pieces = pieces
        moved = np.repeat(self._start[:-1] - table.start[bodies], counts)
        self.covers = Covers(
            np.where(table.count[pieces] > 0, table.first[pieces] + moved, 0),
            table.count[pieces],
            np.where(table.count[pieces] > 0, table.shapes.radii[table.numbers[pieces]], 0.0),
        )
        self.limbs = LimbTable(
            linkage,
            table.shapes,
            np.repeat(table.links[bodies], counts),
            np.repeat(body_tops, counts),
            table.placements[pieces],
            table.numbers[pieces],
        )
        root_counts = np.diff(table.root_start)[bodies]
        self._first = _starts(root_counts)
        roots = table.roots[spread(table.root_start[bodies], root_counts)]
        self._roots = roots + np.repeat(self._start[:-1] - table.start[bodies], root_counts)
        self._boxes = self.limbs.boxes(self._roots)
        if len(bodies):
            low = np.minimum.reduceat(self._boxes[:, 0], self._first[:-1])
            high = np.maximum.reduceat(self._boxes[:, 1], self._first[:-1])
        else:
            low = high = np.empty((0, 3))
        a, b = self._groups[:, 0], self._groups[:, 1]
        self.low = _gaps(low[a], high[a], low[b], high[b])

    def piece_pairs(self, chosen: IntArray) -> tuple[IntArray, IntArray, FloatArray]:
        """All pairs of pieces of some pairs of bodies, a box standing for what it covers.

        Args:
            chosen: numbers of pairs of bodies, shape (m,).

        Returns:
            Limbs (n, 2), the place in `chosen` (n,), and lower bounds from the boxes (n,).
        """
        groups = self._groups[chosen]
        sizes = np.diff(self._first)[groups]
        counts = sizes[:, 0] * sizes[:, 1]
        owner = np.repeat(np.arange(len(chosen)), counts)
        within = spread(np.zeros(len(chosen), dtype=np.int64), counts)
        across = sizes[owner, 1]
        a = self._first[groups[owner, 0]] + within // across
        b = self._first[groups[owner, 1]] + within % across
        boxes = self._boxes
        low = _gaps(boxes[a, 0], boxes[a, 1], boxes[b, 0], boxes[b, 1])
        return self._roots[np.column_stack((a, b))], owner, low

    def some_limbs(self, k: int) -> IntArray:
        """A limb of each body of pair k, shape (2,): all limbs of a body move alike."""
        limbs: IntArray = self._start[self._groups[k]]
        return limbs

    def pieces_of(self, limbs: IntArray) -> IntArray:
        """Numbers of the pieces that limbs end in, counted within their bodies."""
        pieces = self._pieces[limbs]
        bodies = np.searchsorted(self._table.start, pieces, side="right") - 1
        found: IntArray = pieces - self._table.start[bodies]
        return found


def _starts(counts: IntArray) -> IntArray:
    """0, and the sums of the first 1, 2, ... counts."""
    return np.concatenate((np.zeros(1, dtype=np.int64), np.cumsum(counts)))


def _gaps(
    low_a: FloatArray, high_a: FloatArray, low_b: FloatArray, high_b: FloatArray
) -> FloatArray:
    """Signed distance (n,) of axis-parallel boxes (n, 3): diagonal apart, least depth within."""
    along = np.maximum(low_b - high_a, low_a - high_b)
    most = along.max(axis=1, initial=-np.inf)
    apart = np.maximum(along, 0.0)
    gaps: FloatArray = np.where(most > 0.0, np.sqrt((apart * apart).sum(axis=1)), most)
    return gaps
