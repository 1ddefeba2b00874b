"""Square tubes and bars."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from meshes_generic.mass import MassProperties
from meshes_generic.material import Material, density_kg_m3
from meshes_generic.shapes import Box, require_positive
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import identity


@dataclass(frozen=True)
class Section:
    """A cross section that is the same about both its axes.

    Attributes:
        area_mm2: area.
        second_moment_mm4: second moment of area about either axis through the centre.
    """

    area_mm2: float
    second_moment_mm4: float


def _rounded_square(size: float, radius: float) -> Section:
    """A filled square whose corners are quarter circles."""
    r2 = radius * radius
    core = size / 2 - radius
    corner_square = r2 * r2 / 12 + r2 * (size - radius) ** 2 / 4
    corner_round = math.pi * r2 * r2 / 16 + 2 / 3 * core * radius * r2 + math.pi * r2 * core**2 / 4
    return Section(
        size * size - (4 - math.pi) * r2, size**4 / 12 - 4 * (corner_square - corner_round)
    )


def square_tube_section(size: float, wall: float, corner_radius: float | None = None) -> Section:
    """Section of a square tube.

    Args:
        size: outer side, mm.
        wall: wall thickness, mm; half the size or more makes a solid bar.
        corner_radius: outer corner radius, mm. None takes twice the wall for a tube (common
            practice, no source) and sharp corners for a solid bar. The inner radius is the outer
            one less the wall, never below 0.

    Raises:
        ValueError: for a size or wall that is not above 0, or a radius outside 0..size/2.
    """
    require_positive("size", size)
    require_positive("wall", wall)
    inner = size - 2 * wall
    if corner_radius is None:
        corner_radius = min(2 * wall, size / 2) if inner > 0 else 0.0
    if not 0.0 <= corner_radius <= size / 2:
        raise ValueError(f"corner_radius must be from 0 to {size / 2:g}, not {corner_radius!r}")
    outer = _rounded_square(size, corner_radius)
    if inner <= 0:
        return outer
    hole = _rounded_square(inner, max(corner_radius - wall, 0.0))
    return Section(outer.area_mm2 - hole.area_mm2, outer.second_moment_mm4 - hole.second_moment_mm4)


def square_tube(
    size: float, wall: float, length: float, corner_radius: float | None = None
) -> Solid:
    """A square steel tube along y; datum: its centre.

    Its one piece is the sharp-cornered full box, which errs to the safe side; its mass is that of
    the hollow tube with rounded corners.

    Args:
        size: outer side, mm.
        wall: wall thickness, mm; half the size or more makes a solid bar.
        length: mm.
        corner_radius: outer corner radius, mm; see `square_tube_section`.
    """
    shape = Box(size, length, size)
    section = square_tube_section(size, wall, corner_radius)
    density = density_kg_m3(Material.STEEL) * 1e-9
    area, second = section.area_mm2, section.second_moment_mm4
    across = length * second + area * length**3 / 12
    inertia = density * np.diag((across, 2 * length * second, across))
    mass = MassProperties(density * area * length, np.zeros(3), inertia)
    return Solid((Piece(shape, identity(), Material.STEEL, "tube", mass),))
