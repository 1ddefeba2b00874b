"""What a search works on: its budget, and in flat arrays its pairs of pieces and open nodes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.transform import FloatArray
from rigmodel.clearance.limbs import BoolArray
from rigmodel.clearance.supports import IntArray


@dataclass(frozen=True)
class Budget:
    """How many engine calls a search may spend.

    Attributes:
        per_pair: on any one pair of bodies.
        refine: on a pair already known to fall short of its limit, so that its value is only
            worked out more closely.
        total: on all of them together.
    """

    per_pair: int = 4000
    refine: int = 250
    total: int = 400_000


@dataclass(frozen=True, eq=False)
class PiecePairs:
    """Pairs of pieces to be searched.

    Attributes:
        limbs: numbers of the two limbs, shape (n, 2).
        owner: pair of bodies each belongs to, shape (n,).
        low: lower bound known beforehand, mm, shape (n,).
    """

    limbs: IntArray
    owner: IntArray
    low: FloatArray

    def with_more(self, limbs: IntArray, owner: IntArray, low: FloatArray) -> PiecePairs:
        """These and others."""
        return PiecePairs(
            np.concatenate((self.limbs, limbs)),
            np.concatenate((self.owner, owner)),
            np.concatenate((self.low, low)),
        )


@dataclass(frozen=True, eq=False)
class Evaluation:
    """Engine answers: value, certified direction and points, axes of the common top."""

    value: FloatArray
    normal: FloatArray
    point_a: FloatArray
    point_b: FloatArray


@dataclass(eq=False)
class Nodes:
    """Open nodes of a search: pairs of pieces, each with a box of joint values.

    Attributes:
        piece_pair: which pair of pieces, shape (n,).
        centre: middle of the box for both limbs, shape (n, 2, c).
        half: its half-widths, shape (n, 2, c).
        low: proven lower bound of the clearance in it, mm, shape (n,).
        normal: direction last certified, axes of the common top, shape (n, 3).
    """

    piece_pair: IntArray
    centre: FloatArray
    half: FloatArray
    low: FloatArray
    normal: FloatArray

    def only(self, kept: BoolArray | IntArray) -> Nodes:
        """Some of them."""
        return Nodes(
            self.piece_pair[kept],
            self.centre[kept],
            self.half[kept],
            self.low[kept],
            self.normal[kept],
        )


def halved(nodes: Nodes, moves: FloatArray) -> Nodes:
    """Both halves of every node, cut where a joint's half-width times `moves` (n, 2 c) is most."""
    half = nodes.half.reshape(moves.shape).copy()
    at, widest = np.arange(len(half)), (moves * half).argmax(axis=1)
    half[at, widest] /= 2.0
    step = np.zeros_like(half)
    step[at, widest] = half[at, widest]
    half, step = half.reshape(nodes.half.shape), step.reshape(nodes.half.shape)
    centre = nodes.centre
    first = Nodes(nodes.piece_pair, centre - step, half, nodes.low, nodes.normal)
    return joined(first, Nodes(nodes.piece_pair, centre + step, half, nodes.low, nodes.normal))


def joined(one: Nodes, other: Nodes) -> Nodes:
    """Two lots of nodes as one."""
    return Nodes(
        np.concatenate((one.piece_pair, other.piece_pair)),
        np.concatenate((one.centre, other.centre)),
        np.concatenate((one.half, other.half)),
        np.concatenate((one.low, other.low)),
        np.concatenate((one.normal, other.normal)),
    )


def checked_pairs(pairs: ArrayLike, limits: float | ArrayLike) -> tuple[IntArray, FloatArray]:
    """Numbers of bodies (k, 2) and a limit for each pair (k,), mm.

    Raises:
        ValueError: the shapes do not fit, a limit is no number, or a pair is one body.
    """
    numbers = np.asarray(pairs, dtype=np.int64).reshape(-1, 2)
    wanted = np.asarray(limits, dtype=np.float64)
    if wanted.ndim and wanted.shape != (len(numbers),):
        raise ValueError(f"{len(numbers)} pairs need as many limits, not {wanted.shape}")
    if np.isnan(wanted).any() or (wanted == -np.inf).any():
        raise ValueError("a limit must be a number of mm, or infinite to work out the value")
    if (numbers[:, 0] == numbers[:, 1]).any():
        raise ValueError("a pair must be of two bodies")
    return numbers, np.broadcast_to(wanted, len(numbers)).copy()


def least_places(values: FloatArray, count: int) -> IntArray:
    """Places of the least values, in no order."""
    if len(values) <= count:
        return np.arange(len(values))
    places: IntArray = np.argpartition(values, count)[:count]
    return places
