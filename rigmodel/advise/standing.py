"""Whether a rig serves the rows of another scene as it stands, with no clamp moved."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.coverage import rig_coverage
from rigmodel.coverage import SLIVER_MM, Strip, without
from rigmodel.shop.marks import SAME_MM


@dataclass(frozen=True)
class Standing:
    """One rig over another's rows, nothing moved.

    Attributes:
        rows: each row of the other scene with the row of this rig whose tools serve it.
        idle: stations of this rig whose finger wheels then stand by no row.
        unworked: strips that the other rig hoes and this one does not, mm from the bar's centre,
            left positive; each wants one tool more.
    """

    rows: tuple[tuple[str, str], ...]
    idle: tuple[str, ...]
    unworked: tuple[Strip, ...]


def standing(rig: Assembly, other: Assembly) -> Standing | None:
    """How a rig serves another scene's rows as it stands; None where it does not.

    Every row there must lie under the tools of one of the rig's own rows, and no hoe may stand in
    the band kept clear there. Only rows, hoes and wheels are looked at, across the bar.
    """
    shift = other.scene.spec.toolbar.offset - rig.scene.spec.toolbar.offset
    served = {}
    for row in other.rows:
        mine = [r.name for r in rig.rows if abs(r.y_mm + shift - row.y_mm) <= SAME_MM]
        if not mine:
            return None
        served[row.name] = mine[0]
    worked = [(low + shift, high + shift) for low, high in rig_coverage(rig).worked]
    bands = [(r.y_mm - r.keep_out_mm, r.y_mm + r.keep_out_mm) for r in other.rows]
    clear = without(bands, worked)
    if sum(h - low for low, h in without(bands, clear)) > SLIVER_MM * len(bands):
        return None
    left = without(rig_coverage(other).worked, worked)
    middle = other.scene.spec.toolbar.offset
    unworked = tuple((a - middle, b - middle) for a, b in left if b - a > SLIVER_MM)
    return Standing(tuple(served.items()), _idle(rig, set(served.values())), unworked)


def _idle(rig: Assembly, rows: set[str]) -> tuple[str, ...]:
    return tuple(
        station.name
        for station in rig.stations
        if station.row is not None
        and rig.rows[station.row].name not in rows
        and any(rig.mechanism.part(p).role is Role.FINGER_WHEEL for p in station.parts)
    )
