"""Solids taken apart into convex pieces, with boxes over the triangles of surfaces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from meshes_generic.shapes import ClosedSurface, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray
from rigmodel.clearance.supports import IntArray


@dataclass(frozen=True, eq=False)
class PieceTree:
    """Convex pieces of a solid, and boxes that cover some of them.

    A box is no part of the solid: it holds all that is under it, so it proves how near nothing is,
    and where that is not enough its children are looked at instead.

    Attributes:
        shapes: their shapes, none of them a surface.
        placements: their placements in the solid's axes, shape (n, 4, 4).
        first: first child of a box, 0 for a true piece, shape (n,).
        count: number of its children, 0 for a true piece, shape (n,).
        roots: those that no box covers, shape (r,).
        source: piece of the solid that each belongs to, shape (n,).
    """

    shapes: tuple[Shape, ...]
    placements: FloatArray
    first: IntArray
    count: IntArray
    roots: IntArray
    source: IntArray

    @property
    def has_surface(self) -> bool:
        """Whether any piece of the solid is a surface."""
        return bool(self.count.any())

    def piece(self, solid: Solid, number: int) -> Piece:
        """A convex piece, placed in the axes of the solid that this was made from."""
        whole = solid.pieces[int(self.source[number])]
        return Piece(self.shapes[number], self.placements[number], whole.material, whole.label)


@dataclass(frozen=True, eq=False)
class Covers:
    """Boxes over pieces, by number of the limb that each is the end of.

    Attributes:
        first: first child of a box, 0 for a true piece, shape (n,).
        count: number of its children, 0 for a true piece, shape (n,).
        radius: half the diagonal of a box, 0 for a true piece, mm, shape (n,).
    """

    first: IntArray
    count: IntArray
    radius: FloatArray

    def over(self, limbs: IntArray) -> FloatArray:
        """Radius of the larger box of each pair of limbs (n, 2), 0 for two true pieces, (n,)."""
        largest: FloatArray = self.radius[limbs].max(axis=1, initial=0.0)
        return largest

    def opened(self, limbs: IntArray) -> tuple[IntArray, IntArray]:
        """Pairs of limbs (n, 2), with the children of the larger box in its place.

        Returns:
            The place of each new pair's parent in `limbs`, shape (m,), and the pairs, (m, 2).
        """
        rows = np.arange(len(limbs))
        larger = self.radius[limbs].argmax(axis=1)
        boxes = limbs[rows, larger]
        parent = np.repeat(rows, self.count[boxes])
        pairs = limbs[parent]
        pairs[np.arange(len(parent)), larger[parent]] = spread(self.first[boxes], self.count[boxes])
        return parent, pairs


def spread(starts: IntArray, counts: IntArray) -> IntArray:
    """start, start + 1, ... for each start, `count` of them."""
    ends = np.cumsum(counts)
    total = int(ends[-1]) if len(ends) else 0
    return np.repeat(starts - ends + counts, counts) + np.arange(total)


def piece_tree(solid: Solid) -> PieceTree:
    """The solid's convex pieces; a surface's triangles under boxes."""
    if not any(isinstance(piece.shape, ClosedSurface) for piece in solid.pieces):
        every = np.arange(len(solid.pieces))
        none = np.zeros(len(every), dtype=np.int64)
        placements = np.array([piece.placement for piece in solid.pieces])
        shapes = tuple([piece.shape for piece in solid.pieces])
        return PieceTree(shapes, placements, none, none, every, every)
    return _surface_tree(solid)


def _surface_tree(solid: Solid) -> PieceTree:
    shapes: list[Shape] = []
    placements, first, count, roots, source = [], [], [], [], []
    for k, piece in enumerate(solid.pieces):
        start = len(shapes)
        roots.append(start)
        if isinstance(piece.shape, ClosedSurface):
            tree = piece.shape.covers
            shapes += tree.shapes
            placements.append(_placed(piece, tree.centres))
            first.append(np.where(tree.count > 0, tree.first + start, 0))
            count.append(tree.count)
        else:
            shapes.append(piece.shape)
            placements.append(piece.placement[None])
            first.append(np.zeros(1, dtype=np.int64))
            count.append(np.zeros(1, dtype=np.int64))
        source.append(np.full(len(shapes) - start, k))
    return PieceTree(
        tuple(shapes),
        np.concatenate(placements),
        np.concatenate(first),
        np.concatenate(count),
        np.array(roots),
        np.concatenate(source),
    )


def _placed(piece: Piece, centres: FloatArray) -> FloatArray:
    """Placements (n, 4, 4) of axes parallel to the piece's own, with their origins at points."""
    placements = np.tile(piece.placement, (len(centres), 1, 1))
    placements[:, :3, 3] += centres @ piece.placement[:3, :3].T
    return placements
