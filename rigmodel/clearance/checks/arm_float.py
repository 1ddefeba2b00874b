"""arm-float: every trailing arm works inside its stops, with reserve each way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.model import Joint, JointKind, Pose
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.cures import height_cures
from rigmodel.clearance.finding import Finding, at_least
from rigmodel.clearance.heights import low_of
from rigmodel.clearance.scope import Scope

ID = "arm-float"
STATEMENT = "Every arm works inside its stops, with reserve each way; none bottoms out."
AT_STOP_DEG = 1e-6


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each arm against a stop, and one for the arm nearest to one."""
    assembly = scope.assembly
    arms = [j for j in assembly.mechanism.joints.values() if j.kind is JointKind.FLOAT]
    stuck = [joint for joint in arms if _left(joint) <= AT_STOP_DEG]
    for joint in stuck:
        yield _finding(assembly, joint)
    if arms and not stuck:
        yield _finding(assembly, min(arms, key=_left))
    if arms:
        yield _following(assembly)


@dataclass(frozen=True)
class Follow:
    """How far a tool on an arm can follow the soil from its working height, mm."""

    part: str
    arm: str
    up_mm: float
    down_mm: float

    @property
    def least_mm(self) -> float:
        """The roughness, above and below the profile, that its stops allow."""
        return min(self.up_mm, self.down_mm)


def follows(assembly: Assembly) -> tuple[Follow, ...]:
    """How far every tool on an arm can follow the soil, up to the stops."""
    joints = assembly.mechanism.joints
    armed = [tool for tool in assembly.tools if tool.arm]
    work = _heights(assembly, armed, {})
    high = _heights(assembly, armed, {tool.arm: joints[tool.arm].high for tool in armed})
    low = _heights(assembly, armed, {tool.arm: joints[tool.arm].low for tool in armed})
    return tuple(
        Follow(tool.part, tool.arm.removesuffix(".float"), up - middle, middle - down)
        for tool, down, middle, up in zip(armed, low, work, high, strict=True)
    )


def _heights(
    assembly: Assembly, tools: Sequence[ToolPlace], values: Mapping[str, float]
) -> list[float]:
    """Height of each tool's lowest point with some joints at given values, mm."""
    frames = assembly.mechanism.frame_poses(Pose("stop", values))
    parts = (assembly.mechanism.part(tool.part) for tool in tools)
    return [low_of(working_part(part), frames[part.frame]) for part in parts]


def _following(assembly: Assembly) -> Finding:
    """The roughness that the stops allow, against the one stated."""
    say = assembly.scene.say
    stated = assembly.scene.spec.tolerances.roughness
    least = min(follows(assembly), key=lambda follow: follow.least_mm)
    text = (
        f"The stops let every tool on an arm follow soil {say(least.least_mm)} above and below its "
        f"profile; {least.part} has {say(least.up_mm)} up and {say(least.down_mm)} down"
    )
    if stated is None:
        text += ". How rough the bed is, is not given (tolerances.roughness)."
    else:
        text += f"; the bed's roughness is {say(stated)}."
    limit = stated or 0.0
    return Finding(
        ID,
        at_least(least.least_mm, limit),
        least.least_mm,
        limit,
        "mm",
        text,
        parts=(least.arm,),
        pose_name="over the float",
        source="the bed's roughness, set in the scene",
        cures=height_cures(assembly),
    )


def _left(joint: Joint) -> float:
    return min(joint.value - joint.low, joint.high - joint.value)


def _finding(assembly: Assembly, joint: Joint) -> Finding:
    limits = assembly.scene.spec.limits
    arm, left = joint.name.removesuffix(".float"), _left(joint)
    down, up = joint.value - joint.low, joint.high - joint.value
    if left <= AT_STOP_DEG:
        stop = "down" if down < up else "up"
        text = (
            f"{arm} lies against its {stop} stop ({joint.value:.1f}°): its tool cannot follow the "
            f"soil{' down' if stop == 'down' else ' up'}."
        )
    else:
        text = (
            f"Every arm floats freely; {arm} is nearest to a stop: at {joint.value:.1f}° it has "
            f"{down:.1f}° down and {up:.1f}° up."
        )
    verdict = at_least(left - 2e-3 if left <= AT_STOP_DEG else left, 0.0, limits.arm_reserve)
    return Finding(
        ID,
        verdict,
        left,
        0.0,
        "deg",
        text,
        parts=(arm,),
        source=limits.source("arm_reserve"),
        cures=height_cures(assembly, lower=down < up, higher=up < down),
    )
