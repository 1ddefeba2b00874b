"""Down-force of the tools on trailing arms over their float."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from types import MappingProxyType

from meshes_generic.mass import combine
from meshes_generic.transform import inverse
from rigmodel.assembly.model import Pose
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.catalog.kinds import TrailingArm
from rigmodel.loads.constants import GRAVITY


@dataclass(frozen=True, eq=False)
class DownForce:
    """Force of a tool on the soil at one angle of its arm.

    Attributes:
        angle: angle of the arm, degrees.
        force_n: force downwards at the tool, N.
        weight_nm: moment about the pivot of the weight of all that turns, N m.
        spring_n: force of the spring, N.
        reach_mm: how far the tool stands behind the pivot.
    """

    angle: float
    force_n: float
    weight_nm: float
    spring_n: float
    reach_mm: float


def arm_entry(assembly: Assembly, tool: ToolPlace) -> TrailingArm | None:
    """Catalogue entry of the arm a tool hangs on, or None."""
    if not tool.arm:
        return None
    name = tool.arm.removesuffix(".float")
    entry = assembly.scene.catalogue.parts.get(assembly.mechanism.part(name).item)
    return entry if isinstance(entry, TrailingArm) else None


def known(entry: TrailingArm) -> bool:
    """Whether an arm's spring is fully stated."""
    stated = (entry.spring_rate_n_mm, entry.spring_preload_n, entry.spring_lever)
    return all(value is not None for value in stated)


def down_forces(
    assembly: Assembly,
    tool: ToolPlace,
    entry: TrailingArm,
    angles: Iterable[float] | None = None,
) -> tuple[DownForce, ...]:
    """Down-force at some angles, by moments about the pivot.

    The spring presses the arm down at a constant lever and its force grows as the arm rises from
    its work angle; it never pulls. Draft, which presses or lifts by its height under the pivot, is
    left out. Call it only where `known` holds.

    Args:
        assembly: the rig.
        tool: the tool.
        entry: the arm it hangs on.
        angles: degrees; the down stop, the working angle and the up stop if left out.
    """
    joint = assembly.mechanism.joints[tool.arm]
    lever = entry.spring_lever or 0.0
    hole = assembly.scene.spec.stations[assembly.station[tool.station].index].spring_hole
    rate, preload = entry.spring_rate_n_mm or 0.0, entry.preload_n(hole) or 0.0
    turned = _turned(assembly, tool)
    found = []
    for angle in sorted({joint.low, joint.value, joint.high}) if angles is None else angles:
        moment, reach = turned(angle)
        pressed = lever * math.radians(angle - entry.work_angle)
        spring = max(0.0, preload + rate * pressed)
        force = (moment + spring * lever) / reach
        found.append(DownForce(angle, force, moment / 1000.0, spring, reach))
    return tuple(found)


def at_work(assembly: Assembly, tool: ToolPlace, forces: tuple[DownForce, ...]) -> DownForce:
    """The one of a tool's down-forces that it has at its work angle."""
    angle = assembly.mechanism.joints[tool.arm].value
    return min(forces, key=lambda force: abs(force.angle - angle))


def _turned(assembly: Assembly, tool: ToolPlace) -> Callable[[float], tuple[float, float]]:
    """For an angle of a tool's arm, the moment of all that turns with it, and the tool's reach.

    What the function gives is the moment of the weight about the pivot (N mm) and the tool's
    distance behind it (mm).
    """
    mechanism, work = assembly.mechanism, assembly.work_frames
    pivot = next(i for i, f in enumerate(mechanism.frames) if f.joint and f.joint.name == tool.arm)
    parts = [mechanism.part(name) for name in assembly.station[tool.station].parts]
    carried = [p for p in parts if pivot in mechanism.chain(p.frame)]
    back = inverse(work[pivot])  # beyond its pivot the arm is one body
    body = combine(p.solid.mass_properties().moved(back @ work[p.frame]) for p in carried)
    part = mechanism.part(tool.part)
    tip = part.solid.mass_properties().moved(back @ work[part.frame])

    def at(angle: float) -> tuple[float, float]:
        world = mechanism.frame_pose(pivot, Pose("arm", MappingProxyType({tool.arm: angle})))
        x = float(world[0, 3])
        arm = x - float(body.moved(world).centroid_mm[0])
        return body.mass_kg * GRAVITY * arm, max(x - float(tip.moved(world).centroid_mm[0]), 1.0)

    return at
