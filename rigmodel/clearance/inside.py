"""What lies inside the closed surface of a body: a hit, though no surfaces cross.

While two surfaces stay apart, what is inside stays inside and what is outside stays outside. So
where surfaces are proven apart over a whole motion, one pose decides for all of it. One point of
each connected piece is asked; how deep it lies is at least how deep the bodies are in each other,
for every slide that frees them must bring that point out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from meshes_generic.shapes import ClosedSurface, Hull
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, Transform, apply, inverse


@dataclass(frozen=True, eq=False)
class Inside:
    """The deepest point of one body found inside the other.

    Attributes:
        depth_mm: its distance from the surface it lies in.
        direction: unit vector (3,) along which B would have to go for it, world axes.
        point_a: point (3,) of A: the deepest, or the nearest of the surface.
        point_b: the same of B.
        pieces: the pieces of A and of B that the two points belong to.
    """

    depth_mm: float
    direction: FloatArray
    point_a: FloatArray
    point_b: FloatArray
    pieces: tuple[Piece, Piece]


def inside(solid_a: Solid, pose_a: Transform, solid_b: Solid, pose_b: Transform) -> Inside | None:
    """The deepest point found of one body inside a closed surface of the other, or None.

    Args:
        solid_a: one body.
        pose_a: its (4, 4) placement.
        solid_b: the other body.
        pose_b: its (4, 4) placement.
    """
    found = [
        *_within(solid_a, pose_a, solid_b, pose_b),
        *(_swapped(one) for one in _within(solid_b, pose_b, solid_a, pose_a)),
    ]
    return max(found, key=lambda one: one.depth_mm, default=None)


def _within(
    outer: Solid, outer_pose: Transform, inner: Solid, inner_pose: Transform
) -> Iterator[Inside]:
    """For each piece of the inner body that lies in a surface of the outer: its deepest point."""
    for around in outer.pieces:
        if not isinstance(around.shape, ClosedSurface):
            continue
        place = outer_pose @ around.placement
        back = inverse(place)
        bounds = around.shape.vertices.min(axis=0), around.shape.vertices.max(axis=0)
        for piece in inner.pieces:
            points = apply(back @ inner_pose @ piece.placement, _probes(piece))
            near = ((points > bounds[0]) & (points < bounds[1])).all(axis=1)
            points = points[near]
            points = points[around.shape.contains(points)]
            if not len(points):
                continue
            depths, nearest = around.shape.distances(points)
            k = int(depths.argmax())
            way = nearest[k] - points[k]
            size = float(np.linalg.norm(way))
            unit = place[:3, :3] @ (way / size if size > 0.0 else np.array((0.0, 0.0, 1.0)))
            surface, deep = apply(place, np.array((nearest[k], points[k])))
            yield Inside(float(depths[k]), unit, surface, deep, (around, piece))


def _swapped(found: Inside) -> Inside:
    """The same with A and B exchanged."""
    a, b = found.pieces
    return Inside(found.depth_mm, -found.direction, found.point_b, found.point_a, (b, a))


def _probes(piece: Piece) -> FloatArray:
    """A point of each connected part of a piece, in its own axes, shape (n, 3), mm."""
    shape = piece.shape
    if isinstance(shape, ClosedSurface):
        return shape.shell_points
    if isinstance(shape, Hull):
        middle: FloatArray = shape.vertices.mean(axis=0)[None]
        return middle
    return np.zeros((1, 3))  # all others are centred on their origin
