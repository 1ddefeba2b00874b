"""Mass, centroid and inertia, and how they move and add up.

Units: kg, mm, kg mm2. Inertia is the tensor about the centroid, so its diagonal holds the
moments and its off-diagonal entries the negated products of inertia.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray, Transform, frozen

_MIRROR = np.array((1.0, -1.0, 1.0))
_MIRROR_TENSOR = np.outer(_MIRROR, _MIRROR)


@dataclass(frozen=True, eq=False)
class MassProperties:
    """How heavy something is, where its centroid lies and how it resists turning.

    Attributes:
        mass_kg: mass; negative for a hole that `combine` is to take away.
        centroid_mm: centre of mass, shape (3,).
        inertia_kg_mm2: inertia tensor about the centroid, shape (3, 3).
    """

    mass_kg: float
    centroid_mm: FloatArray
    inertia_kg_mm2: FloatArray

    def __post_init__(self) -> None:
        """Take the arrays over as read-only values."""
        object.__setattr__(self, "centroid_mm", frozen(self.centroid_mm))
        object.__setattr__(self, "inertia_kg_mm2", frozen(self.inertia_kg_mm2))

    def moved(self, placement: Transform) -> MassProperties:
        """The same body carried by a rigid placement (4, 4)."""
        turn = placement[:3, :3]
        return MassProperties(
            self.mass_kg,
            turn @ self.centroid_mm + placement[:3, 3],
            turn @ self.inertia_kg_mm2 @ turn.T,
        )

    def mirrored_y(self) -> MassProperties:
        """The body's mirror image in the plane y = 0."""
        return MassProperties(
            self.mass_kg, self.centroid_mm * _MIRROR, self.inertia_kg_mm2 * _MIRROR_TENSOR
        )

    def scaled(self, factor: float) -> MassProperties:
        """The same body made of stuff `factor` times as dense; -1 makes a hole of it."""
        return MassProperties(self.mass_kg * factor, self.centroid_mm, self.inertia_kg_mm2 * factor)


NO_MASS = MassProperties(0.0, np.zeros(3), np.zeros((3, 3)))
"""What something weighs whose mass is not claimed."""


def combine(bodies: Iterable[MassProperties]) -> MassProperties:
    """Several bodies as one, by the parallel axis theorem; negative masses take away.

    Args:
        bodies: at least one body, all in the same axes.

    Returns:
        The whole. Where the masses add up to nothing the centroid has no meaning; the plain mean
        of the centroids is given, which keeps it inside the parts.

    Raises:
        ValueError: if there are no bodies.
    """
    listed = tuple(bodies)
    if not listed:
        raise ValueError("combine needs at least one body")
    masses = np.array([body.mass_kg for body in listed])
    centroids = np.array([body.centroid_mm for body in listed])
    total = float(masses.sum())
    centre = masses @ centroids / total if total != 0.0 else centroids.mean(axis=0)
    arms = centroids - centre
    spread = (masses[:, None] * arms).T @ arms
    inertia = np.sum([body.inertia_kg_mm2 for body in listed], axis=0)
    return MassProperties(total, centre, inertia + np.trace(spread) * np.eye(3) - spread)


def box_mass(mass_kg: float, edges: FloatArray) -> MassProperties:
    """A solid straight or skewed box (parallelepiped) centred on the origin.

    Args:
        mass_kg: its mass.
        edges: the three edge vectors as rows, shape (3, 3), mm.

    Returns:
        Its mass properties; exact, since a skewed box is a linear image of a cube and a unit
        cube's second moments are 1/12 along each edge.
    """
    spread = mass_kg / 12.0 * (edges.T @ edges)
    return MassProperties(mass_kg, np.zeros(3), np.trace(spread) * np.eye(3) - spread)


def tetrahedra_mass(corners: FloatArray, density: float) -> MassProperties:
    """Mass properties of what closed triangles enclose, by tetrahedra from the origin to each.

    Over a tetrahedron of signed volume V with one corner at the origin and the others a, b, c the
    integral of p is V (a+b+c)/4, and that of p pT is V (aaT + bbT + ccT + ssT)/20 with s = a+b+c.

    Args:
        corners: corners of the triangles, outward oriented, shape (f, 3 corners, 3), mm; digits
            are kept best if the origin is not far from them.
        density: kg/mm3.
    """
    volumes = np.linalg.det(corners) / 6.0
    volume = float(volumes.sum())
    sums = corners.sum(axis=1)
    centre = volumes @ sums / (4.0 * volume)
    spread = np.einsum("f,fki,fkj->ij", volumes, corners, corners)
    spread = (spread + np.einsum("f,fi,fj->ij", volumes, sums, sums)) / 20.0
    spread -= volume * np.outer(centre, centre)
    inertia = density * (np.trace(spread) * np.eye(3) - spread)
    return MassProperties(density * volume, centre, inertia)
