"""What parts are made of, and what that means for weight and for bending out of the way."""

from __future__ import annotations

from enum import StrEnum


class Material(StrEnum):
    """Material of a piece.

    ``BODY`` is a vehicle's body: it takes up room, and no mass is claimed for it.
    """

    STEEL = "steel"
    CAST_IRON = "cast_iron"
    RUBBER = "rubber"
    POLYURETHANE = "polyurethane"
    PLANT = "plant"
    SOIL = "soil"
    BODY = "body"


# kg/m3, all recalled from memory: 7850 for steel is the figure section tables commonly use.
# Zero: mass not modelled.
_DENSITY = {
    Material.STEEL: 7850.0,
    Material.CAST_IRON: 7200.0,
    Material.RUBBER: 1150.0,
    Material.POLYURETHANE: 1150.0,
    Material.PLANT: 0.0,
    Material.SOIL: 0.0,
    Material.BODY: 0.0,
}

_FLEXIBLE = frozenset({Material.RUBBER, Material.POLYURETHANE, Material.PLANT})


def density_kg_m3(material: Material) -> float:
    """Density in kg/m3; 0 where mass is not modelled."""
    return _DENSITY[material]


def is_flexible(material: Material) -> bool:
    """Whether the material may bend aside on contact without harm."""
    return material in _FLEXIBLE
