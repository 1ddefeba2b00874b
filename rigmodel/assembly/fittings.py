"""How each kind of catalogue part becomes solids, a joint, and places for what it carries.

All fittings are left-handed and stand in their mount's axes (x forward, y left, z up, mm): the
mount is the place on the part above that they bolt to. A tool's mount faces backwards: what bolts
to it lies behind it, at x < 0.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from meshes_generic import arm, blade, clamp, finger_wheel, holder, shank, tube
from meshes_generic.material import Material
from meshes_generic.solid import Piece, Solid
from meshes_generic.surface import ClosedSurface
from meshes_generic.transform import (
    Transform,
    identity,
    rotation_x,
    rotation_y,
    rotation_z,
    translation,
)
from rigmodel.assembly.model import JointKind, Role
from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    FlatShank,
    HalfBlade,
    MeshPart,
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

SEAT_MM = 2.0  # a shank's foot stands this far over its blade


@dataclass(frozen=True, eq=False)
class Fitted:
    """One solid of a fitting.

    Attributes:
        suffix: added to the node's name; empty for the part itself.
        role: what it does.
        solid: the solid.
        moves: whether it moves with the hinge.
        on: suffix of the solid of the same fitting that it is fixed to; empty for the part above.
    """

    suffix: str
    role: Role
    solid: Solid
    moves: bool = False
    on: str = ""


@dataclass(frozen=True, eq=False)
class Hinge:
    """The joint of a fitting: a turn about y (positive lifts what lies behind, mm and degrees)."""

    kind: JointKind
    placement: Transform
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Slide:
    """A shank's adjustment: height of the holder's middle over the foot, mm."""

    low: float
    high: float
    step: float


@dataclass(frozen=True, eq=False)
class Fitting:
    """A part ready to be placed.

    Attributes:
        solids: its solids; those that move stand in the hinge's axes, the others in the mount's.
        hinge: its joint, or None.
        slide: for a shank, what its height may be; its solids then stand with the foot at z = 0.
        sockets: places for what it carries, in the hinge's axes where there is a hinge.
        usual: the socket taken when none is named.
    """

    solids: tuple[Fitted, ...]
    sockets: Mapping[str, Transform] = field(default_factory=lambda: MappingProxyType({}))
    usual: str = ""
    hinge: Hinge | None = None
    slide: Slide | None = None


@dataclass(frozen=True)
class Mounting:
    """What a fitting must know of the part it is mounted on.

    Attributes:
        reversed: the mount faces forward (front face of the bar, or a rank ahead of it).
        slot_height: height of the holder a shank slides in, mm.
        end_mm: least length of shank that must show above and below its holder, mm.
        side_mm: half the thickness across of the shank that a blade is bolted beside, mm.
        length_mm: cut length of a tube, mm.
    """

    reversed: bool = False
    slot_height: float = 0.0
    end_mm: float = 0.0
    side_mm: float = 0.0
    length_mm: float = 0.0


def _turned_back(mounting: Mounting, place: Transform) -> Transform:
    return place @ rotation_z(180.0) if mounting.reversed else place


def _bar_clamp(part: BarClamp, mounting: Mounting) -> Fitting:
    solid = clamp.bar_clamp(
        part.fits, part.width, part.plate_thickness, part.plate_height, part.bolt_diameter
    )
    face = translation(-(part.fits / 2.0 + part.plate_thickness), 0.0, 0.0)
    if mounting.reversed:
        solid, face = solid.moved(rotation_z(180.0)), rotation_z(180.0) @ face
    return Fitting((Fitted("", Role.CLAMP, solid),), {"face": face}, "face")


def _tee_clamp(part: TeeClamp, mounting: Mounting) -> Fitting:
    solid = clamp.tee_clamp(
        part.fits, part.cross_fits, part.plate_thickness, part.plate_width, part.bolt_diameter
    )
    drop = clamp.tee_drop(part.fits, part.cross_fits, part.plate_thickness)
    return Fitting(
        (Fitted("", Role.CLAMP, solid),), {"cross": translation(0.0, 0.0, -drop)}, "cross"
    )


def _strut_clamp(part: StrutClamp, mounting: Mounting) -> Fitting:
    """A strut's clamp about the bar's axis; its socket is the middle of its pin."""
    solid = clamp.strut_clamp(
        part.fits,
        part.width,
        part.plate_thickness,
        part.plate_depth,
        part.bolt_diameter,
        part.lug_thickness,
        part.pin_up,
        part.pin_diameter,
    )
    pin = translation(0.0, 0.0, part.pin_over_bar)
    return Fitting((Fitted("", Role.CLAMP, solid),), {"pin": pin}, "pin")


def _square_tube(part: SquareTube, mounting: Mounting) -> Fitting:
    """A cross tube, lying fore and aft; its middle is the mount."""
    length = mounting.length_mm
    solid = tube.square_tube(part.size, part.wall, length, part.corner_radius)
    sockets = {
        "rear": translation(-length / 2.0, 0.0, 0.0),
        "front": translation(length / 2.0, 0.0, 0.0) @ rotation_z(180.0),
    }
    return Fitting((Fitted("", Role.TUBE, solid.moved(rotation_z(90.0))),), sockets, "rear")


def _rigid_holder(part: RigidHolder, mounting: Mounting) -> Fitting:
    solid = holder.rigid_holder(
        part.slot_x, part.slot_y, part.wall, part.height, part.bolt_diameter
    )
    slot = translation(-holder.slot_setback(part.slot_x, part.wall), 0.0, 0.0)
    return Fitting(
        (Fitted("", Role.HOLDER, solid),), {"slot": _turned_back(mounting, slot)}, "slot"
    )


def _spring_holder(part: SpringHolder, mounting: Mounting) -> Fitting:
    bracket = holder.spring_bracket(
        part.bracket_width,
        part.bracket_height,
        part.bracket_thickness,
        part.pivot_back,
        part.pivot_up,
        part.pin_diameter,
    )
    body = holder.spring_body(
        part.slot_x,
        part.slot_y,
        part.wall,
        part.height,
        part.drop,
        part.spring_diameter,
        part.spring_length,
    )
    pin = translation(-part.pivot_back, 0.0, part.pivot_up)
    return Fitting(
        (
            Fitted("_bracket", Role.HOLDER, bracket),
            Fitted("", Role.HOLDER, body, moves=True, on="_bracket"),
        ),
        {"slot": translation(0.0, 0.0, -part.drop)},
        "slot",
        Hinge(JointKind.TRIP, pin, 0.0, 0.0, part.trip),
    )


def _trailing_arm(part: TrailingArm, mounting: Mounting) -> Fitting:
    bracket = arm.arm_bracket(
        part.bracket_width,
        part.bracket_height,
        part.bracket_thickness,
        part.pivot_back,
        part.pivot_drop,
        part.pin_diameter,
    )
    body = arm.arm_body(
        part.length, part.depth, part.width, part.spring_diameter, part.spring_length
    )
    pin = translation(-part.pivot_back, 0.0, -part.pivot_drop)
    end = translation(-part.length, 0.0, 0.0) @ rotation_y(-part.work_angle)
    return Fitting(
        (
            Fitted("_bracket", Role.ARM, bracket),
            Fitted("", Role.ARM, body, moves=True, on="_bracket"),
        ),
        {"end": end},
        "end",
        Hinge(JointKind.FLOAT, pin, part.work_angle, part.down_stop, part.up_stop),
    )


def _flat_shank(part: FlatShank, mounting: Mounting) -> Fitting:
    solid = shank.flat_shank(
        part.width, part.thickness, part.length, part.crank, part.crank_low, part.crank_height
    )
    return Fitting(
        (Fitted("", Role.SHANK, solid),),
        {"foot": translation(0.0, part.crank, 0.0), "top": translation(0.0, 0.0, part.length)},
        "foot",
        slide=_slide(part.straight_from, part.length, part.hole_pitch, mounting),
    )


def _round_shank(part: RoundShank, mounting: Mounting) -> Fitting:
    solid = shank.round_shank(part.diameter, part.wall, part.length)
    return Fitting(
        (Fitted("", Role.SHANK, solid),),
        {"foot": identity(), "top": translation(0.0, 0.0, part.length)},
        "foot",
        slide=_slide(0.0, part.length, part.hole_pitch, mounting),
    )


def _slide(straight_from: float, length: float, step: float | None, mounting: Mounting) -> Slide:
    half = mounting.slot_height / 2.0
    return Slide(
        straight_from + half + mounting.end_mm, length - half - mounting.end_mm, step or 0.0
    )


def _clip(part: RetainingClip, mounting: Mounting) -> Fitting:
    solid = shank.retaining_clip(part.width, part.thickness, part.bolt_diameter)
    return Fitting((Fitted("", Role.CLIP, solid),))


def _hoe(part: ABlade | HalfBlade | Point, mounting: Mounting) -> Fitting:
    """A hoe beside its shank: its centre lies left of the shank's by half of both thicknesses."""
    tang = (part.tang_height, part.tang_thickness, part.tang_length)
    if isinstance(part, Point):
        solid = blade.point(part.width, part.length, part.thickness, *tang)
    elif isinstance(part, ABlade):
        solid = blade.a_blade(part.width, part.length, part.thickness, part.sweep, *tang)
    else:
        solid = blade.half_blade(part.width, part.length, part.thickness, part.sweep, *tang)
    beside = mounting.side_mm + part.tang_thickness / 2.0
    place = translation(0.0, beside, -(part.thickness + SEAT_MM)) @ rotation_y(part.pitch)
    return Fitting((Fitted("", Role.BLADE, solid.moved(place)),))


