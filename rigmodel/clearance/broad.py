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
    """Pieces of bodies in flat arrays.

    Attributes:
        bodies: the bodies.
        shapes: their shapes by number.
        links: link of each body, shape (n,).
        start: first piece of each body, and the number of pieces at the end, shape (n + 1,).
        placements: placement of each piece in its link, shape (pieces, 4, 4).
        numbers: number of each piece's shape, shape (pieces,).
    """

    def __init__(self, linkage: Linkage, bodies: Sequence[Body]) -> None:
        self.bodies = tuple(bodies)
        pieces = [piece for body in bodies for piece in body.solid.pieces]
        counts = np.array([len(body.solid.pieces) for body in bodies], dtype=np.int64)
        frames = np.array([body.frame for body in bodies], dtype=np.int64)
        known: dict[Shape, int] = {}
        self.numbers = np.array([known.setdefault(p.shape, len(known)) for p in pieces])
        self.shapes = ShapeTable(tuple(known))
        self.links = linkage.link_of_frame[frames]
        self.start = np.concatenate((np.zeros(1, dtype=np.int64), np.cumsum(counts)))
        own = np.array([piece.placement for piece in pieces]).reshape(-1, 4, 4)
        self.placements = np.repeat(linkage.in_link[frames], counts, axis=0) @ own


class Stage:
    """Limbs for pairs of bodies, each seen from the deepest link that carries both.

    Joints above that link move both alike and do not count.

    Args:
        linkage: the compiled mechanism.
        table: the bodies.
        pairs: pairs of body numbers, shape (k, 2).

    Attributes:
        limbs: every limb that is needed.
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
        self._first = np.concatenate((np.zeros(1, dtype=np.int64), np.cumsum(counts)))
        pieces = _spread(table.start[bodies], counts)
        self._pieces = pieces
        self.limbs = LimbTable(
            linkage,
            table.shapes,
            np.repeat(table.links[bodies], counts),
            np.repeat(body_tops, counts),
            table.placements[pieces],
            table.numbers[pieces],
        )
        self._boxes = self.limbs.boxes(np.arange(len(pieces)))
        if len(bodies):
            low = np.minimum.reduceat(self._boxes[:, 0], self._first[:-1])
            high = np.maximum.reduceat(self._boxes[:, 1], self._first[:-1])
        else:
            low = high = np.empty((0, 3))
        a, b = self._groups[:, 0], self._groups[:, 1]
        self.low = _gaps(low[a], high[a], low[b], high[b])

    def piece_pairs(self, chosen: IntArray) -> tuple[IntArray, IntArray, FloatArray]:
        """All pairs of pieces of some pairs of bodies.

        Args:
            chosen: numbers of pairs of bodies, shape (m,).

        Returns:
            Limbs (n, 2), the place in `chosen` (n,), and lower bounds from the boxes (n,).
        """
        groups = self._groups[chosen]
        sizes = np.diff(self._first)[groups]
        counts = sizes[:, 0] * sizes[:, 1]
        owner = np.repeat(np.arange(len(chosen)), counts)
        within = _spread(np.zeros(len(chosen), dtype=np.int64), counts)
        across = sizes[owner, 1]
        a = self._first[groups[owner, 0]] + within // across
        b = self._first[groups[owner, 1]] + within % across
        boxes = self._boxes
        low = _gaps(boxes[a, 0], boxes[a, 1], boxes[b, 0], boxes[b, 1])
        return np.column_stack((a, b)), owner, low

    def piece_of(self, limb: int) -> int:
        """Number of the piece a limb ends in, counted within its body."""
        piece = int(self._pieces[limb])
        body = int(np.searchsorted(self._table.start, piece, side="right")) - 1
        return piece - int(self._table.start[body])


def _spread(starts: IntArray, counts: IntArray) -> IntArray:
    """start, start + 1, ... for each start, `count` of them."""
    ends = np.cumsum(counts)
    total = int(ends[-1]) if len(ends) else 0
    return np.repeat(starts - ends + counts, counts) + np.arange(total)


def _gaps(
    low_a: FloatArray, high_a: FloatArray, low_b: FloatArray, high_b: FloatArray
) -> FloatArray:
    """Signed distance (n,) of axis-parallel boxes (n, 3): diagonal apart, least depth within."""
    along = np.maximum(low_b - high_a, low_a - high_b)
    most = along.max(axis=1, initial=-np.inf)
    apart = np.maximum(along, 0.0)
    gaps: FloatArray = np.where(most > 0.0, np.sqrt((apart * apart).sum(axis=1)), most)
    return gaps
