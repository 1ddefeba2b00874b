"""lift: work height inside the lift's range, and lifted tools clear of ground and crop."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from rigmodel.assembly.model import JointKind, Part, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Choice, Finding, Knob, Verdict, at_least
from rigmodel.clearance.heights import Low, low_of, lowest_point
from rigmodel.clearance.scope import Scope

ID = "lift"
STATEMENT = "Work height lies inside the lift's range, and lifted tools clear the ground and crop."


def raised_pose(assembly: Assembly) -> Pose:
    """Fully lifted, every arm hanging on its down stop."""
    joints = assembly.mechanism.joints.values()
    values = {j.name: j.low for j in joints if j.kind is JointKind.FLOAT}
    values |= {j.name: j.high for j in joints if j.kind is JointKind.LIFT}
    return Pose("raised, arms down", MappingProxyType(values))


def findings(scope: Scope) -> Iterator[Finding]:
    """Three findings: the lift's reserve, and the heights over ground and over plants."""
    assembly = scope.assembly
    yield _range(assembly)
    pose = raised_pose(assembly)
    frames = assembly.mechanism.frame_poses(pose)
    part = min(assembly.rig_parts(), key=lambda p: low_of(p.solid, frames[p.frame]))
    low = lowest_point(part.solid, frames[part.frame])
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    ground = max(0.0, *(assembly.soil.height(row.y_mm) for row in assembly.rows))
    yield _height(
        assembly,
        low,
        part,
        low.z_mm - ground,
        limits.lift_ground,
        limits.source("lift_ground"),
        f"Fully lifted, the lowest part is {part.name}, {say(low.z_mm - ground)} over the soil",
        ground,
    )
    crop = max(row.soil_mm + row.plants.height for row in assembly.rows)
    if crop > ground:
        yield _height(
            assembly,
            low,
            part,
            low.z_mm - crop,
            limits.lift_crop,
            limits.source("lift_crop"),
            f"Fully lifted, {part.name} passes {say(low.z_mm - crop)} over the plants",
            crop,
        )


def _height(
    assembly: Assembly,
    low: Low,
    part: Part,
    value: float,
    limit: float,
    source: str,
    text: str,
    base: float,
) -> Finding:
    verdict = at_least(value, limit)
    need = assembly.scene.say(limit)
    text += f"; {need} is needed." if verdict == "fail" else f" ({need} needed)."
    highest = assembly.scene.tractor.lift.highest
    return Finding(
        ID,
        verdict,
        value,
        limit,
        "mm",
        text,
        parts=(part.name,),
        at=(low.point, (low.point[0], low.point[1], base)),
        pose=raised_pose(assembly).values,
        pose_name="raised, arms on their down stops",
        source=source,
        cures=(
            Knob(
                ("tractor", "lift", "highest"),
                highest,
                highest + 500.0,
                "mm",
                "raise the lift's upper end",
            ),
        ),
    )


def _range(assembly: Assembly) -> Finding:
    lowest, highest = assembly.scene.lift_range_mm
    height = assembly.scene.spec.toolbar.height
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    down, up = height - lowest, highest - height
    left = min(down, up)
    verdict = at_least(left, 0.0, limits.lift_reserve)
    if verdict is Verdict.FAIL:
        text = (
            f"The bar works at {say(height)}, but the lift only goes from {say(lowest)} to "
            f"{say(highest)}."
        )
    else:
        text = (
            f"The bar works at {say(height)}, {say(down)} over the lift's lowest and {say(up)} "
            f"under its highest."
        )
    inside = min(max(height, lowest + limits.lift_reserve), highest - limits.lift_reserve)
    return Finding(
        ID,
        verdict,
        left,
        0.0,
        "mm",
        text,
        parts=("bar",),
        source=limits.source("lift_reserve"),
        cures=(
            Choice(("toolbar", "height"), (inside,), height, "work inside the lift's range", "mm"),
        ),
    )
