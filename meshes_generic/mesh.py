"""Closed triangle meshes, for drawing, export and for checking the closed forms.

A mesh is never what a clearance is measured on: the shapes' own exact support is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from meshes_generic.transform import FloatArray, Transform, apply, cos_sin, frozen

IntArray = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles that all face outwards.

    Attributes:
        vertices: corner points, shape (v, 3), mm.
        faces: three vertex indices each, counter-clockwise seen from outside, shape (f, 3).
    """

    vertices: FloatArray
    faces: IntArray

    def __post_init__(self) -> None:
        """Take the arrays over as read-only values."""
        object.__setattr__(self, "vertices", frozen(self.vertices))
        faces = np.array(self.faces, dtype=np.int64)
        faces.setflags(write=False)
        object.__setattr__(self, "faces", faces)

    def moved(self, placement: Transform) -> Mesh:
        """The mesh carried by a rigid placement (4, 4)."""
        return Mesh(apply(placement, self.vertices), self.faces)


def merge(meshes: Iterable[Mesh]) -> Mesh:
    """Several meshes side by side in one; touching surfaces are kept, not fused."""
    listed = tuple(meshes)
    if not listed:
        return Mesh(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))
    starts = np.cumsum([0] + [len(mesh.vertices) for mesh in listed[:-1]])
    return Mesh(
        np.concatenate([mesh.vertices for mesh in listed]),
        np.concatenate([mesh.faces + start for mesh, start in zip(listed, starts, strict=True)]),
    )


def circle(sides: int) -> FloatArray:
    """Points on the unit circle that include its four axis points, shape (sides, 2).

    Raises:
        ValueError: if `sides` is not a positive multiple of 4; only such a polygon has the same
            axis-aligned bounds as its circle.
    """
    if sides <= 0 or sides % 4:
        raise ValueError(f"sides must be a positive multiple of 4, not {sides}")
    return np.array([cos_sin(360.0 * k / sides) for k in range(sides)])


def revolve(outline: Sequence[tuple[float, float]], sides: int) -> Mesh:
    """A solid of revolution about z.

    Args:
        outline: (radius, height) pairs from the bottom up, mm. A first or last radius above 0
            is closed with a flat cap; radius 0 is only allowed there, as a pole.
        sides: corners around the axis, a multiple of 4.

    Returns:
        The closed mesh, its vertices on the true circles.
    """
    points = list(outline)
    if points[0][0] > 0.0:
        points.insert(0, (0.0, points[0][1]))
    if points[-1][0] > 0.0:
        points.append((0.0, points[-1][1]))
    ring = circle(sides)
    rings = [np.column_stack((r * ring, np.full(sides, z))) for r, z in points[1:-1]]
    poles = np.array([(0.0, 0.0, points[0][1]), (0.0, 0.0, points[-1][1])])
    here = np.arange(sides)
    after = (here + 1) % sides
    last = 2 + (len(rings) - 1) * sides
    faces = [np.column_stack((np.zeros_like(here), 2 + after, 2 + here))]
    for low, high in pairwise(range(2, last + sides, sides)):
        faces.append(np.column_stack((low + here, low + after, high + after)))
        faces.append(np.column_stack((low + here, high + after, high + here)))
    faces.append(np.column_stack((np.ones_like(here), last + here, last + after)))
    return Mesh(np.concatenate([poles, *rings]), np.concatenate(faces))
