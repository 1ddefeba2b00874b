"""Shapes with an exact support function; all but `ClosedSurface` are convex.

The support value of a shape in a direction n is the greatest n·p over its points p. It is all
a certified clearance needs, so every shape gives it in closed form, in float64, for directions
of any length. Shapes sit in their own axes; all but those made of points (`Hull`, `Triangle`,
`ClosedSurface`) are centred on the origin, and the round ones turn about z. All lengths are mm.
Shapes are plain values: shapes of equal sizes are equal, and they can be hashed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.box import CORNER_SIGNS, Box
from meshes_generic.mass import MassProperties, tetrahedra_mass
from meshes_generic.mesh import IntArray, Mesh
from meshes_generic.rounds import Cylinder, Frustum, RoundedDisc, Sphere
from meshes_generic.shape_base import ConvexShape, require_positive
from meshes_generic.surface import ClosedSurface
from meshes_generic.transform import FloatArray
from meshes_generic.triangle import Triangle

__all__ = [
    "Box",
    "ClosedSurface",
    "ConvexShape",
    "Cylinder",
    "Frustum",
    "Hull",
    "RoundedDisc",
    "Shape",
    "Sphere",
    "Triangle",
    "require_positive",
]


@dataclass(frozen=True)
class Hull(ConvexShape):
    """The convex hull of points, in the axes the points are given in.

    Attributes:
        points: at least four points not all in one plane, mm; points inside do no harm.
    """

    points: tuple[tuple[float, float, float], ...]

    def __post_init__(self) -> None:
        """Check the points; ValueError says what is wrong with them."""
        array = self.vertices
        if array.ndim != 2 or array.shape[1] != 3 or len(array) < 4:
            raise ValueError(f"points must be at least four (x, y, z) triples, not {self.points!r}")
        if not np.isfinite(array).all():
            raise ValueError(f"points must be finite numbers, not {self.points!r}")
        spread = np.linalg.svd(array - array.mean(axis=0), compute_uv=False)
        if spread[2] <= 1e-9 * spread[0]:
            raise ValueError(f"points must not all lie in one plane, as {self.points!r} do")

    @classmethod
    def around(cls, points: ArrayLike) -> Hull:
        """The hull of points given as any (n, 3) array."""
        return cls(tuple((float(x), float(y), float(z)) for x, y, z in np.asarray(points)))

    @classmethod
    def skewed_box(cls, centre: ArrayLike, edges: ArrayLike) -> Hull:
        """A parallelepiped.

        Args:
            centre: its centre, shape (3,), mm.
            edges: its three edge vectors as rows, shape (3, 3), mm.
        """
        return cls.around(np.asarray(centre) + CORNER_SIGNS / 2 @ np.asarray(edges, float))

    @cached_property
    def vertices(self) -> FloatArray:
        """The points as a read-only array, shape (n, 3)."""
        array = np.array(self.points, dtype=np.float64)
        array.setflags(write=False)
        return array

    @cached_property
    def faces(self) -> IntArray:
        """Triangles over `vertices`, counter-clockwise seen from outside, shape (f, 3)."""
        # Only drawing and weighing need the facets; the import takes longer than a whole check.
        from scipy.spatial import ConvexHull  # noqa: PLC0415

        hull = ConvexHull(self.vertices)
        faces: IntArray = np.array(hull.simplices, dtype=np.int64)
        a, b, c = (self.vertices[faces[:, k]] for k in range(3))
        inward = np.einsum("ij,ij->i", np.cross(b - a, c - a), hull.equations[:, :3]) < 0.0
        faces[inward] = faces[inward][:, ::-1]
        return faces

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        corners = self._corners()
        return float(np.linalg.det(corners).sum()) / 6.0

    @property
    def bounding_radius(self) -> float:
        """Distance of the farthest point from the origin of its axes, mm."""
        return max(math.hypot(x, y, z) for x, y, z in self.points)

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z)."""
        return max([x * a + y * b + z * c for a, b, c in self.points])

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        values: FloatArray = (directions @ self.vertices.T).max(axis=1)
        return values

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest point in each direction, shape (n, 3)."""
        points: FloatArray = self.vertices[(directions @ self.vertices.T).argmax(axis=1)]
        return points

    def _corners(self) -> FloatArray:
        """Corners of the outer triangles from a point inside, shape (f, 3 corners, 3)."""
        corners: FloatArray = (self.vertices - self.vertices.mean(axis=0))[self.faces]
        return corners

    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Mass, centroid and inertia when filled with stuff of that density."""
        about = tetrahedra_mass(self._corners(), density_kg_m3 * 1e-9)
        centre = about.centroid_mm + self.vertices.mean(axis=0)
        return MassProperties(about.mass_kg, centre, about.inertia_kg_mm2)

    def mesh(self, sides: int = 48) -> Mesh:
        """Its facets as triangles; `sides` makes no difference to a flat-sided shape."""
        used, renumbered = np.unique(self.faces, return_inverse=True)
        return Mesh(self.vertices[used], renumbered.reshape(-1, 3))

    def mirrored_y(self) -> Hull:
        """The mirror image in the plane y = 0."""
        return Hull(tuple((x, -y, z) for x, y, z in self.points))


Shape = Box | Cylinder | Frustum | RoundedDisc | Hull | Sphere | Triangle | ClosedSurface
"""All are convex but `ClosedSurface`, which is held against others by its triangles."""
