"""Convex shapes that turn about z: cylinder, frustum, rounded disc and sphere.

Support in a direction depends only on its radial size hypot(x, y) and its z, so each shape
states one formula that serves plain floats and arrays alike.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from meshes_generic.mass import MassProperties
from meshes_generic.mesh import Mesh, revolve
from meshes_generic.shape_base import ConvexShape, require_positive
from meshes_generic.transform import FloatArray

_Value = TypeVar("_Value", float, FloatArray)


@dataclass(frozen=True)
class _Revolved(ConvexShape):
    """What the shapes that turn about z have in common."""

    def __post_init__(self) -> None:
        """Check every size; ValueError names the one at fault."""
        for name, value in vars(self).items():
            require_positive(name, value)

    @abstractmethod
    def _profile_support(self, radial: _Value, z: _Value) -> _Value:
        """Support value in a direction of that radial and axial size."""

    @abstractmethod
    def _profile_points(self, radial: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Radius and height of a farthest profile point in each direction."""

    @abstractmethod
    def _moments(self) -> tuple[float, float, float]:
        """Height of the centroid, then axial and transverse second moments about it, mm5."""

    @abstractmethod
    def _outline(self, sides: int) -> list[tuple[float, float]]:
        """Profile from the bottom up as (radius, height) pairs on the true outline."""

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z)."""
        return self._profile_support(math.hypot(x, y), z)

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        return self._profile_support(np.hypot(directions[:, 0], directions[:, 1]), directions[:, 2])

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest point in each direction, shape (n, 3); on the axis where any would do."""
        radial = np.hypot(directions[:, 0], directions[:, 1])
        radius, height = self._profile_points(radial, directions[:, 2])
        # Divided first: a direction all but along the axis may be shorter across than 1e-308.
        across, size = directions[:, :2], radial[:, None]
        unit = np.divide(across, size, out=np.zeros_like(across), where=size > 0.0)
        return np.column_stack((unit * radius[:, None], height))

    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Mass, centroid and inertia when filled with stuff of that density."""
        density = density_kg_m3 * 1e-9
        height, axial, transverse = self._moments()
        return MassProperties(
            density * self.volume_mm3,
            np.array((0.0, 0.0, height)),
            density * np.diag((transverse, transverse, axial)),
        )

    def mesh(self, sides: int = 48) -> Mesh:
        """A closed mesh whose vertices lie on the shape; `sides` is a multiple of 4."""
        return revolve(self._outline(sides), sides)


@dataclass(frozen=True)
class Cylinder(_Revolved):
    """A round bar along z.

    Attributes:
        radius: mm.
        height: length along z, mm.
    """

    radius: float
    height: float

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        return math.pi * self.radius**2 * self.height

    @property
    def bounding_radius(self) -> float:
        """Distance of the rim from the centre, mm."""
        return math.hypot(self.radius, self.height / 2)

    def _profile_support(self, radial: _Value, z: _Value) -> _Value:
        return self.radius * radial + self.height / 2 * abs(z)

    def _profile_points(self, radial: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        return np.full_like(radial, self.radius), np.copysign(self.height / 2, z)

    def _moments(self) -> tuple[float, float, float]:
        volume, r2 = self.volume_mm3, self.radius**2
        return 0.0, volume * r2 / 2, volume * (3 * r2 + self.height**2) / 12

    def _outline(self, sides: int) -> list[tuple[float, float]]:
        return [(self.radius, -self.height / 2), (self.radius, self.height / 2)]


@dataclass(frozen=True)
class Frustum(_Revolved):
    """A cone cut short, about z, with its middle height at the origin.

    Attributes:
        radius_bottom: radius at z = -height/2, mm.
        radius_top: radius at z = +height/2, mm.
        height: mm.
    """

    radius_bottom: float
    radius_top: float
    height: float

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        a, b = self.radius_bottom, self.radius_top
        return math.pi * self.height / 3 * (a * a + a * b + b * b)

    @property
    def bounding_radius(self) -> float:
        """Distance of the wider rim from the origin, mm."""
        return math.hypot(max(self.radius_bottom, self.radius_top), self.height / 2)

    def _profile_support(self, radial: _Value, z: _Value) -> _Value:
        # max(a, b) = (a + b + |b - a|) / 2 for the two rims; the same text serves arrays.
        rims = (self.radius_bottom + self.radius_top) * radial
        return (rims + abs((self.radius_top - self.radius_bottom) * radial + self.height * z)) / 2

    def _profile_points(self, radial: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        top = (self.radius_top - self.radius_bottom) * radial + self.height * z >= 0.0
        half = self.height / 2
        return np.where(top, self.radius_top, self.radius_bottom), np.where(top, half, -half)

    def _moments(self) -> tuple[float, float, float]:
        a, b, h = self.radius_bottom, self.radius_top, self.height
        squares = a * a + a * b + b * b
        centre = h / 4 * (a * a + 2 * a * b + 3 * b * b) / squares - h / 2
        fourths = a**4 + a**3 * b + a * a * b * b + a * b**3 + b**4
        axial = math.pi * h / 10 * fourths
        # Integral of z2 over the radius m + (b - a) z/h, taken about the middle height.
        mean, slope = (a + b) / 2, b - a
        along = math.pi * h**3 * (mean * mean / 12 + slope * slope / 80)
        return centre, axial, axial / 2 + along - self.volume_mm3 * centre**2

    def _outline(self, sides: int) -> list[tuple[float, float]]:
        return [(self.radius_bottom, -self.height / 2), (self.radius_top, self.height / 2)]


@dataclass(frozen=True)
class RoundedDisc(_Revolved):
    """A flat disc about z with a fully rounded rim: a thin disc swept by a ball.

    Attributes:
        radius: overall radius, at the middle of the rim, mm.
        thickness: mm, at most twice the radius (then the disc is a ball).
    """

    radius: float
    thickness: float

    def __post_init__(self) -> None:
        """Check the sizes; ValueError names the one at fault."""
        super().__post_init__()
        if self.thickness > 2 * self.radius:
            raise ValueError(
                f"thickness must be at most twice the radius {self.radius!r}, "
                f"not {self.thickness!r}"
            )

    @property
    def core_radius(self) -> float:
        """Radius of the thin disc that the ball of half the thickness sweeps, mm."""
        return self.radius - self.thickness / 2

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        c, t = self.core_radius, self.thickness / 2
        return math.pi * (2 * t * c * c + math.pi * t * t * c + 4 / 3 * t**3)

    @property
    def bounding_radius(self) -> float:
        """Distance of the rim from the centre, mm."""
        return self.radius

    def _profile_support(self, radial: _Value, z: _Value) -> _Value:
        size: _Value = (radial * radial + z * z) ** 0.5
        return self.core_radius * radial + self.thickness / 2 * size

    def _profile_points(self, radial: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        size = np.hypot(radial, z)
        ball = np.divide(self.thickness / 2, size, out=np.zeros_like(size), where=size > 0.0)
        return self.core_radius + ball * radial, ball * z

    def _moments(self) -> tuple[float, float, float]:
        # Radius at height z is c + s with s = sqrt(t2 - z2); these are the integrals of powers
        # of s, and of z2 times them, over the thickness.
        c, t = self.core_radius, self.thickness / 2
        pi = math.pi
        fourths = (
            2 * t * c**4
            + 4 * c**3 * pi * t**2 / 2
            + 6 * c**2 * 4 / 3 * t**3
            + 4 * c * 3 / 8 * pi * t**4
            + 16 / 15 * t**5
        )
        along = 2 / 3 * t**3 * c**2 + 2 * c * pi / 8 * t**4 + 4 / 15 * t**5
        axial = pi / 2 * fourths
        return 0.0, axial, axial / 2 + pi * along

    def _outline(self, sides: int) -> list[tuple[float, float]]:
        # As many steps round the rim as a quarter of the sides, and even: the widest point is
        # then one of them, and the bounds of the mesh equal the disc's.
        steps = max(2, sides // 8 * 2)
        ball = self.thickness / 2
        angles = [math.pi * (k / steps - 0.5) for k in range(1, steps)]
        rim = [(self.core_radius + ball * math.cos(a), ball * math.sin(a)) for a in angles]
        return [(self.core_radius, -ball), *rim, (self.core_radius, ball)]


@dataclass(frozen=True)
class Sphere(_Revolved):
    """A ball.

    Attributes:
        radius: mm.
    """

    radius: float

    @property
    def volume_mm3(self) -> float:
        """Volume, mm3."""
        return 4 / 3 * math.pi * self.radius**3

    @property
    def bounding_radius(self) -> float:
        """The radius, mm."""
        return self.radius

    def _profile_support(self, radial: _Value, z: _Value) -> _Value:
        size: _Value = (radial * radial + z * z) ** 0.5
        return self.radius * size

    def _profile_points(self, radial: FloatArray, z: FloatArray) -> tuple[FloatArray, FloatArray]:
        size = np.hypot(radial, z)
        share = np.divide(self.radius, size, out=np.zeros_like(size), where=size > 0.0)
        return share * radial, share * z + np.where(size > 0.0, 0.0, self.radius)

    def _moments(self) -> tuple[float, float, float]:
        moment = 0.4 * self.volume_mm3 * self.radius**2
        return 0.0, moment, moment

    def _outline(self, sides: int) -> list[tuple[float, float]]:
        steps = max(2, sides // 4 * 2)
        angles = [math.pi * (k / steps - 0.5) for k in range(1, steps)]
        rim = [(self.radius * math.cos(a), self.radius * math.sin(a)) for a in angles]
        return [(0.0, -self.radius), *rim, (0.0, self.radius)]
