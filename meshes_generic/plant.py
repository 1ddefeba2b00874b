"""Plants in a row, as the room they take up; they have no mass here."""

from __future__ import annotations

from meshes_generic.building import box_between, rod
from meshes_generic.material import Material
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Solid


def canopy(width: float, low: float, high: float, length: float) -> Solid:
    """The leaves along a row; datum: the row's line on the soil, in the middle of the length.

    Args:
        width: across the row, mm.
        low: height of the lowest leaves above the soil, mm.
        high: height of the top, mm.
        length: along the row, mm.

    Raises:
        ValueError: where a size is not above 0 or the top is not above the lowest leaves.
    """
    corner = (length / 2, width / 2)
    box = box_between((-corner[0], -corner[1], low), (*corner, high), "leaves", Material.PLANT)
    return Solid((box,))


def stem(diameter: float, height: float) -> Solid:
    """One upright stem; datum: its foot on the soil.

    Args:
        diameter: mm.
        height: mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    require_positive("height", height)
    return Solid((rod((0.0, 0.0, 0.0), (0.0, 0.0, height), diameter, "stem", Material.PLANT),))


def stem_strip(width: float, height: float, length: float) -> Solid:
    """The strip that a row's stems stand in; datum: the row's line on the soil, mid length.

    Args:
        width: across the row, mm.
        height: mm.
        length: along the row, mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    half_x, half_y = length / 2, width / 2
    box = box_between((-half_x, -half_y, 0.0), (half_x, half_y, height), "stems", Material.PLANT)
    return Solid((box,))
