"""A flat triangle as a convex shape without volume: what surfaces are made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from meshes_generic.mass import NO_MASS, MassProperties
from meshes_generic.mesh import Mesh
from meshes_generic.shape_base import ConvexShape
from meshes_generic.transform import FloatArray

Point = tuple[float, float, float]

_BOTH_SIDES = np.array(((0, 1, 2), (0, 2, 1)))


@dataclass(frozen=True)
class Triangle(ConvexShape):
    """Three points and all between them, in the axes the points are given in.

    The points may lie on one line: a surface may hold such slivers, and they have a distance
    like any other triangle.

    Attributes:
        a: first corner, mm.
        b: second corner, mm.
        c: third corner, mm.
    """

    a: Point
    b: Point
    c: Point

    def __post_init__(self) -> None:
        """Refuse corners that are not finite numbers."""
        if not all(map(math.isfinite, (*self.a, *self.b, *self.c))):
            raise ValueError(f"corners must be finite numbers, not {(self.a, self.b, self.c)!r}")

    @property
    def points(self) -> tuple[Point, Point, Point]:
        """The corners."""
        return self.a, self.b, self.c

    @cached_property
    def vertices(self) -> FloatArray:
        """The corners as a read-only array, shape (3, 3)."""
        array = np.array((self.a, self.b, self.c), dtype=np.float64)
        array.setflags(write=False)
        return array

    @property
    def normal(self) -> FloatArray:
        """Unit vector (3,) square to the triangle, by the right-hand rule; zero for a sliver."""
        square = np.cross(self.vertices[1] - self.vertices[0], self.vertices[2] - self.vertices[0])
        size = float(np.linalg.norm(square))
        flat: FloatArray = square / size if size > 0.0 else np.zeros(3)
        return flat

    @property
    def volume_mm3(self) -> float:
        """Volume: none."""
        return 0.0

    @property
    def bounding_radius(self) -> float:
        """Distance of the farthest corner from the origin of its axes, mm."""
        return max(math.hypot(x, y, z) for x, y, z in self.points)

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z)."""
        return max([x * a + y * b + z * c for a, b, c in self.points])

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        values: FloatArray = (directions @ self.vertices.T).max(axis=1)
        return values

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest corner in each direction, shape (n, 3)."""
        points: FloatArray = self.vertices[(directions @ self.vertices.T).argmax(axis=1)]
        return points

    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Nothing: a triangle has no volume."""
        return NO_MASS

    def mesh(self, sides: int = 48) -> Mesh:
        """Both its faces; `sides` makes no difference to a flat-sided shape."""
        return Mesh(self.vertices, _BOTH_SIDES)

    def mirrored_y(self) -> Triangle:
        """The mirror image in the plane y = 0, facing as its image in a mirror does."""
        a, b, c = ((x, -y, z) for x, y, z in self.points)
        return Triangle(a, c, b)
