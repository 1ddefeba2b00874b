"""Which clamped-on units of two rigs are the same steel, and so can stand in for one another."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import translation
from rigmodel.assembly.model import TOOL_ROLES
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.shop.marks import Mark, marks

SYMMETRIC_MM = 0.5  # a unit this near to its mirror image fits either side of a row
_SPREAD = np.array(
    [(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if x or y or z],
    dtype=np.float64,
)
_DIRECTIONS = _SPREAD / np.linalg.norm(_SPREAD, axis=1, keepdims=True)
_MIRROR = np.array((1.0, -1.0, 1.0))


@dataclass(frozen=True)
class Unit:
    """One clamp with all it carries, as it stands on a bar.

    Attributes:
        station: name of its station.
        kit: what it is made of; units with equal kits are interchangeable.
        tools: what it carries, in words.
        mark: its mark on the bar and what is set on it.
    """

    station: str
    kit: str
    tools: str
    mark: Mark


def units(assembly: Assembly) -> tuple[Unit, ...]:
    """Every clamped-on unit of a rig, from left to right."""
    planned = {station.index: station for station in assembly.scene.stations}
    found = []
    for mark in marks(assembly):
        station = assembly.station[mark.station]
        plan = planned[station.index]
        parts = assembly.scene.catalogue.parts
        items = {part: assembly.mechanism.part(part).item for part in station.parts}
        made: Mapping[str, object] = {
            "tree": plan.unit.tool.model_dump(mode="json"),
            "mount": mark.part_id,
            "tube": plan.unit.rank_mount.tube if station.rank_mm and plan.unit.rank_mount else "",
            "parts": {i: _entry(parts, i) for i in sorted({*items.values(), mark.part_id})},
            "face": mark.face,
            "hand": _hand(assembly, station, mark.centre_mm),
        }
        kit = json.dumps(made, sort_keys=True, default=str)
        tools = [i for p, i in items.items() if assembly.mechanism.part(p).role in TOOL_ROLES]
        found.append(Unit(mark.station, kit, " + ".join(tools) or mark.part_id, mark))
    return tuple(found)


def _entry(parts: Mapping[str, object], item: str) -> object:
    dump = getattr(parts.get(item), "model_dump", None)
    return None if dump is None else dump(mode="json")


def _hand(assembly: Assembly, station: StationPlace, centre_mm: float) -> int:
    """+1 for a left-hand unit, -1 for a right-hand one, 0 for one that is its own mirror image."""
    middle = translation(0.0, -centre_mm - assembly.scene.spec.toolbar.offset, 0.0)
    frames = assembly.mechanism.frame_poses(assembly.level_pose)
    lean = 0.0
    for name in station.parts:
        part = assembly.mechanism.part(name)
        solid = part.solid.moved(middle @ frames[part.frame])
        reach = solid.support(_DIRECTIONS) - solid.support(_DIRECTIONS * _MIRROR)
        worst = int(np.argmax(np.abs(reach) * (_DIRECTIONS[:, 1] > 0.0)))
        if abs(reach[worst]) > abs(lean):
            lean = float(reach[worst])
    return 0 if abs(lean) <= SYMMETRIC_MM else (1 if lean > 0.0 else -1)
