"""Small makers of single pieces that the part families share; lengths in mm."""

from __future__ import annotations

import math

import numpy as np

from meshes_generic.mass import box_mass
from meshes_generic.material import Material, density_kg_m3
from meshes_generic.shapes import Box, Cylinder, Hull
from meshes_generic.solid import Piece
from meshes_generic.transform import Transform, frozen, rotation_x, rotation_y, translation

Point = tuple[float, float, float]

# What lays a cylinder's own z along x, y or z.
_ALONG = (frozen(rotation_y(90.0)), frozen(rotation_x(-90.0)), frozen(np.eye(4)))

NUT_RADIUS = 0.85
"""Radius round a hexagon nut's corners, in bolt diameters (common practice, no source)."""

COIL_FILL = 0.25
"""Share of a coil spring's cylinder that is wire: an estimate, no source."""


def box_between(low: Point, high: Point, label: str, material: Material = Material.STEEL) -> Piece:
    """A straight box from its lowest to its highest corner."""
    shape = Box(high[0] - low[0], high[1] - low[1], high[2] - low[2])
    centre = translation((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, (low[2] + high[2]) / 2)
    return Piece(shape, centre, material, label)


def rod_placement(start: Point, end: Point) -> tuple[Transform, float]:
    """Placement and length of something round from `start` to `end` along x, y or z.

    Raises:
        ValueError: unless the two points differ in exactly one coordinate.
    """
    differing = [k for k in range(3) if start[k] != end[k]]
    if len(differing) != 1:
        raise ValueError(f"a rod must lie along x, y or z, not from {start} to {end}")
    axis = differing[0]
    middle = [(a + b) / 2 for a, b in zip(start, end, strict=True)]
    placement = _ALONG[axis].copy()
    placement[:3, 3] = middle
    return placement, abs(end[axis] - start[axis])


def rod(
    start: Point, end: Point, diameter: float, label: str, material: Material = Material.STEEL
) -> Piece:
    """A round bar from `start` to `end`, the ends of its centre line, along x, y or z."""
    placement, length = rod_placement(start, end)
    return Piece(Cylinder(diameter / 2, length), placement, material, label)


def coil_spring(start: Point, end: Point, diameter: float, label: str) -> Piece:
    """A coil spring as the full cylinder round it; it weighs a quarter of that in steel."""
    filled = rod(start, end, diameter, label)
    density = density_kg_m3(Material.STEEL) * COIL_FILL
    mass = filled.shape.mass_properties(density)
    return Piece(filled.shape, filled.placement, Material.STEEL, label, mass)


def skewed_box(
    centre: Point,
    edges: tuple[Point, Point, Point],
    label: str,
    material: Material = Material.STEEL,
) -> Piece:
    """A parallelepiped about its centre, with its mass in closed form."""
    rows = np.array(edges)
    mass = density_kg_m3(material) * 1e-9 * abs(float(np.linalg.det(rows)))
    shape = Hull.skewed_box((0.0, 0.0, 0.0), rows)
    return Piece(shape, translation(*centre), material, label, box_mass(mass, rows))


def require_finite(name: str, value: float) -> None:
    """Refuse a place or angle that is not a finite number.

    Raises:
        ValueError: naming it and its value.
    """
    if not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number, not {value!r}")


def require_at_least(name: str, value: float, least: float, why: str) -> None:
    """Refuse a size that leaves no room for the rest of the part.

    Raises:
        ValueError: naming the size, its value, the least that works and why.
    """
    if not (math.isfinite(value) and value >= least):
        raise ValueError(f"{name} must be at least {least:g} ({why}), not {value!r}")
