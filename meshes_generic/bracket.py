"""A plate with two cheeks that carry a pivot pin."""

from __future__ import annotations

from meshes_generic.building import box_between, require_at_least, require_finite, rod, skewed_box
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Piece, Solid


def pivot_bracket(
    width: float,
    height: float,
    thickness: float,
    pivot_back: float,
    pivot_up: float,
    pin_diameter: float,
) -> Solid:
    """A mounting plate with two cheeks to a pivot pin behind it.

    Datum: the centre of the mounting face, in the plane x = 0. The pin's axis is y through
    (-pivot_back, 0, pivot_up). The cheeks lie flush with the plate's sides, are as thick as the
    plate and two pin diameters high, and end one pin diameter behind the pin; the pin runs
    between them.

    Args:
        width: over the cheeks, mm.
        height: of the plate, mm; at least two pin diameters.
        thickness: of plate and cheeks, mm.
        pivot_back: pin behind the mounting face, mm; clear of the plate.
        pivot_up: pin above the middle of the plate, mm; negative below it.
        pin_diameter: mm.

    Raises:
        ValueError: where a size is not above 0 or the pin has no room.
    """
    require_positive("thickness", thickness)
    require_positive("pin_diameter", pin_diameter)
    require_finite("pivot_up", pivot_up)
    require_at_least("width", width, 3 * thickness, "two cheeks and room between them")
    require_at_least("height", height, 2 * pin_diameter, "the cheeks stand on the plate")
    least = thickness + pin_diameter / 2
    require_at_least("pivot_back", pivot_back, least, "the pin is clear of the plate")
    plate = box_between(
        (-thickness, -width / 2, -height / 2), (0.0, width / 2, height / 2), "mounting plate"
    )
    inside = width / 2 - thickness
    pin = rod(
        (-pivot_back, -inside, pivot_up), (-pivot_back, inside, pivot_up), pin_diameter, "pivot pin"
    )
    cheeks = [
        _cheek(y, height, thickness, pivot_back, pivot_up, pin_diameter)
        for y in (inside + thickness / 2, -inside - thickness / 2)
    ]
    return Solid((plate, *cheeks, pin))


def _cheek(
    y: float, height: float, thickness: float, back: float, up: float, pin_diameter: float
) -> Piece:
    """One cheek: from the nearest level on the plate straight to the pin and past it."""
    room = height / 2 - pin_diameter
    level = min(max(up, -room), room)
    rise = (up - level) / (back - thickness)
    run = back + pin_diameter - thickness
    return skewed_box(
        (-thickness - run / 2, y, level + rise * run / 2),
        ((-run, 0.0, rise * run), (0.0, thickness, 0.0), (0.0, 0.0, 2 * pin_diameter)),
        "cheek",
    )
