"""How to stand the rig on a flat floor as it stands at work: blocks, heights, and how level."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.checks.bar_level import allowed_tilt
from rigmodel.clearance.heights import lowest_points

_GRAIN_MM = 0.05


@dataclass(frozen=True)
class Block:
    """Blocks of one height and what stands on them.

    Attributes:
        height_mm: height over the floor; 0 is the floor itself.
        tools: names of the tools' parts; empty for the tyres.
    """

    height_mm: float
    tools: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stand:
    """The rig on a flat floor, as it stands at work.

    Attributes:
        tyres: blocks under all tyres.
        tools: blocks under the tools, lowest first.
        under_bar_mm: floor to the bar's underside, bar level.
    """

    tyres: Block
    tools: tuple[Block, ...]
    under_bar_mm: float


@dataclass(frozen=True)
class LevelTolerance:
    """How far the bar may stand out of level.

    Attributes:
        depth_mm: depth tolerance it follows from.
        roll_deg: roll that uses it up at the tool farthest out.
        pitch_deg: pitch that uses it up at the tool farthest ahead or behind.
        ends_mm: how much higher one end of the bar may be than the other.
    """

    depth_mm: float
    roll_deg: float
    pitch_deg: float
    ends_mm: float


def stand(assembly: Assembly) -> Stand:
    """Block heights that put tyres and tools on a flat floor at the heights they have at work.

    The lowest of all, tools at their depth and tyres in their furrow, stands on the floor itself.
    """
    bottoms = {tool.part: tool.soil_mm - tool.depth_mm for tool in assembly.tools}
    floor = min([assembly.scene.floor_mm, *bottoms.values()])
    tools: dict[float, list[str]] = {}
    for part, bottom in bottoms.items():
        tools.setdefault(_rounded(bottom - floor), []).append(part)
    bar = assembly.scene.spec.toolbar
    return Stand(
        Block(_rounded(assembly.scene.floor_mm - floor)),
        tuple(Block(height, tuple(names)) for height, names in sorted(tools.items())),
        bar.height - assembly.scene.tube.size / 2.0 - floor,
    )


def level_tolerance(assembly: Assembly) -> LevelTolerance | None:
    """The bar's level tolerance as check bar-level holds it, or None without rigid tools."""
    rigid: list[ToolPlace] = [tool for tool in assembly.tools if not tool.arm]
    if not rigid:
        return None
    lows = lowest_points(assembly, assembly.level_pose)
    spec = assembly.scene.spec
    points = [lows[tool.part].point for tool in rigid]
    ahead = assembly.scene.tractor.toolbar_ahead
    across = max(abs(y - spec.toolbar.offset) for _, y, _ in points)
    along = max(abs(x - ahead) for x, _, _ in points)
    depth = spec.limits.depth_tolerance
    roll, pitch = allowed_tilt(depth, across), allowed_tilt(depth, along)
    ends = spec.toolbar.length * math.sin(math.radians(roll))
    return LevelTolerance(depth, roll, pitch, ends)


def _rounded(mm: float) -> float:
    """Heights that no ruler tells apart become one."""
    return round(mm / _GRAIN_MM) * _GRAIN_MM + 0.0
