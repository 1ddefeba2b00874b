"""A straight box."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from meshes_generic.mass import MassProperties, box_mass
from meshes_generic.mesh import Mesh
from meshes_generic.shape_base import ConvexShape, require_positive
from meshes_generic.transform import FloatArray

# Corner k of a box takes the high side in x, y, z where bit 4, 2, 1 of k is set.
CORNER_SIGNS = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float)
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
        return Mesh(CORNER_SIGNS * self.half_sizes, _BOX_FACES)
