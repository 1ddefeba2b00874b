"""Clamps that hold parts to a square bar with U-bolts."""

from __future__ import annotations

from meshes_generic.building import NUT_RADIUS, box_between, require_at_least, rod
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import rotation_y

_NUT_LENGTH = 1.2
"""How far a nut and its bolt's end stand out of a plate, in bolt diameters."""


def bar_clamp(
    tube_size: float,
    width: float,
    plate_thickness: float,
    plate_height: float,
    bolt_diameter: float,
) -> Solid:
    """A plate on the rear face of a bar, held by two U-bolts round the bar.

    Datum: the bar's axis, which is y through the origin; the clamp's middle is at y = 0. The
    plate's own rear face, where parts are mounted, is at x = -(tube_size/2 + plate_thickness).

    Args:
        tube_size: side of the square bar, mm.
        width: width of the plate along the bar, mm.
        plate_thickness: mm.
        plate_height: mm, centred on the bar.
        bolt_diameter: diameter of the U-bolts, which stand 1.5 diameters in from the plate's
            sides, mm.

    Raises:
        ValueError: where a size is not above 0 or the bolts do not fit on the plate.
    """
    for name, value in (("tube_size", tube_size), ("plate_thickness", plate_thickness)):
        require_positive(name, value)
    require_positive("bolt_diameter", bolt_diameter)
    d = bolt_diameter
    require_at_least("width", width, (3 + 2 * NUT_RADIUS) * d, "two U-bolts side by side")
    require_at_least("plate_height", plate_height, tube_size + 2 * d, "the bolts pass through it")
    half, rear = tube_size / 2, -(tube_size / 2 + plate_thickness)
    plate = box_between(
        (rear, -width / 2, -plate_height / 2), (-half, width / 2, plate_height / 2), "clamp plate"
    )
    pieces = [plate]
    for y in (width / 2 - 1.5 * d, 1.5 * d - width / 2):
        pieces.append(_front_leg(half, y, d))
        for z in (half + d / 2, -half - d / 2):
            pieces.append(rod((-half, y, z), (half, y, z), d, "U-bolt leg"))
            nut = (rear - _NUT_LENGTH * d, y, z)
            pieces.append(rod(nut, (rear, y, z), 2 * NUT_RADIUS * d, "nut"))
    return Solid(tuple(pieces))


def strut_clamp(
    tube_size: float,
    width: float,
    plate_thickness: float,
    plate_depth: float,
    bolt_diameter: float,
    lug_thickness: float,
    pin_up: float,
    pin_diameter: float,
) -> Solid:
    """A plate on top of a bar with an upright lug and its pin, held by two U-bolts round the bar.

    Datum: the bar's axis, which is y through the origin; the clamp's middle is at y = 0. The pin
    lies fore and aft at z = tube_size/2 + plate_thickness + pin_up; the lug, three pins wide along
    the bar, reaches one and a half pins over it. The pin is as long as the bar is wide.

    Args:
        tube_size: side of the square bar, mm.
        width: width of the plate along the bar, mm.
        plate_thickness: mm.
        plate_depth: the plate fore and aft, centred on the bar, mm.
        bolt_diameter: diameter of the U-bolts, mm.
        lug_thickness: fore and aft, mm.
        pin_up: middle of the pin over the plate, mm.
        pin_diameter: mm.

    Raises:
        ValueError: where a size is not above 0 or the bolts or the pin do not fit.
    """
    for name, value in (("lug_thickness", lug_thickness), ("pin_diameter", pin_diameter)):
        require_positive(name, value)
    require_at_least("tube_size", tube_size, 2 * lug_thickness, "the pin reaches past its lug")
    require_at_least("pin_up", pin_up, pin_diameter, "the pin stands over the plate")
    require_at_least("width", width, 3.0 * pin_diameter, "the lug stands on the plate")
    held = bar_clamp(tube_size, width, plate_thickness, plate_depth, bolt_diameter)
    foot = tube_size / 2 + plate_thickness
    lug = box_between(
        (-lug_thickness / 2, -1.5 * pin_diameter, foot),
        (lug_thickness / 2, 1.5 * pin_diameter, foot + pin_up + 1.5 * pin_diameter),
        "lug",
    )
    z = foot + pin_up
    pins = (  # what shows of it on either side of the lug
        rod((way * lug_thickness / 2, 0.0, z), (way * tube_size / 2, 0.0, z), pin_diameter, "pin")
        for way in (-1, 1)
    )
    return Solid((*held.moved(rotation_y(90.0)).pieces, lug, *pins))


def _front_leg(half: float, y: float, d: float) -> Piece:
    """The part of a U-bolt that lies upright against the bar's front face."""
    x = half + d / 2
    return rod((x, y, -half - d), (x, y, half + d), d, "U-bolt front")


def tee_drop(bar_size: float, cross_size: float, plate_thickness: float) -> float:
    """Height of a bar's axis above the axis of the cross tube clamped under it, mm."""
    return bar_size / 2 + plate_thickness + cross_size / 2


def tee_clamp(
    bar_size: float,
    cross_size: float,
    plate_thickness: float,
    plate_width: float,
    bolt_diameter: float,
) -> Solid:
    """Joins a bar to a cross tube under it, with a plate between and bolts round both.

    Datum: the bar's axis, which is y through the origin; the cross tube's axis is along x at
    z = -tee_drop. Four upright bolt legs stand in the corners beside both tubes; ties join them
    over the bar's top and under the cross tube's bottom.

    Args:
        bar_size: side of the bar, mm.
        cross_size: side of the cross tube, mm.
        plate_thickness: thickness of the plate between the two, mm.
        plate_width: side of the square plate, mm.
        bolt_diameter: mm.

    Raises:
        ValueError: where a size is not above 0 or the bolts do not fit through the plate.
    """
    for name, value in (("bar_size", bar_size), ("cross_size", cross_size)):
        require_positive(name, value)
    require_positive("plate_thickness", plate_thickness)
    require_positive("bolt_diameter", bolt_diameter)
    d = bolt_diameter
    least = max(bar_size, cross_size) + 2 * d
    require_at_least("plate_width", plate_width, least, "bolts pass beside both tubes")
    top, under = bar_size / 2, -(bar_size / 2 + plate_thickness)
    bottom = under - cross_size
    px, py, side = (bar_size + d) / 2, (cross_size + d) / 2, plate_width / 2
    pieces = [box_between((-side, -side, under), (side, side, -top), "tee plate")]
    for x in (px, -px):
        pieces.append(_tie((x, -py - d / 2, bottom - d / 2), (x, py + d / 2, bottom - d / 2), d))
        for y in (py, -py):
            pieces.append(rod((x, y, -top), (x, y, top), d, "U-bolt leg"))
            pieces.append(rod((x, y, bottom), (x, y, under), d, "U-bolt leg"))
    for y in (py, -py):
        pieces.append(_tie((-px - d / 2, y, top + d / 2), (px + d / 2, y, top + d / 2), d))
    return Solid(tuple(pieces))


def _tie(start: tuple[float, float, float], end: tuple[float, float, float], d: float) -> Piece:
    """The part of a U-bolt that lies across a tube."""
    return rod(start, end, d, "U-bolt tie")
