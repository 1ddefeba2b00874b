"""ground-contact: with the bar level, every tool meets its working depth, all at the same time."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.cures import height_cures, shank_cures
from rigmodel.clearance.finding import Finding, Verdict, at_most
from rigmodel.clearance.heights import Low, lowest_point, lowest_points
from rigmodel.clearance.scope import Scope

ID = "ground-contact"
STATEMENT = "With the bar level, every tool meets its working depth at the same time."


def depth_error(tool: ToolPlace, low: Low) -> float:
    """How much deeper (+) or shallower (-) than asked a tool runs, mm."""
    return tool.soil_mm - low.z_mm - tool.depth_mm


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each tool off its depth, and one for the rig when none is."""
    assembly = scope.assembly
    limit = assembly.scene.spec.limits.depth_tolerance
    lows = lowest_points(assembly, assembly.level_pose)
    errors = [(depth_error(tool, lows[tool.part]), tool) for tool in assembly.tools]
    off = [(e, t) for e, t in errors if abs(e) > limit]
    for error, tool in off:
        yield _finding(assembly, error, tool, lows[tool.part])
    if not off and errors:
        error, tool = max(errors, key=lambda pair: abs(pair[0]))
        yield _finding(assembly, error, tool, lows[tool.part])
    yield from dragging(assembly)


DRAGS = frozenset({Role.BAR, Role.CLAMP, Role.TUBE, Role.HOLDER, Role.ARM, Role.CLIP})


def dragging(assembly: Assembly) -> Iterator[Finding]:
    """One finding for each part that is no tool and yet reaches into the soil at work."""
    frames = assembly.mechanism.frame_poses(assembly.level_pose)
    say = assembly.scene.say
    for part in assembly.rig_parts():
        if part.role not in DRAGS:
            continue
        solid = part.solid.moved(frames[part.frame])
        low = lowest_point(solid)
        over = low.z_mm - assembly.soil.top(*solid.extent((0.0, 1.0, 0.0)))
        if over < 0.0:
            x, y, z = low.point
            yield Finding(
                ID,
                Verdict.FAIL,
                over,
                0.0,
                "mm",
                f"{part.name} drags {say(-over)} deep in the soil.",
                parts=(part.name,),
                at=((x, y, z), (x, y, z - over)),
                pose_name="level",
                source="common practice, no source",
                cures=height_cures(assembly),
            )


def _finding(assembly: Assembly, error: float, tool: ToolPlace, low: Low) -> Finding:
    limits = assembly.scene.spec.limits
    say = assembly.scene.say
    limit = limits.depth_tolerance
    verdict = at_most(abs(error), limit)
    if abs(error) <= limit:
        text = (
            f"All {len(assembly.tools)} tools meet their depth; the farthest off is {tool.part}, "
            f"by {say(abs(error))}."
        )
    else:
        which = "too deep" if error > 0 else "too shallow"
        reached = tool.depth_mm + error
        where = f"reaches {say(reached)}" if reached >= 0.0 else f"hangs {say(-reached)} in the air"
        text = (
            f"{tool.part} runs {say(abs(error))} {which}: it {where}, and "
            f"{say(tool.depth_mm)} of depth was asked."
        )
    ground = (low.point[0], low.point[1], tool.soil_mm - tool.depth_mm)
    return Finding(
        ID,
        verdict,
        abs(error),
        limit,
        "mm",
        text,
        parts=(tool.part,),
        at=(low.point, ground),
        pose_name="level",
        source=limits.source("depth_tolerance"),
        cures=(*height_cures(assembly), *shank_cures(assembly, tool)),
    )
