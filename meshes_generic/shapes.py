"""Convex shapes with an exact support function.

The support value of a shape in a direction n is the greatest n·p over its points p. It is all
a certified clearance needs, so every shape gives it in closed form, in float64, for directions
of any length. Shapes sit in their own axes; all but `Hull` are centred on the origin, and the
round ones turn about z. All lengths are mm. Shapes are plain values: shapes of equal sizes are
equal, and they can be hashed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.mass import MassProperties, box_mass
from meshes_generic.mesh import IntArray, Mesh
from meshes_generic.rounds import Cylinder, Frustum, RoundedDisc, Sphere
from meshes_generic.shape_base import ConvexShape, require_positive
from meshes_generic.transform import FloatArray

__all__ = [
    "Box",
    "ConvexShape",
    "Cylinder",
    "Frustum",
    "Hull",
    "RoundedDisc",
    "Shape",
    "Sphere",
    "require_positive",
]

# Corner k of a box takes the high side in x, y, z where bit 4, 2, 1 of k is set.
_CORNER_SIGNS = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
_BOX_FACES = np.array(
    [
        *((0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5)),
        *((0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6)),
        *((0, 2, 6), (0, 6, 4), (1, 5, 7), (1, 7, 3)),
    ]
)


@dataclass(frozen=True)
class Box(ConvexShape):
    """A straight box centred on the origin.

    Attributes:
        size_x: full size along x, mm.
        size_y: full size along y, mm.
        size_z: full size along z, mm.
    """

    size_x: float
    size_y: float
    size_z: float

    def __post_init__(self) -> None:
        """Check every size; ValueError names the one at fault."""
        require_positive("size_x", self.size_x)
        require_positive("size_y", self.size_y)
        require_positive("size_z", self.size_z)

    @property
    def half_sizes(self) -> FloatArray:
        """Half of each size, shape (3,), mm."""
        return np.array((self.size_x / 2, self.size_y / 2, self.size_z / 2))

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        return self.size_x * self.size_y * self.size_z

    @property
    def bounding_radius(self) -> float:
        """Distance of a corner from the centre, mm."""
        return math.hypot(self.size_x, self.size_y, self.size_z) / 2

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z)."""
        return (self.size_x * abs(x) + self.size_y * abs(y) + self.size_z * abs(z)) / 2

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        values: FloatArray = np.abs(directions) @ self.half_sizes
        return values

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest corner in each direction, shape (n, 3)."""
        corners: FloatArray = np.copysign(self.half_sizes, directions)
        return corners

    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Mass, centroid and inertia when filled with stuff of that density."""
        mass = density_kg_m3 * 1e-9 * self.volume_mm3
        return box_mass(mass, np.diag((self.size_x, self.size_y, self.size_z)))

    def mesh(self, sides: int = 48) -> Mesh:
        """Its twelve triangles; `sides` makes no difference to a flat-sided shape."""
        return Mesh(_CORNER_SIGNS * self.half_sizes, _BOX_FACES)


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
        return cls.around(np.asarray(centre) + _CORNER_SIGNS / 2 @ np.asarray(edges, float))

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
        """Mass, centroid and inertia when filled with stuff of that density.

        The hull is cut into tetrahedra from a point inside. Over one of volume V with that point
        at the origin and corners a, b, c the integral of p is V (a+b+c)/4, and that of p pT is
        V (aaT + bbT + ccT + ssT)/20 with s = a+b+c.
        """
        density = density_kg_m3 * 1e-9
        corners = self._corners()
        volumes = np.linalg.det(corners) / 6.0
        volume = float(volumes.sum())
        sums = corners.sum(axis=1)
        centre = volumes @ sums / (4.0 * volume)
        spread = np.einsum("f,fki,fkj->ij", volumes, corners, corners)
        spread = (spread + np.einsum("f,fi,fj->ij", volumes, sums, sums)) / 20.0
        spread -= volume * np.outer(centre, centre)
        inertia = density * (np.trace(spread) * np.eye(3) - spread)
        return MassProperties(density * volume, centre + self.vertices.mean(axis=0), inertia)

    def mesh(self, sides: int = 48) -> Mesh:
        """Its facets as triangles; `sides` makes no difference to a flat-sided shape."""
        used, renumbered = np.unique(self.faces, return_inverse=True)
        return Mesh(self.vertices[used], renumbered.reshape(-1, 3))

    def mirrored_y(self) -> Hull:
        """The mirror image in the plane y = 0."""
        return Hull(tuple((x, -y, z) for x, y, z in self.points))


Shape = Box | Cylinder | Frustum | RoundedDisc | Hull | Sphere
