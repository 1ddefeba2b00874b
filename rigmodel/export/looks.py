"""Colours of materials and marks in 3D files, the same hues as in the pictures."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from meshes_generic.material import Material
from rigmodel.clearance.finding import Verdict
from rigmodel.view import palette

MATERIALS: Mapping[Material, str] = MappingProxyType(
    {
        Material.STEEL: "#9aa3ab",
        Material.CAST_IRON: "#767f87",
        Material.RUBBER: palette.FINGERS,
        Material.POLYURETHANE: palette.FINGERS,
        Material.PLANT: palette.LEAF,
        Material.SOIL: palette.SOIL,
        Material.BODY: "#7d97ad",
    }
)
VERDICTS: Mapping[Verdict, str] = MappingProxyType(
    {
        Verdict.FAIL: palette.FAIL,
        Verdict.NOT_CHECKED: palette.SOFT_INK,
        Verdict.ADVISE: palette.ADVISE,
        Verdict.PASS: palette.PASS,
    }
)


def linear(colour: str) -> tuple[float, float, float]:
    """A ``#rrggbb`` colour in linear light, each 0 to 1 (the transfer curve of IEC 61966-2-1)."""
    shares = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return (round(red, 6), round(green, 6), round(blue, 6))