def _finger_wheel(part: FingerWheel, mounting: Mounting) -> Fitting:
    """A tilted wheel under its stem: the left wheel of a pair, whose row lies to its right."""
    wheel = finger_wheel.finger_wheel(
        part.diameter,
        part.finger_length,
        part.finger_thickness,
        part.driver_diameter,
        part.driver_thickness,
        part.tine_length,
        part.hub_diameter,
        part.hub_height,
        Material(part.finger_material),
    )
    top = finger_wheel.hub_top(part.finger_thickness, part.driver_thickness, part.hub_height)
    lean = rotation_z(part.toe) @ rotation_x(part.tilt)
    ring = lean @ translation(0.0, 0.0, -(top + part.stub_length))
    stub = finger_wheel.axle(part.stub_diameter, part.stub_length)
    return Fitting(
        (
            Fitted("_axle", Role.AXLE, stub.moved(lean)),
            Fitted("", Role.FINGER_WHEEL, wheel.moved(ring), on="_axle"),
        )
    )


def mesh_solid(body: ClosedSurface, material: Material) -> Solid:
    """A body from a mesh file as a solid in the axes of the file, z up."""
    return Solid((Piece(body, identity(), material),))


def mesh_fitting(part: MeshPart, body: ClosedSurface) -> Fitting:
    """A part from a mesh file: its origin is its mount, and the place of what it carries."""
    solid = mesh_solid(body, Material(part.material))
    return Fitting((Fitted("", Role(part.role), solid),), {"origin": identity()}, "origin")


