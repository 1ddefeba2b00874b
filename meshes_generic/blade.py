"""Blades that run just under the surface: wide, one-sided and narrow."""

from __future__ import annotations

import math

from meshes_generic.building import box_between, require_at_least, skewed_box
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Piece, Solid


def a_blade(
    width: float,
    length: float,
    thickness: float,
    sweep_deg: float,
    tang_height: float,
    tang_thickness: float,
    tang_length: float,
) -> Solid:
    """A flat A-shaped blade, point forward, under an upright tang.

    Datum: y = 0 the blade's centre line, x = 0 the tang's centre and the middle of the blade on
    the centre line, z = 0 the blade's lower face.

    Args:
        width: over both wings, mm.
        length: of each wing fore and aft (its chord), mm.
        thickness: of the blade, mm.
        sweep_deg: how far the edge is swept back from square across, 0 to below 85 degrees.
        tang_height: height of the tang's top above the blade's lower face, mm.
        tang_thickness: of the tang along y, mm.
        tang_length: of the tang along x, mm.

    Raises:
        ValueError: where a size is not above 0 or the tang does not stand out of the blade.
    """
    left = _wing(width / 2, length, thickness, sweep_deg, 0.0)
    tang = _tang(thickness, tang_height, tang_thickness, tang_length)
    return Solid((left, left.mirrored_y(), tang))


def half_blade(
    width: float,
    length: float,
    thickness: float,
    sweep_deg: float,
    tang_height: float,
    tang_thickness: float,
    tang_length: float,
) -> Solid:
    """A blade with a left wing only, from the tang's line to y = width.

    Datum and sizes as for `a_blade`, with y = 0 the middle of the tang's thickness; mirror it for
    the right hand.

    Raises:
        ValueError: where a size is not above 0 or the tang does not stand out of the blade.
    """
    wing = _wing(width, length, thickness, sweep_deg, 0.0)
    return Solid((wing, _tang(thickness, tang_height, tang_thickness, tang_length)))


def point(
    width: float,
    length: float,
    thickness: float,
    tang_height: float,
    tang_thickness: float,
    tang_length: float,
) -> Solid:
    """A narrow point under an upright tang; its nose is a right angle.

    Datum: as for `a_blade`; the point reaches length/2 before and behind it.

    Args:
        width: mm, less than twice the length.
        length: over all, mm.
        thickness: of the point, mm.
        tang_height: height of the tang's top above the point's lower face, mm.
        tang_thickness: of the tang along y, mm.
        tang_length: of the tang along x, mm.

    Raises:
        ValueError: where a size is not above 0, the point is wider than twice its length or the
            tang does not stand out of it.
    """
    require_positive("width", width)
    require_positive("length", length)
    nose = width / 2
    if nose >= length:
        raise ValueError(f"width must be less than twice the length {length!r}, not {width!r}")
    left = _wing(nose, length - nose, thickness, 45.0, nose / 2)
    tang = _tang(thickness, tang_height, tang_thickness, tang_length)
    return Solid((left, left.mirrored_y(), tang))


def _wing(reach: float, chord: float, thickness: float, sweep_deg: float, x: float) -> Piece:
    """A left wing from y = 0 to y = reach whose root chord is centred on x."""
    for name, value in (("width", reach), ("length", chord), ("thickness", thickness)):
        require_positive(name, value)
    if not 0.0 <= sweep_deg < 85.0:
        raise ValueError(f"sweep_deg must be from 0 to below 85, not {sweep_deg!r}")
    back = reach * math.tan(math.radians(sweep_deg))
    return skewed_box(
        (x - back / 2, reach / 2, thickness / 2),
        ((chord, 0.0, 0.0), (-back, reach, 0.0), (0.0, 0.0, thickness)),
        "wing",
    )


def _tang(thickness: float, height: float, across: float, length: float) -> Piece:
    """The upright plate on the centre line, standing on the blade."""
    require_at_least("tang_height", height, thickness, "the tang stands on the blade")
    return box_between(
        (-length / 2, -across / 2, thickness), (length / 2, across / 2, height), "tang"
    )
