"""Clamps on the bar: whether friction from their bolts' clamp load holds the moment about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import BarClamp, TeeClamp
from rigmodel.loads import draft
from rigmodel.loads.bar import pulls, weights

LEGS = 4  # a clamp's two U-bolts have four legs


@dataclass(frozen=True, eq=False)
class HeldClamp:
    """One clamp.

    Attributes:
        part: the clamp.
        station: its station.
        preload_n: clamp load of one leg, N.
        moment_nm: moment about the bar's axis, N m.
        holds_nm: moment that friction holds, N m.
    """

    part: str
    station: str
    preload_n: float
    moment_nm: float
    holds_nm: float


def bolt_load(torque_nm: float, nut_factor: float, diameter_mm: float) -> float:
    """Clamp load F of a bolt, N, from T = K·D·F."""
    return torque_nm * 1000.0 / (nut_factor * diameter_mm)


def slip_moment(preload_n: float, friction: float, size_mm: float) -> float:
    """Moment about the bar that friction holds, N m.

    Four legs press the clamp on two opposite faces, half the bar's size from its axis. That a
    square bar also holds by its corners is left out: safe side.
    """
    return 2.0 * LEGS * preload_n * friction * size_mm / 2.0 / 1000.0


def missing(assembly: Assembly) -> str:
    """All that is wanting to check the clamps, or an empty string."""
    bar = assembly.scene.spec.toolbar
    fields = [f for f in ("clamp_torque_nm", "clamp_friction") if getattr(bar, f) is None]
    wanting = [f"slip of the clamps: toolbar.{field} is not given" for field in fields]
    return "; ".join(filter(None, (*wanting, draft.missing(assembly))))


def clamp_moments(assembly: Assembly) -> Mapping[str, float]:
    """Moment about the bar's axis of every station under weight and draft, N m."""
    owner = {tool.part: tool.station for tool in assembly.tools}
    total: dict[str, float] = {}
    for force in (*weights(assembly), *pulls(assembly)):
        name = owner.get(force.owner, force.owner)
        total[name] = total.get(name, 0.0) + float(force.moment_nmm[1]) / 1000.0
    return total


def held_clamps(assembly: Assembly) -> tuple[HeldClamp, ...]:
    """Every clamp on the bar; call it only where `missing` finds nothing."""
    bar, size = assembly.scene.spec.toolbar, assembly.scene.tube.size
    moments = clamp_moments(assembly)
    found = []
    for place in assembly.clamps:
        part = assembly.mechanism.part(place.part)
        entry = assembly.scene.catalogue.parts.get(part.item)
        if not isinstance(entry, BarClamp | TeeClamp):
            continue
        load = bolt_load(bar.clamp_torque_nm or 0.0, bar.clamp_nut_factor, entry.bolt_diameter)
        holds = slip_moment(load, bar.clamp_friction or 0.0, size)
        moment = abs(moments[part.station])
        found.append(HeldClamp(part.name, part.station, load, moment, holds))
    return tuple(found)
