"""Trailing arms that float about a pivot behind their bracket."""

from __future__ import annotations

from meshes_generic.bracket import pivot_bracket
from meshes_generic.building import box_between, coil_spring, require_at_least
from meshes_generic.shapes import require_positive
from meshes_generic.solid import Solid


def arm_bracket(
    width: float,
    height: float,
    thickness: float,
    pivot_back: float,
    pivot_drop: float,
    pin_diameter: float,
) -> Solid:
    """A mounting plate with cheeks down to the arm's pivot.

    Datum: the centre of the mounting face, in the plane x = 0; the plate is at
    x in [-thickness, 0] and the pin's axis is y through (-pivot_back, 0, -pivot_drop). Sizes in
    mm as in `bracket.pivot_bracket`, which also lists what is refused.
    """
    return pivot_bracket(width, height, thickness, pivot_back, -pivot_drop, pin_diameter)


def arm_body(
    length: float, depth: float, width: float, spring_diameter: float, spring_length: float
) -> Solid:
    """The arm itself, with its pressure spring lying on top.

    Datum: the pivot, its axis y. The arm lies along -x from the pivot to (-length, 0, 0).

    Args:
        length: mm.
        depth: size along z, mm.
        width: size along y, mm.
        spring_diameter: mm.
        spring_length: mm, centred on the arm's length and no longer than it.

    Raises:
        ValueError: where a size is not above 0 or the spring is longer than the arm.
    """
    require_positive("spring_length", spring_length)
    require_at_least("length", length, spring_length, "the spring lies on the arm")
    bar = box_between((-length, -width / 2, -depth / 2), (0.0, width / 2, depth / 2), "arm")
    front, z = (spring_length - length) / 2, (depth + spring_diameter) / 2
    spring = coil_spring(
        (front - spring_length, 0.0, z), (front, 0.0, z), spring_diameter, "spring"
    )
    return Solid((bar, spring))
