"""The size of a catalogue part in one line, as it is called for in a shop."""

from __future__ import annotations

from collections.abc import Callable

from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    FlatShank,
    HalfBlade,
    Point,
    RetainingClip,
    RigidHolder,
    RoundShank,
    SpringHolder,
    SquareTube,
    TeeClamp,
    TrailingArm,
)
from rigmodel.catalog.strut_clamp import StrutClamp

Say = Callable[[float], str]


def size_text(part: AnyPart, say: Say, length_mm: float = 0.0) -> str:
    """The size of a part.

    Args:
        part: the part.
        say: writes a length in mm as text.
        length_mm: cut length of a tube, mm.
    """
    if isinstance(part, SquareTube):
        return f"{section_text(part, say)}, {say(length_mm)} long"
    if isinstance(part, FlatShank | RoundShank):
        return _shank(part, say)
    return _other(part, say)


def _other(part: AnyPart, say: Say) -> str:
    """The size of a part that is bought as it is."""
    if isinstance(part, BarClamp | TeeClamp | StrutClamp):
        text = _clamp(part, say)
    elif isinstance(part, RigidHolder | SpringHolder):
        text = f"slot {_by(say, part.slot_x, part.slot_y)}, {say(part.height)} high"
    elif isinstance(part, TrailingArm):
        text = f"{say(part.length)} long, section {_by(say, part.depth, part.width)}"
    elif isinstance(part, RetainingClip):
        text = f"{_by(say, part.width, part.thickness)}, bolt {say(part.bolt_diameter)}"
    elif isinstance(part, FingerWheel):
        text = f"{say(part.diameter)} over {part.finger_material} fingers"
    elif isinstance(part, ABlade | HalfBlade | Point):
        text = f"{say(part.width)} wide, {say(part.length)} long, {say(part.thickness)} thick"
    else:
        text = ""
    return text


def section_text(part: SquareTube | FlatShank | RoundShank, say: Say) -> str:
    """The section that a tube or shank is cut from."""
    if isinstance(part, SquareTube):
        solid = part.wall >= part.size / 2.0
        shape = f"{say(part.size)} square {'bar' if solid else 'tube'}"
        wall = "" if solid else f", {say(part.wall)} wall"
        holes = "" if part.hole_pitch is None else f", a hole every {say(part.hole_pitch)}"
        return shape + wall + holes
    if isinstance(part, FlatShank):
        return f"{_by(say, part.width, part.thickness)} flat bar"
    if part.wall >= part.diameter / 2.0:
        return f"{say(part.diameter)} round bar"
    return f"{say(part.diameter)} round tube, {say(part.wall)} wall"


def _clamp(part: BarClamp | TeeClamp | StrutClamp, say: Say) -> str:
    if isinstance(part, StrutClamp):
        plate = f"{_by(say, part.width, part.plate_depth, part.plate_thickness)} plate"
        return f"for a {say(part.fits)} bar, {plate}, {say(part.pin_diameter)} pin"
    if isinstance(part, BarClamp):
        plate = f"{_by(say, part.width, part.plate_height, part.plate_thickness)} plate"
        return f"for a {say(part.fits)} bar, {plate}"
    plate = f"{_by(say, part.plate_width, part.plate_width, part.plate_thickness)} plate"
    return f"{say(part.cross_fits)} tube under a {say(part.fits)} bar, {plate}"


def _shank(part: FlatShank | RoundShank, say: Say) -> str:
    text = f"{section_text(part, say)}, {say(part.length)} long"
    if isinstance(part, FlatShank) and part.crank:
        text += f", foot set {say(part.crank)} sideways"
    return text


def _by(say: Say, *values: float) -> str:
    return " × ".join(say(value) for value in values)
