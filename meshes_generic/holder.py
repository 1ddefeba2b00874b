"""Holders with a slot that a shank slides in, rigid or on a trip spring."""

from __future__ import annotations

from meshes_generic.bracket import pivot_bracket
from meshes_generic.building import NUT_RADIUS, box_between, coil_spring, require_at_least, rod
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Piece, Solid


def slot_setback(slot_x: float, wall: float) -> float:
    """Distance of a rigid holder's slot axis behind its mounting face, mm."""
    return wall + slot_x / 2


def rigid_holder(
    slot_x: float, slot_y: float, wall: float, height: float, bolt_diameter: float
) -> Solid:
    """Four walls round an upright slot, with a set bolt in the rear one.

    Datum: the centre of the mounting face, in the plane x = 0; the body lies behind it. The
    slot's axis is z through x = -slot_setback.

    Args:
        slot_x: clear size of the slot fore and aft, mm.
        slot_y: clear size of the slot across, mm.
        wall: thickness of all four walls, mm.
        height: mm, half above and half below the datum.
        bolt_diameter: diameter of the set bolt, whose head stands 1.5 diameters out behind, mm.

    Raises:
        ValueError: where a size is not above 0.
    """
    require_positive("bolt_diameter", bolt_diameter)
    setback = slot_setback(slot_x, wall)
    rear = -setback - slot_x / 2 - wall
    head = rod(
        (rear - 1.5 * bolt_diameter, 0.0, 0.0),
        (rear, 0.0, 0.0),
        2 * NUT_RADIUS * bolt_diameter,
        "set bolt",
    )
    return Solid((*_slot_walls(slot_x, slot_y, wall, (-setback, 0.0, height)), head))


def _slot_walls(
    slot_x: float, slot_y: float, wall: float, place: tuple[float, float, float]
) -> tuple[Piece, ...]:
    """Four walls round a slot.

    Args:
        slot_x: clear size along x, mm.
        slot_y: clear size along y, mm.
        wall: thickness, mm.
        place: x and z of the slot's centre, then the walls' height, mm.
    """
    x, z, height = place
    sizes = (("slot_x", slot_x), ("slot_y", slot_y), ("wall", wall), ("height", height))
    for name, value in sizes:
        require_positive(name, value)
    half_x, half_y, low, high = slot_x / 2, slot_y / 2, z - height / 2, z + height / 2
    outer_x, outer_y = half_x + wall, half_y + wall
    return (
        box_between((x + half_x, -outer_y, low), (x + outer_x, outer_y, high), "front wall"),
        box_between((x - outer_x, -outer_y, low), (x - half_x, outer_y, high), "rear wall"),
        box_between((x - half_x, half_y, low), (x + half_x, outer_y, high), "side wall"),
        box_between((x - half_x, -outer_y, low), (x + half_x, -half_y, high), "side wall"),
    )


def spring_bracket(
    width: float,
    height: float,
    thickness: float,
    pivot_back: float,
    pivot_up: float,
    pin_diameter: float,
) -> Solid:
    """The fixed half of a spring holder: a mounting plate with cheeks up to the trip pivot.

    Datum: the centre of the mounting face, in the plane x = 0; the plate is at
    x in [-thickness, 0] and the pin's axis is y through (-pivot_back, 0, pivot_up). Sizes in mm
    as in `bracket.pivot_bracket`, which also lists what is refused.
    """
    return pivot_bracket(width, height, thickness, pivot_back, pivot_up, pin_diameter)


def spring_body(
    slot_x: float,
    slot_y: float,
    wall: float,
    height: float,
    drop: float,
    spring_diameter: float,
    spring_length: float,
) -> Solid:
    """The half of a spring holder that trips back: slot walls hung from the pivot.

    Datum: the pivot pin, its axis y. The slot's axis is z through the origin, its walls' middle
    at z = -drop. Two straps beside the slot are the neck up to the pivot, and end one wall above
    it; the spring lies along x behind them at the pivot's height.

    Args:
        slot_x: clear size of the slot fore and aft, mm.
        slot_y: clear size of the slot across, mm.
        wall: thickness of walls and straps, mm.
        height: height of the slot walls, mm.
        drop: pivot to the middle of the walls, mm; more than half their height.
        spring_diameter: mm.
        spring_length: mm.

    Raises:
        ValueError: where a size is not above 0 or the walls reach up to the pivot.
    """
    require_positive("spring_length", spring_length)
    walls = _slot_walls(slot_x, slot_y, wall, (0.0, -drop, height))
    require_at_least("drop", drop, height / 2, "the slot hangs below the pivot")
    low, back = height / 2 - drop, slot_x / 2 + wall
    inner, outer = slot_y / 2, slot_y / 2 + wall
    return Solid(
        (
            *walls,
            box_between((-back, inner, low), (back, outer, wall), "neck"),
            box_between((-back, -outer, low), (back, -inner, wall), "neck"),
            coil_spring(
                (-back - spring_length, 0.0, 0.0), (-back, 0.0, 0.0), spring_diameter, "spring"
            ),
        )
    )
