"""Soil, flat or in raised beds; it has no mass here."""

from __future__ import annotations

from meshes_generic.building import box_between
from meshes_generic.material import Material
from meshes_generic.shapes import Hull, require_positive
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import translation


def flat(length: float, width: float, depth: float) -> Solid:
    """Flat soil; datum: the middle of its surface, at z = 0.

    Args:
        length: along x, mm.
        width: along y, mm.
        depth: downwards, mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    half_x, half_y = length / 2, width / 2
    box = box_between((-half_x, -half_y, -depth), (half_x, half_y, 0.0), "soil", Material.SOIL)
    return Solid((box,))


def bed(top_width: float, base_width: float, height: float, length: float) -> Solid:
    """A raised bed along x; datum: the middle of its top, at z = 0.

    Args:
        top_width: across the top, mm.
        base_width: across the foot of its shoulders, mm.
        height: of the top above the furrow, mm.
        length: mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    sizes = {"top_width": top_width, "base_width": base_width, "height": height, "length": length}
    for name, value in sizes.items():
        require_positive(name, value)
    half_x, half_z = length / 2, height / 2
    levels = ((base_width / 2, -half_z), (top_width / 2, half_z))
    shape = Hull(
        tuple((x, side * y, z) for x in (-half_x, half_x) for side in (-1, 1) for y, z in levels)
    )
    return Solid((Piece(shape, translation(0.0, 0.0, -half_z), Material.SOIL, "bed"),))