_FITTERS: Mapping[type, Callable[..., Fitting]] = MappingProxyType(
    {
        BarClamp: _bar_clamp,
        TeeClamp: _tee_clamp,
        StrutClamp: _strut_clamp,
        SquareTube: _square_tube,
        RigidHolder: _rigid_holder,
        SpringHolder: _spring_holder,
        TrailingArm: _trailing_arm,
        FlatShank: _flat_shank,
        RoundShank: _round_shank,
        RetainingClip: _clip,
        ABlade: _hoe,
        HalfBlade: _hoe,
        Point: _hoe,
        FingerWheel: _finger_wheel,
    }
)


def fit(part: AnyPart, mounting: Mounting) -> Fitting:
    """The fitting of a catalogue part on a given mount."""
    return _FITTERS[type(part)](part, mounting)


def mounting_under(part: AnyPart, above: Mounting, end_mm: float) -> Mounting:
    """What the parts carried by `part` must know of it."""
    if isinstance(part, RigidHolder | SpringHolder):
        return Mounting(slot_height=part.height, end_mm=end_mm)
    if isinstance(part, FlatShank):
        return Mounting(side_mm=part.thickness / 2.0)
    if isinstance(part, RoundShank):
        return Mounting(side_mm=part.diameter / 2.0)
    return Mounting(reversed=above.reversed)
