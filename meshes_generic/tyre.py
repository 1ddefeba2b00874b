"""Tyres."""

from __future__ import annotations

from meshes_generic.building import rod_placement
from meshes_generic.mass import NO_MASS
from meshes_generic.material import Material
from meshes_generic.shapes import Cylinder, require_positive
from meshes_generic.solid import Piece, Solid


def tyre(diameter: float, width: float) -> Solid:
    """A tyre as the full cylinder round it, along y; datum: the wheel's centre.

    Square shoulders and a filled rim err to the safe side. No mass is claimed: a tyre's is
    mostly air.

    Args:
        diameter: mm.
        width: mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    require_positive("width", width)
    placement, length = rod_placement((0.0, -width / 2, 0.0), (0.0, width / 2, 0.0))
    shape = Cylinder(diameter / 2, length)
    return Solid((Piece(shape, placement, Material.RUBBER, "tyre", NO_MASS),))
