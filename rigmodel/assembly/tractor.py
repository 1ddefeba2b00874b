"""The tractor's tyres, frame and obstacles as parts, and its lift as a joint."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from meshes_generic import frame as frame_solids
from meshes_generic import tyre as tyre_solids
from meshes_generic.material import Material
from meshes_generic.solid import Solid
from meshes_generic.transform import Transform, roll_pitch_yaw, translation
from rigmodel.assembly.fittings import mesh_solid
from rigmodel.assembly.model import Joint, JointKind, Part, Role
from rigmodel.spec.resolve import Axle, Scene

_KEPT = 200  # tyres that are kept: many tractors stand on the same
FrameDraft = tuple[str, int, Transform, Joint | None]


def tractor_parts(scene: Scene, tractor: int) -> Iterator[tuple[FrameDraft | None, Part]]:
    """Every part of the tractor, with the frame it needs (None: the tractor's own).

    Tyres stand on the ground unloaded: their bulge and growth are a limit, not a shape. A front
    wheel steers about the upright line through its middle.
    """
    for axle in scene.axles:
        for side, name in ((1, "left"), (-1, "right")):
            full = f"tractor.{axle.name}.{name}.tyre"
            yield _tyre(scene, axle, side, full, tractor)
    yield None, _frame(scene)
    for obstacle in scene.tractor.obstacles:
        if obstacle.source is not None:
            solid = mesh_solid(scene.catalogue.bodies[obstacle.source], Material.BODY)
        else:
            assert obstacle.size is not None  # one of the two is always given
            solid = frame_solids.block(obstacle.size)
        yield None, _placed(scene, obstacle.name, solid, obstacle.at, obstacle.turn)


def _frame(scene: Scene) -> Part:
    """The whole body where a mesh of it is given, else the block that stands for the frame."""
    body, block = scene.tractor.body, scene.tractor.frame
    if body is not None:
        solid = mesh_solid(scene.catalogue.bodies[body.source], Material.BODY)
        return _placed(scene, "body", solid, body.at, body.turn)
    at = (block.ahead, block.offset, block.clearance + block.height / 2.0)
    solid = frame_solids.block((block.length, block.width, block.height))
    return _placed(scene, "frame", solid, at)


def _placed(
    scene: Scene,
    name: str,
    solid: Solid,
    at: tuple[float, float, float],
    turn: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> Part:
    """A part of the tractor; heights are over the ground under the tyres."""
    x, y, z = at
    place = translation(x, y, z + scene.floor_mm) @ roll_pitch_yaw(*turn)
    return Part(f"tractor.{name}", Role.TRACTOR, "", 0, solid.moved(place))


def _tyre(
    scene: Scene, axle: Axle, side: int, name: str, tractor: int
) -> tuple[FrameDraft | None, Part]:
    size = axle.tyre
    at = (axle.x_mm, side * axle.track_mm / 2.0, size.diameter_mm / 2.0 + scene.floor_mm)
    lock = scene.tractor.steering_lock
    if axle.name != "front" or lock == 0.0:
        return None, Part(name, Role.TYRE, "", 0, _tyre_at(size.diameter_mm, size.width_mm, at))
    joint = Joint(
        f"{name.removesuffix('.tyre')}.steer",
        JointKind.STEER,
        True,
        (0.0, 0.0, 1.0),
        0.0,
        -lock,
        lock,
    )
    solid = _tyre_solid(size.diameter_mm, size.width_mm)
    draft = (name.removesuffix(".tyre"), tractor, translation(*at), joint)
    return draft, Part(name, Role.TYRE, "", 0, solid)


@lru_cache(_KEPT)
def _tyre_solid(diameter: float, width: float) -> Solid:
    return tyre_solids.tyre(diameter, width)


@lru_cache(_KEPT)
def _tyre_at(diameter: float, width: float, at: tuple[float, float, float]) -> Solid:
    return _tyre_solid(diameter, width).moved(translation(*at))


def lift_joint(scene: Scene) -> tuple[Transform, Joint]:
    """The lift's placement on the tractor and its joint, 0 at work and positive raised.

    A parallel lift slides (mm). A pivoting lift turns (degrees) about a cross axis; its range is
    the angles at which the bar's centre stands at the lift's lowest and highest.
    """
    lift, height = scene.tractor.lift, scene.spec.toolbar.height
    lowest, highest = scene.lift_range_mm
    ahead = scene.tractor.toolbar_ahead
    if lift.kind == "parallel":
        up = (0.0, 0.0, 1.0)
        joint = Joint("lift", JointKind.LIFT, False, up, 0.0, lowest - height, highest - height)
        return translation(ahead, 0.0, height), joint
    pivot_x, pivot_z = lift.pivot_x or 0.0, (lift.pivot_z or 0.0) + scene.floor_mm
    axis = (0.0, 1.0 if pivot_x >= 0.0 else -1.0, 0.0)
    low, high = (lift_angle(abs(pivot_x), pivot_z, height, t) for t in (lowest, highest))
    joint = Joint("lift", JointKind.LIFT, True, axis, 0.0, low, high)
    return translation(ahead + pivot_x, 0.0, pivot_z), joint


def lift_angle(reach: float, pivot: float, height: float, target: float) -> float:
    """Angle in degrees that raises the bar's centre from `height` to `target` about a pivot.

    With the pivot `reach` away from the bar along x and `pivot` over the soil, and the bar's
    centre k = height - pivot over it, turning by θ puts the bar's centre reach·sin θ + k·cos θ over
    the pivot. A target out of reach gives the angle that comes nearest; a bar on the pivot itself
    stays where it is. All lengths mm.
    """
    rise = height - pivot
    if reach == 0.0 and rise == 0.0:
        return 0.0
    share = (target - pivot) / math.hypot(reach, rise)
    return math.degrees(math.asin(max(-1.0, min(1.0, share))) - math.atan2(rise, reach))
