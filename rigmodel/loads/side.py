"""Side draft: how hard the soil pushes tools sideways. Only what the user states is counted.

A tool that is its own mirror image about its upright fore-and-aft line is not pushed to either side
in even soil. Any other, such as a blade with one wing or a wheel set at an angle, is, and how hard
is not known unless `side_n` of its station states it. Of tools whose push is not known one thing
can be said: mirror images at one depth are pushed alike and opposite, so that their pushes add up
to nothing, and so do their moments where as many stand at the same distance behind.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.loads.words import named

SAME_MM = 0.05  # outlines that agree this well are of one form
LEVEL_MM = 1.0  # tools that stand this near to level, each, are taken to stand level
_ROUND = np.radians(np.arange(0.0, 360.0, 30.0))
_SLOPES = np.radians((-60.0, -30.0, 0.0, 30.0, 60.0))
_WAYS = np.array(
    [
        (math.cos(s) * math.cos(a), math.cos(s) * math.sin(a), math.sin(s))
        for s in _SLOPES
        for a in _ROUND
    ]
)
_MIRRORED = _WAYS * (1.0, -1.0, 1.0)


@dataclass(frozen=True)
class OpenTools:
    """Tools of one form and its mirror image at one depth, whose side draft is not known.

    Attributes:
        tools: their parts.
        over: how many of one hand have no mirror image among the others.
        lever_mm: Σ ±x with x ahead of the rear axle and the sign of each hand: the yaw moment of
            them all about the rear axle for each newton on one.
    """

    tools: tuple[str, ...]
    over: int
    lever_mm: float

    @property
    def even(self) -> bool:
        """Whether their pushes add up to nothing: each has its mirror image."""
        return self.over == 0

    @property
    def level(self) -> bool:
        """Whether their moments about an upright line do too."""
        return self.even and abs(self.lever_mm) < LEVEL_MM * len(self.tools)

    @property
    def named(self) -> str:
        """Them, in words."""
        return named(self.tools)

    @property
    def together(self) -> str:
        """What is known of them all together, or an empty string."""
        if self.level:
            return "mirror images, so over the rig it adds up to zero"
        if self.even:
            return (
                "mirror images, so over the rig it adds up to zero, but they stand at different "
                "distances behind and so turn it"
            )
        return ""

    @property
    def missing(self) -> str:
        """What is not known, and what to give for it."""
        known = f" ({self.together})" if self.together else ""
        return f"side draft of {self.named}{known}: give side_n on the station"


@dataclass(frozen=True, eq=False)
class SideDraft:
    """Pushes of the soil on the tools, N, positive to the left.

    Attributes:
        tools: the push on every tool on which it is known, by part.
        stated: those of them that are stated.
        open: tools on which it is not known, alike ones together.
        known_yaw_nm: moment of the known ones about the upright line through the middle of the
            rear axle, N m; positive turns the tractor to the left.
    """

    tools: Mapping[str, float]
    stated: tuple[str, ...]
    open: tuple[OpenTools, ...]
    known_yaw_nm: float

    @property
    def sum_n(self) -> float | None:
        """Push on the whole rig, N, or None where it is not known."""
        return sum(self.tools.values()) if all(one.even for one in self.open) else None

    @property
    def missing(self) -> str:
        """What is not known and what to give for it, alike tools together; or an empty string."""
        return "; ".join(one.missing for one in self.open)

    @property
    def yaw_nm(self) -> float | None:
        """Moment of them all about the rear axle, N m, or None where it is not known."""
        return self.known_yaw_nm if all(one.level for one in self.open) else None


def acts_at(assembly: Assembly, tool: ToolPlace) -> FloatArray:
    """Where soil pushes on a tool: half its depth down, world axes, mm, shape (3,)."""
    part = assembly.mechanism.part(tool.part)
    row = assembly.work_frames[part.frame, 0]
    x = float(row[:3] @ part.solid.mass_properties().centroid_mm + row[3])
    return np.array((x, tool.centre_mm, tool.soil_mm - tool.depth_mm / 2.0))


def side_draft(assembly: Assembly) -> SideDraft:
    """What is known of the side draft of every tool."""
    known: dict[str, float] = {}
    stated: list[str] = []
    open_: list[tuple[ToolPlace, FloatArray]] = []
    for tool, outline in _outlined(assembly):
        push = _stated(assembly, tool)
        if push is not None:
            known[tool.part] = push
            stated.append(tool.part)
        elif outline is None:
            known[tool.part] = 0.0
        else:
            open_.append((tool, outline))
    place = {tool.part: tool for tool in assembly.tools}
    yaw = sum(n * acts_at(assembly, place[part])[0] for part, n in known.items() if n) / 1000.0
    groups = tuple(_grouped(assembly, open_))
    return SideDraft(MappingProxyType(known), tuple(stated), groups, float(yaw))


def pushes(assembly: Assembly) -> Mapping[str, float]:
    """Stated side draft of every tool that has some, N, positive to the left, by part."""
    found = {tool.part: _stated(assembly, tool) for tool in assembly.tools}
    return MappingProxyType({part: push for part, push in found.items() if push})


def _stated(assembly: Assembly, tool: ToolPlace) -> float | None:
    """Push on a tool as its station states it, N, turned round with its mirror image."""
    station = assembly.station[tool.station]
    push = assembly.scene.spec.stations[station.index].side_n
    return -push if push and station.mirrored else push


def _outlined(assembly: Assembly) -> Iterator[tuple[ToolPlace, FloatArray | None]]:
    """Every tool with its outline, or None where that is its own mirror image.

    Tools of one station and hand are of one form; it is looked at with the bar level.
    """
    level = assembly.mechanism.frame_poses(assembly.level_pose)
    known: dict[tuple[int, str, bool], FloatArray | None] = {}
    for tool in assembly.tools:
        station = assembly.station[tool.station]
        key = (station.index, tool.part.removeprefix(tool.station), station.mirrored)
        if key not in known:
            part = assembly.mechanism.part(tool.part)
            outline = _outline(part.solid, level[part.frame, :3, :3])
            known[key] = None if np.abs(outline[0] - outline[1]).max() < SAME_MM else outline
        yield tool, known[key]


def _outline(solid: Solid, turn: FloatArray) -> FloatArray:
    """How far a solid's hull reaches from the middle of its box, and so its mirror image.

    Args:
        solid: the solid.
        turn: its rotation into world axes, shape (3, 3).

    Returns:
        The reach in `_WAYS`, then in `_MIRRORED`, mm, shape (2, n).
    """
    ways = np.concatenate((_WAYS, _MIRRORED))
    box = np.array([solid.extent(axis) for axis in turn])
    reach: FloatArray = solid.support(ways @ turn) - ways @ box.mean(axis=1)
    return reach.reshape(2, -1)


def _grouped(
    assembly: Assembly, tools: Sequence[tuple[ToolPlace, FloatArray]]
) -> Iterator[OpenTools]:
    groups: list[tuple[tuple[object, ...], FloatArray, list[tuple[str, int, float]]]] = []
    for tool, outline in tools:
        spec = assembly.scene.spec.stations[assembly.station[tool.station].index]
        like = (assembly.mechanism.part(tool.part).item, tool.depth_mm, spec.draft_n)
        x = float(acts_at(assembly, tool)[0])
        for key, first, members in groups:
            hand = _hand(first, outline) if key == like else 0
            if hand:
                members.append((tool.part, hand, x))
                break
        else:
            groups.append((like, outline, [(tool.part, 1, x)]))
    for _, _, members in groups:
        over = abs(sum(hand for _, hand, _ in members))
        lever = sum(hand * x for _, hand, x in members)
        yield OpenTools(tuple(part for part, _, _ in members), over, lever)


def _hand(one: FloatArray, other: FloatArray) -> int:
    """1 for outlines alike, -1 for mirror images, else 0."""
    if np.abs(other - one).max() < SAME_MM:
        return 1
    return -1 if np.abs(other[::-1] - one).max() < SAME_MM else 0
