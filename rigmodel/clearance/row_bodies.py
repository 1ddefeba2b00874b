"""What a crop row is to steel: its own line as a thin plate, and its leaves as a box."""

from __future__ import annotations

from meshes_generic.material import Material
from meshes_generic.shapes import Box
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import translation
from rigmodel.assembly.rig import RowPlace

BELOW_MM = 500.0  # the line reaches this far into the soil, below any tool
LENGTH_MM = 20000.0  # a row goes on past both ends of the rig
PLATE_MM = 1e-3  # thickness of the plate


def band_top(row: RowPlace, band_height: float) -> float:
    """Height over its soil that a row's band reaches up to, mm."""
    return max(band_height, row.plants.height)


def line_of(row: RowPlace, band_height: float) -> Solid:
    """The row's line as an upright plate in the row's axes, from deep in the soil to its top."""
    top = band_top(row, band_height)
    shape = Box(LENGTH_MM, PLATE_MM, BELOW_MM + top)
    at = translation(0.0, 0.0, (top - BELOW_MM) / 2.0)
    return Solid((Piece(shape, at, Material.PLANT, "line"),))


def leaves_of(row: RowPlace) -> Solid | None:
    """The leaves of a row as a box along it, or None where their size is not given."""
    plants = row.plants
    tall = plants.height - plants.lowest_leaf
    if plants.canopy_width == 0.0 or tall <= 0.0:
        return None
    shape = Box(LENGTH_MM, plants.canopy_width, tall)
    at = translation(0.0, 0.0, (plants.height + plants.lowest_leaf) / 2.0)
    return Solid((Piece(shape, at, Material.PLANT, "leaves"),))
