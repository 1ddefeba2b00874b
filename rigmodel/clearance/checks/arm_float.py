"""arm-float: every trailing arm works inside its stops, with reserve each way."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Joint, JointKind
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import height_cures
from rigmodel.clearance.finding import Finding, at_least
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
        cures=height_cures(assembly),
    )
