"""Mass and balance: of parts, stations and the rig in a pose; the lift's moment; axle loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from meshes_generic.mass import MassProperties, combine
from meshes_generic.transform import FloatArray, inverse
from rigmodel.assembly.model import WORK, JointKind, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.constants import GRAVITY

LEAST_LEVER = 1.0  # a bar within this of straight over its pivot (mm) is not lifted by turning


def lifted_pose(assembly: Assembly, share: float) -> Pose:
    """The lift at a share of its range (0 lowest, 1 highest), every arm on its down stop."""
    joints = assembly.mechanism.joints.values()
    values = {j.name: j.low for j in joints if j.kind is JointKind.FLOAT}
    values |= {j.name: j.low + share * (j.high - j.low) for j in joints if j.kind is JointKind.LIFT}
    place = {0.0: "lowest", 1.0: "highest"}.get(share, f"at {100 * share:.0f} %")
    return Pose(f"lift {place}, arms down", MappingProxyType(values))


def part_masses(assembly: Assembly, pose: Pose = WORK) -> Mapping[str, MassProperties]:
    """Mass, centroid (world, mm) and inertia (kg mm²) of every part of the rig in a pose."""
    worlds = assembly.mechanism.frame_poses(pose)
    return MappingProxyType(
        {p.name: p.solid.mass_properties().moved(worlds[p.frame]) for p in assembly.rig_parts()}
    )


def station_masses(assembly: Assembly, pose: Pose = WORK) -> Mapping[str, MassProperties]:
    """The same for every station as one body."""
    masses = part_masses(assembly, pose)
    return MappingProxyType(
        {s.name: combine(masses[name] for name in s.parts) for s in assembly.stations}
    )


def strut_masses(assembly: Assembly, pose: Pose = WORK) -> Mapping[str, MassProperties]:
    """The same for every strut with its clamp."""
    masses = part_masses(assembly, pose)
    return MappingProxyType(
        {s.name: combine((masses[s.name], masses[s.clamp.part])) for s in assembly.struts}
    )


def rig_mass(assembly: Assembly, pose: Pose = WORK) -> MassProperties:
    """The bar and all that it carries as one body in a pose, world axes."""
    return combine(part_masses(assembly, pose).values())


def lifted_rigs(
    assembly: Assembly, shares: Sequence[float]
) -> tuple[tuple[Pose, MassProperties, FloatArray], ...]:
    """The rig at shares of the lift's range, arms on their down stops: one body the lift carries.

    Returns:
        For each share the pose, the rig in world axes and the bar's world transform (4, 4).
    """
    mechanism = assembly.mechanism
    bar = mechanism.part("bar").frame
    start = lifted_pose(assembly, 0.0)
    body = rig_mass(assembly, start).moved(inverse(mechanism.frame_pose(bar, start)))
    poses = [lifted_pose(assembly, share) for share in shares]
    worlds = [mechanism.frame_pose(bar, pose) for pose in poses]
    return tuple((p, body.moved(world), world) for p, world in zip(poses, worlds, strict=True))


@dataclass(frozen=True, eq=False)
class LiftLoad:
    """What the lift carries in one pose.

    Attributes:
        pose: name of the pose.
        bar_mm: height of the bar's centre over the soil's zero.
        mass_kg: the rig's mass.
        moment_nm: its moment about the lift's pivot, N m; 0 for a parallel lift.
        at_bar_kg: mass that would load the lift as much if it hung at the bar's centre.
        arm_mm: pivot to the rig's centre of gravity, positive ahead; 0 for a parallel lift.
        lever_mm: pivot to the bar's centre, likewise.
    """

    pose: str
    bar_mm: float
    mass_kg: float
    moment_nm: float
    at_bar_kg: float
    arm_mm: float = 0.0
    lever_mm: float = 0.0


def lift_loads(
    assembly: Assembly, shares: Sequence[float] = (0.0, 0.5, 1.0)
) -> tuple[LiftLoad, ...] | None:
    """The lift's load at shares of its range, from 0 (lowest) to 1 (highest).

    A parallel lift carries the rig's weight wherever it hangs. About a pivot, the load at the bar
    is the moment over the bar's own lever; both levers go as a sine of the lift's angle, so their
    ratio only rises or only falls and is greatest at an end of the range.

    Returns:
        The loads, or None where the bar stands over or under its pivot somewhere in the range.
    """
    found = []
    levers = []
    mechanism = assembly.mechanism
    lift = [frame.name for frame in mechanism.frames].index("lift")
    for pose, body, bar in lifted_rigs(assembly, shares):
        x, _, height = bar[:3, 3].tolist()
        if assembly.scene.tractor.lift.kind == "parallel":
            found.append(LiftLoad(pose.name, height, body.mass_kg, 0.0, body.mass_kg))
            continue
        pivot = float(mechanism.frame_pose(lift, pose)[0, 3])
        lever, arm = x - pivot, float(body.centroid_mm[0]) - pivot
        levers.append(lever)
        if min(levers) < LEAST_LEVER and max(levers) > -LEAST_LEVER:
            return None
        moment = body.mass_kg * GRAVITY * abs(arm) / 1000.0
        carried = body.mass_kg * arm / lever
        found.append(LiftLoad(pose.name, height, body.mass_kg, moment, carried, arm, lever))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class AxleLoads:
    """Load on each axle, kg.

    Attributes:
        front_kg: on the front axle.
        rear_kg: on the rear axle.
    """

    front_kg: float
    rear_kg: float

    @property
    def front_share(self) -> float:
        """Share of the whole that stands on the front axle."""
        return self.front_kg / (self.front_kg + self.rear_kg)


def axle_loads(
    front_kg: float, rear_kg: float, wheelbase_mm: float, rig_kg: float, rig_x_mm: float
) -> AxleLoads:
    """Axle loads with a rig on, by moments about the rear axle.

    Args:
        front_kg: front axle, tractor alone.
        rear_kg: rear axle, tractor alone.
        wheelbase_mm: axle to axle.
        rig_kg: mass of the rig.
        rig_x_mm: its centre of mass ahead of the rear axle.
    """
    forward = rig_kg * rig_x_mm / wheelbase_mm
    return AxleLoads(front_kg + forward, rear_kg + rig_kg - forward)
