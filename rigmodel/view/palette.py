"""Colours: neutral greys for steel, hues that colour-blind readers can tell apart for the rest.

The hues are those of the palette by Okabe and Ito, "Color Universal Design" (2008; from memory).
"""

from __future__ import annotations

from meshes_generic.material import Material
from rigmodel.assembly.model import Part, Role
from rigmodel.view.picture import Style

BACKGROUND = "#fcfcfb"
INK = "#22262a"
SOFT_INK = "#6b7278"
HAIRLINE = "#d5d8da"
FAIL = "#d55e00"
ADVISE = "#0072b2"
PASS = "#00785a"
CROP = "#009e73"
LEAF = "#3f9c5c"
GHOST = "#56b4e9"
GHOST_EDGE = "#3d97cc"
SOIL = "#b4946f"
SOIL_DEEP = "#8f7252"
TYRE = "#24272b"
FINGERS = "#4a4350"

_EDGE = "#343a40"
_STEEL = {
    Role.BAR: "#8b969f",
    Role.TUBE: "#98a2aa",
    Role.STRUT: "#98a2aa",
    Role.CLAMP: "#b3bbc1",
    Role.HOLDER: "#a4adb4",
    Role.ARM: "#959fa7",
    Role.SHANK: "#87919a",
    Role.CLIP: "#b3bbc1",
    Role.BLADE: "#ccd2d6",
    Role.FINGER_WHEEL: "#aeb6bc",
    Role.AXLE: "#8b949b",
}
_OTHERS = {
    Material.CAST_IRON: "#767f87",
    Material.RUBBER: FINGERS,
    Material.POLYURETHANE: FINGERS,
    Material.PLANT: LEAF,
    Material.SOIL: SOIL,
    Material.BODY: "#7d97ad",
}

SOIL_TOP = Style(SOIL, opacity=0.62)
SOIL_WALLS = Style(SOIL_DEEP)
SOIL_FLOOR = Style(SOIL_DEEP)
SOIL_CUT = Style(SOIL)
BAND = Style(CROP, opacity=0.34)
LEAVES = Style(LEAF, gloss=0.1)
RIM = Style("#6d757c", gloss=0.3)
GHOST_STYLE = Style(GHOST, opacity=0.2, edge=GHOST_EDGE, edge_width=0.6)
TYRE_STYLE = Style(TYRE, gloss=0.15, edge="#000000", edge_width=1.0)
TYRE_SEEN_THROUGH = Style(TYRE, opacity=0.16, edge="#4d5358", edge_width=1.0)
RIM_SEEN_THROUGH = Style("#6d757c", opacity=0.12)
FRAME_STYLE = Style(_OTHERS[Material.BODY], opacity=0.16, edge="#5d7488", edge_width=1.1)


def style_of(part: Part, material: Material) -> Style:
    """How the pieces of one material of a part look; fingers by material, never by hardness."""
    if part.role is Role.TYRE:
        return TYRE_STYLE
    if material is Material.BODY:
        return FRAME_STYLE
    if material is Material.STEEL:
        colour = _STEEL.get(part.role, "#9aa3ab")
        return Style(colour, gloss=0.55, edge=_EDGE, edge_width=0.85)
    return Style(_OTHERS[material], gloss=0.1, edge="#15171a")
