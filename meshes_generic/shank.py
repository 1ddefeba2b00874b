"""Shanks: the upright legs that carry tools, and the clip that stops them falling through."""

from __future__ import annotations

from meshes_generic.building import (
    NUT_RADIUS,
    box_between,
    require_at_least,
    require_finite,
    rod,
    skewed_box,
)
from meshes_generic.mass import combine
from meshes_generic.material import Material, density_kg_m3
from meshes_generic.shapes import Cylinder, require_positive
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import translation


def flat_shank(
    width: float,
    thickness: float,
    length: float,
    crank: float,
    crank_low: float,
    crank_height: float,
) -> Solid:
    """A flat bar on edge, straight or cranked sideways.

    Datum: z = 0 at the foot, the upper straight part on x = y = 0; the foot is at y = crank.

    Args:
        width: of the bar along x, mm.
        thickness: of the bar along y, mm.
        length: height from the foot to the top, mm.
        crank: sideways offset of the foot, positive to the left, mm; 0 makes a straight bar and
            the next two sizes then make no difference.
        crank_low: height of the lower straight part, mm; may be 0.
        crank_height: height of the slanting part above it, mm.

    Raises:
        ValueError: where a size is not above 0 or the crank reaches above the top.
    """
    for name, value in (("width", width), ("thickness", thickness), ("length", length)):
        require_positive(name, value)
    require_finite("crank", crank)
    half_x, half_y = width / 2, thickness / 2
    if crank == 0:
        bar = box_between((-half_x, -half_y, 0.0), (half_x, half_y, length), "shank")
        return Solid((bar,))
    require_at_least("crank_low", crank_low, 0.0, "the crank lies above the foot")
    require_positive("crank_height", crank_height)
    start = crank_low + crank_height
    require_at_least("length", length, start, "the crank lies below the top")
    slant = skewed_box(
        (0.0, crank / 2, crank_low + crank_height / 2),
        ((width, 0.0, 0.0), (0.0, thickness, 0.0), (0.0, -crank, crank_height)),
        "shank crank",
    )
    pieces = [slant]
    if crank_low > 0:
        low, high = (-half_x, crank - half_y, 0.0), (half_x, crank + half_y, crank_low)
        pieces.append(box_between(low, high, "shank foot"))
    if length > start:
        low, high = (-half_x, -half_y, start), (half_x, half_y, length)
        pieces.append(box_between(low, high, "shank"))
    return Solid(tuple(pieces))


def round_shank(diameter: float, wall: float, length: float) -> Solid:
    """A round tube along z; datum: z = 0 at the foot, on its axis.

    Args:
        diameter: outer diameter, mm.
        wall: wall thickness, mm; half the diameter or more makes a solid bar.
        length: mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    require_positive("wall", wall)
    shape = Cylinder(diameter / 2, length)
    density = density_kg_m3(Material.STEEL)
    mass = shape.mass_properties(density)
    if wall < diameter / 2:
        mass = combine((mass, Cylinder(diameter / 2 - wall, length).mass_properties(-density)))
    return Solid((Piece(shape, translation(0.0, 0.0, length / 2), Material.STEEL, "shank", mass),))


def retaining_clip(width: float, thickness: float, bolt_diameter: float) -> Solid:
    """A strap bolted across a shank's top.

    Datum: the middle of the shank's top; the clip stands on z = 0.

    Args:
        width: of the strap along x, mm.
        thickness: of the strap along z, mm.
        bolt_diameter: mm; the strap is three diameters wide along y, the bolt's head on top 1.7
            diameters across and 0.7 diameters high.

    Raises:
        ValueError: where a size is not above 0.
    """
    d = bolt_diameter
    strap = box_between((-width / 2, -1.5 * d, 0.0), (width / 2, 1.5 * d, thickness), "clip")
    head = rod(
        (0.0, 0.0, thickness), (0.0, 0.0, thickness + 0.7 * d), 2 * NUT_RADIUS * d, "clip bolt"
    )
    return Solid((strap, head))
