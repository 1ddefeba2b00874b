"""Plain bodies that only take up room, such as a vehicle's belly, engine or linkage."""

from __future__ import annotations

from meshes_generic.material import Material
from meshes_generic.shapes import Box
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import identity


def block(size: tuple[float, float, float]) -> Solid:
    """A box that takes up room and claims no mass; datum: its centre.

    Args:
        size: full sizes along x, y and z, mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    return Solid((Piece(Box(*size), identity(), Material.BODY, "block"),))
