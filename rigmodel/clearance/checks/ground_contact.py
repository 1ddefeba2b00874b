"""ground-contact: with the bar level, every tool meets its working depth, all at the same time."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from rigmodel.assembly.model import Pose, Role
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.bar_cures import bar_cures, why_no_larger
from rigmodel.clearance.cures import height_cures, shank_cures
from rigmodel.clearance.finding import AGREES_MM, Finding, Verdict, at_least, at_most
from rigmodel.clearance.heights import Low, low_of, lowest_point, lowest_points
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.bar import ASSUMED, dip_ranges
from rigmodel.loads.constants import ENGINEER

ID = "ground-contact"
STATEMENT = "With the bar level, every tool meets its working depth at the same time."


def depth_error(tool: ToolPlace, low: Low) -> float:
    """How much deeper (+) or shallower (-) than asked a tool runs, mm."""
    return tool.soil_mm - low.z_mm - tool.depth_mm


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each tool off its depth, and one for the rig when none is."""
    assembly = scope.assembly
    limit = assembly.scene.spec.limits.depth_tolerance
    lows = scope.level_lows
    errors = [(depth_error(tool, lows[tool.part]), tool) for tool in assembly.tools]
    off = [(e, t) for e, t in errors if at_most(abs(e), limit) is Verdict.FAIL]
    for error, tool in off:
        yield _finding(assembly, error, tool, lows[tool.part])
    if not off and errors:
        error, tool = max(errors, key=lambda pair: abs(pair[0]))
        yield _finding(assembly, error, tool, lows[tool.part])
    yield from _sagging(scope)
    yield from _some_in_the_soil(scope)
    yield from _over_bumps(assembly)
    yield from dragging(assembly)


def _sagging(scope: Scope) -> Iterator[Finding]:
    """The tool without an arm that the bar's sag puts farthest off the depth asked."""
    assembly = scope.assembly
    bar = scope.loads.bar
    dips = {} if bar is None else bar.dips_mm
    lows = scope.level_lows
    # A tool that rises runs shallower: its rise comes off what it runs too deep already.
    errors = [
        (depth_error(tool, lows[tool.part]) - dips[tool.part], tool)
        for tool in assembly.tools
        if tool.part in dips
    ]
    if not errors:
        return
    error, tool = max(errors, key=lambda pair: abs(pair[0]))
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    low = lows[tool.part]
    x, y, z = low.point
    verdict = at_most(abs(error), limits.depth_tolerance)
    more = why_no_larger(assembly) if verdict is Verdict.FAIL else ""
    yield Finding(
        ID,
        verdict,
        abs(error),
        limits.depth_tolerance,
        "mm",
        f"With the bar bent and turned by weight and draft, {tool.part} runs "
        f"{say(tool.depth_mm + error)} deep where {say(tool.depth_mm)} was asked: "
        f"{words.deflection(error, assembly.scene.unit)} too "
        f"{'deep' if error > 0.0 else 'shallow'}; "
        f"{say(limits.depth_tolerance)} is allowed.{more} {ENGINEER}",
        parts=(tool.part,),
        at=((x, y, z + dips[tool.part]), (x, y, tool.soil_mm - tool.depth_mm)),
        pose_name="level, the bar sagging",
        source=(
            f"{limits.source('depth_tolerance')}; {formulas.SAG}: {formulas.BENDING}; "
            f"{draft.SOURCE} where not stated; {ASSUMED}"
        ),
        cures=bar_cures(assembly),
    )


