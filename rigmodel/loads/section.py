"""Section properties of square tubes, flat bars and round tubes, in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from meshes_generic.tube import square_tube_section


@dataclass(frozen=True, eq=False)
class Section:
    """A section that is bent, sheared and twisted.

    Attributes:
        area_mm2: area.
        second_moment_mm4: second moment of area about the axis it is bent about.
        modulus_mm3: elastic section modulus about that axis.
        torsion_mm4: torsion constant.
        torsion_modulus_mm3: torque over this is the greatest shear stress from it.
        shear_area_mm2: shear force over this is the greatest shear stress from it.
    """

    area_mm2: float
    second_moment_mm4: float
    modulus_mm3: float
    torsion_mm4: float
    torsion_modulus_mm3: float
    shear_area_mm2: float


def square_section(size: float, wall: float, corner_radius: float | None = None) -> Section:
    """A square tube with rounded corners, or a solid bar where the wall is half the size or more.

    Area and second moment are exact. Torsion of a tube follows the rule of EN 10219-2 for its
    tables (from memory), that of a solid square Saint-Venant (0.1406 b⁴ and 0.2082 b³, from
    memory). Shear is that of a sharp-cornered box at its middle line.

    Args:
        size: outer side, mm.
        wall: wall thickness, mm.
        corner_radius: outer corner radius, mm; twice the wall if None.

    Raises:
        ValueError: the sizes make no tube.
    """
    plain = square_tube_section(size, wall, corner_radius)
    inner = max(size - 2.0 * wall, 0.0)
    second = plain.second_moment_mm4
    shear = second * (size - inner) / ((size**3 - inner**3) / 8.0)
    if inner <= 0.0:
        torsion, torsion_modulus = 0.1406 * size**4, 0.2082 * size**3
    else:
        outer = min(2.0 * wall, size / 2.0) if corner_radius is None else corner_radius
        torsion, torsion_modulus = _tube_torsion(size, wall, outer)
    return Section(plain.area_mm2, second, 2.0 * second / size, torsion, torsion_modulus, shear)


def _tube_torsion(size: float, wall: float, outer_radius: float) -> tuple[float, float]:
    """Torsion constant (mm4) and modulus (mm3) of a square tube by its wall's middle line."""
    middle = size - wall
    radius = (outer_radius + max(outer_radius - wall, 0.0)) / 2.0
    round_off = radius * (4.0 - math.pi)
    length = 4.0 * middle - 2.0 * round_off
    enclosed = middle**2 - radius * round_off
    flow = 2.0 * enclosed * wall / length
    constant = wall**3 * length / 3.0 + 2.0 * flow * enclosed
    return constant, constant / (wall + flow / wall)


def flat_section(depth: float, thickness: float) -> Section:
    """A flat bar bent in the plane of its depth.

    Torsion by the usual polynomials for a rectangle, as in Roark's tables (from memory).

    Args:
        depth: side along the force, mm.
        thickness: the other side, mm.
    """
    long, short = max(depth, thickness), min(depth, thickness)
    ratio = short / long
    torsion = long * short**3 * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio**4 / 12.0))
    area = depth * thickness
    return Section(
        area,
        thickness * depth**3 / 12.0,
        thickness * depth**2 / 6.0,
        torsion,
        long * short**2 / (3.0 * _peak(ratio)),
        area / 1.5,
    )


def _peak(ratio: float) -> float:
    """Greatest shear of a twisted rectangle over that of a thin one, by the ratio of its sides."""
    return 1.0 + ratio * (0.6095 + ratio * (0.8865 - ratio * (1.8023 - ratio * 0.91)))


def round_section(diameter: float, wall: float) -> Section:
    """A round tube, or a round bar where the wall is half the diameter or more; exact."""
    inner = max(diameter - 2.0 * wall, 0.0)
    area = math.pi / 4.0 * (diameter**2 - inner**2)
    second = math.pi / 64.0 * (diameter**4 - inner**4)
    first = (diameter**3 - inner**3) / 12.0
    return Section(
        area,
        second,
        2.0 * second / diameter,
        2.0 * second,
        4.0 * second / diameter,
        second * (diameter - inner) / first,
    )
