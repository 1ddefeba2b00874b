"""Clamps on the bar: whether friction holds the moment about it, and whether their bolts do.

A torque gives a clamp load F = T / (K·D) only roughly. Slip is held against the least load that the
spread leaves, the bolts against the greatest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import BarClamp, TeeClamp
from rigmodel.catalog.threads import thread
from rigmodel.loads import draft
from rigmodel.loads.bar import pulls, weights

LEGS = 4  # a clamp's two U-bolts have four legs


@dataclass(frozen=True, eq=False)
class HeldClamp:
    """One clamp.

    Attributes:
        part: the clamp.
        station: its station.
        diameter_mm: nominal diameter of its bolts.
        preload_n: clamp load of one leg by its torque, N.
        least_n: least that it may be, N.
        most_n: greatest that it may be, N.
        moment_nm: moment about the bar's axis, N m.
        holds_nm: moment that friction holds at the least clamp load, N m.
        proof_n: proof load of a leg, N; None where its grade is not given.
    """

    part: str
    station: str
    diameter_mm: float
    preload_n: float
    least_n: float
    most_n: float
    moment_nm: float
    holds_nm: float
    proof_n: float | None


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
    spread = assembly.scene.spec.limits.preload_spread / 100.0
    found = []
    for place in assembly.clamps:
        part = assembly.mechanism.part(place.part)
        entry = assembly.scene.catalogue.parts.get(part.item)
        if not isinstance(entry, BarClamp | TeeClamp):
            continue
        thick = entry.bolt_diameter
        load = bolt_load(bar.clamp_torque_nm or 0.0, bar.clamp_nut_factor, thick)
        least, most = load * (1.0 - spread), load * (1.0 + spread)
        holds = slip_moment(least, bar.clamp_friction or 0.0, size)
        moment = abs(moments[part.station])
        proof = proof_load(entry, bar.clamp_grade)
        found.append(
            HeldClamp(part.name, part.station, thick, load, least, most, moment, holds, proof)
        )
    return tuple(found)


def proof_load(entry: BarClamp | TeeClamp, grade: str | None) -> float | None:
    """Proof load of a leg of a clamp's bolts, N; None where it is not known.

    Args:
        entry: the clamp; a grade of its own fasteners goes before the one given.
        grade: grade of all clamps' bolts, or None.
    """
    for fastener in entry.fasteners:
        of = None if "nut" in fastener.what else thread(fastener.size)
        if of is not None:
            proof = of.proof_mpa(fastener.grade or grade or "")
            return None if proof is None else proof * of.stress_area_mm2
    return None


def without_proof(assembly: Assembly) -> str:
    """Why the bolts cannot be held against their proof load, or an empty string."""
    grade = assembly.scene.spec.toolbar.clamp_grade
    for place in assembly.clamps:
        entry = assembly.scene.catalogue.parts.get(assembly.mechanism.part(place.part).item)
        if isinstance(entry, BarClamp | TeeClamp) and proof_load(entry, grade) is None:
            if grade is None:
                return "bolts of the clamps: toolbar.clamp_grade is not given"
            return f"bolts of {place.part}: no proof load is known for {grade!r} in its thread"
    return ""