def _some_in_the_soil(scope: Scope) -> Iterator[Finding]:
    """The range of depth of the tool that sag puts farthest off with only some in the soil."""
    assembly, lows = scope.assembly, scope.level_lows
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    cases = scope.loads.bar_cases
    ranges = dip_ranges(assembly, cases) if cases else {}
    found = []
    for tool in assembly.tools:
        if tool.part in ranges:
            error = depth_error(tool, lows[tool.part])
            least, most = ranges[tool.part]
            found.append((error - most, error - least, tool))
    if not found:
        return
    shallow, deep, tool = max(found, key=lambda one: max(abs(one[0]), abs(one[1])))
    off = max(abs(shallow), abs(deep))
    yield Finding(
        ID,
        Verdict.ADVISE if off > limits.depth_tolerance + AGREES_MM else Verdict.PASS,
        off,
        limits.depth_tolerance,
        "mm",
        f"Whichever of the other tools are in the soil, the sagging bar lets {tool.part} run "
        f"between {_deep(say, tool.depth_mm + shallow)} and {_deep(say, tool.depth_mm + deep)} "
        f"deep where {say(tool.depth_mm)} was asked; {say(limits.depth_tolerance)} off is allowed. "
        f"{ENGINEER}",
        parts=(tool.part, "some tools"),
        pose_name="level, the bar sagging, some tools in the soil",
        source=(
            f"{limits.source('depth_tolerance')}; {formulas.SAG}: {formulas.BENDING}; "
            f"{draft.SOURCE} where not stated; {ASSUMED}"
        ),
    )


def _deep(say: Callable[[float], str], depth: float) -> str:
    return say(depth) if depth >= 0.0 else f"minus {say(-depth)}"


def _over_bumps(assembly: Assembly) -> Iterator[Finding]:
    """The range of depth that roughness and pitch of the bar leave to tools without an arm."""
    tolerances, limits = assembly.scene.spec.tolerances, assembly.scene.spec.limits
    rigid = [tool for tool in assembly.tools if not tool.arm]
    rough = tolerances.roughness or 0.0
    if not rigid or not (rough or tolerances.pitch or tolerances.roll):
        return
    say = assembly.scene.say
    swings = [(rough + tilt, tool) for tool, tilt in _tilts(assembly, rigid)]
    swing, tool = max(swings, key=lambda pair: pair[0])
    yield Finding(
        ID,
        Verdict.ADVISE if swing > limits.depth_tolerance + 1e-3 else Verdict.PASS,
        swing,
        limits.depth_tolerance,
        "mm",
        f"Over the bed's roughness and the bar's tilt, {tool.part}, which has no arm, runs between "
        f"{say(tool.depth_mm - swing)} and {say(tool.depth_mm + swing)} deep.",
        parts=(tool.part,),
        pose_name="over the roughness",
        source=limits.source("depth_tolerance"),
    )


def _tilts(assembly: Assembly, tools: Sequence[ToolPlace]) -> Iterator[tuple[ToolPlace, float]]:
    """How far the tolerance of roll and pitch raises or lowers each tool, mm, at its worst."""
    joints = assembly.mechanism.joints
    ends = [
        lowest_points(assembly, Pose("tilted", {"bar.roll": roll, "bar.pitch": pitch}))
        for roll in {joints["bar.roll"].low, joints["bar.roll"].high}
        for pitch in {joints["bar.pitch"].low, joints["bar.pitch"].high}
    ]
    work = lowest_points(assembly)
    for tool in tools:
        yield tool, max(abs(end[tool.part].z_mm - work[tool.part].z_mm) for end in ends)


DRAGS = frozenset({Role.BAR, Role.CLAMP, Role.TUBE, Role.HOLDER, Role.ARM, Role.CLIP})


def dragging(assembly: Assembly) -> Iterator[Finding]:
    """One finding for each part that is no tool and yet reaches into the soil at work."""
    frames = assembly.mechanism.frame_poses(assembly.level_pose)
    say = assembly.scene.say
    for part in assembly.rig_parts():
        if part.role not in DRAGS:
            continue
        pose = frames[part.frame]
        if low_of(part.solid, pose) > assembly.soil.crown:
            continue
        low = lowest_point(part.solid, pose)
        over = low.z_mm - assembly.soil.top(*part.solid.moved(pose).extent((0.0, 1.0, 0.0)))
        if at_least(over, 0.0) is Verdict.FAIL:
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
    if verdict is not Verdict.FAIL:
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
        cures=(
            *height_cures(assembly, lower=error < 0.0, higher=error > 0.0),
            *shank_cures(assembly, tool),
        ),
    )
