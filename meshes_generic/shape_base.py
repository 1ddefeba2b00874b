"""What every convex shape offers."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from typing import Self

from meshes_generic.mass import MassProperties
from meshes_generic.mesh import Mesh
from meshes_generic.transform import FloatArray


def require_positive(name: str, value: float) -> None:
    """Refuse a size that is not a finite number above zero.

    Raises:
        ValueError: naming the size and the value given.
    """
    if not (value > 0.0 and math.isfinite(value)):
        raise ValueError(f"{name} must be a finite number greater than 0, not {value!r}")


class ConvexShape(ABC):
    """A convex shape in its own axes.

    The support value in a direction n is the greatest n·p over the shape's points p. Directions
    need not be unit vectors: the value grows with their length.
    """

    @abstractmethod
    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z); plain floats, for light loops."""

    @abstractmethod
    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""

    @abstractmethod
    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest point of the shape in each direction, shape (n, 3), mm."""

    @property
    @abstractmethod
    def volume_mm3(self) -> float:
        """Volume, mm3."""

    @property
    @abstractmethod
    def bounding_radius(self) -> float:
        """Distance of the shape's farthest point from its own origin, mm."""

    @abstractmethod
    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Mass, centroid and inertia when filled with stuff of that density."""

    @abstractmethod
    def mesh(self, sides: int = 48) -> Mesh:
        """A closed mesh whose vertices lie on the shape.

        Args:
            sides: corners around a circle, a positive multiple of 4.

        Raises:
            ValueError: if a round shape is asked for another number of sides.
        """

    def mirrored_y(self) -> Self:
        """The mirror image in the plane y = 0; the shape itself where it is symmetric."""
        return self
