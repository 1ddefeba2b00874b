"""How arms ride at work when the bar is tilted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from meshes_generic.transform import identity
from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.model import JointKind, Mechanism
from rigmodel.assembly.rig import ToolPlace
from rigmodel.assembly.station import extent_along, rising_root


def riding(mechanism: Mechanism, tools: Sequence[ToolPlace]) -> Mechanism:
    """The mechanism with each arm at the angle its tool rides at under the bar's roll and pitch.

    The settings were solved on a level bar; a tilted bar lets each arm find its height again.
    """
    tilted = any(
        joint.value != 0.0
        for joint in mechanism.joints.values()
        if joint.kind in (JointKind.ROLL, JointKind.PITCH)
    )
    if not tilted:
        return mechanism
    return with_values(mechanism, ride_angles(mechanism, tools))


def ride_angles(mechanism: Mechanism, tools: Sequence[ToolPlace]) -> dict[str, float]:
    """Angle in degrees at which each arm rides with its tool at depth, by the arm's joint."""
    return {tool.arm: ride_angle(mechanism, tool) for tool in tools if tool.arm}


def with_values(mechanism: Mechanism, values: Mapping[str, float]) -> Mechanism:
    """The mechanism with some joints standing at other values, by name."""
    frames = tuple(
        replace(f, joint=replace(f.joint, value=values[f.joint.name]))
        if f.joint is not None and f.joint.name in values
        else f
        for f in mechanism.frames
    )
    return Mechanism(frames, mechanism.parts)


def ride_angle(mechanism: Mechanism, tool: ToolPlace) -> float:
    """Angle in degrees at which a tool on an arm rides at its depth, or the stop nearest to it."""
    part, joint = mechanism.part(tool.part), mechanism.joints[tool.arm]
    solid = working_part(part)
    chain = mechanism.chain(part.frame)

    def over(angle: float) -> float:
        world = identity()
        for i in chain:
            frame = mechanism.frames[i]
            world = world @ frame.placement
            if frame.joint is not None:
                value = angle if frame.joint.name == tool.arm else frame.joint.value
                world = world @ frame.joint.motion(value)
        return extent_along(solid, world, 2)[0] - (tool.soil_mm - tool.depth_mm)

    return rising_root(over, joint.low, joint.high)
