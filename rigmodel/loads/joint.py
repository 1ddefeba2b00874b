"""Clamps on the bar: whether friction holds them against turning and sliding, and their bolts do.

Friction on the two faces must hold the moment M about the bar, which draws across them with
M / (b/2), and the force S along the bar, at right angles to that; so it holds both together where
√(M² + (S·b/2)²) is no more than the moment that it would hold alone. Moments that would tip a
clamp on the bar are borne by its plates, not by friction.

A torque gives a clamp load F = T / (K·D) only roughly. Slip is held against the least load that the
spread leaves, the bolts against the greatest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import BarClamp, TeeClamp
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.catalog.threads import thread
from rigmodel.loads import draft
from rigmodel.loads.bar import pulls, pushes, weights
from rigmodel.loads.strut import HeldStrut

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
        turning_nm: moment about the bar's axis, N m.
        along_n: force along the bar, N.
        moment_nm: moment that asks as much of friction as both together, N m.
        holds_nm: moment that friction holds at the least clamp load, N m.
        proof_n: proof load of a leg, N; None where its grade is not given.
    """

    part: str
    station: str
    diameter_mm: float
    preload_n: float
    least_n: float
    most_n: float
    turning_nm: float
    along_n: float
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


def clamp_loads(assembly: Assembly) -> Mapping[str, tuple[float, float]]:
    """What weight, draft and side draft do to the clamp of every station.

    Returns:
        For each station the moment about the bar's axis, N m, and the force along it, N, positive
        to the left.
    """
    owner = {tool.part: tool.station for tool in assembly.tools}
    total: dict[str, tuple[float, float]] = {}
    for force in (*weights(assembly), *pulls(assembly), *pushes(assembly)):
        name = owner.get(force.owner, force.owner)
        moment, along = total.get(name, (0.0, 0.0))
        total[name] = (
            moment + float(force.moment_nmm[1]) / 1000.0,
            along + float(force.force_n[1]),
        )
    return total


def held_clamps(assembly: Assembly) -> tuple[HeldClamp, ...]:
    """Every clamp on the bar; call it only where `missing` finds nothing."""
    bar, size = assembly.scene.spec.toolbar, assembly.scene.tube.size
    acting = clamp_loads(assembly)
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
        turning, along = (abs(value) for value in acting[part.station])
        both = math.hypot(turning, along * size / 2000.0)
        proof = proof_load(entry, bar.clamp_grade)
        bolts = (part.name, part.station, thick, load, least, most)
        found.append(HeldClamp(*bolts, turning, along, both, holds, proof))
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


@dataclass(frozen=True, eq=False)
class HeldFoot:
    """The clamp of a strut's foot, which the strut would slide along the bar.

    Attributes:
        part: the clamp.
        least_n: least clamp load of a leg, N.
        along_n: greatest force along the bar, as `HeldStrut` has it, N.
        holds_n: force that friction holds then, N.
    """

    part: str
    least_n: float
    along_n: float
    holds_n: float


def held_feet(assembly: Assembly, struts: Sequence[HeldStrut]) -> tuple[HeldFoot, ...]:
    """Clamps of the struts' feet; call it only where `missing` finds nothing.

    The strut's force across the bar may ease one of the two pressed faces, so it is taken off.
    """
    bar = assembly.scene.spec.toolbar
    spread = assembly.scene.spec.limits.preload_spread / 100.0
    found = []
    for place, strut in zip(assembly.struts, struts, strict=True):
        entry = assembly.scene.catalogue.parts[assembly.mechanism.part(place.clamp.part).item]
        assert isinstance(entry, StrutClamp)  # resolve() has checked it
        load = bolt_load(bar.clamp_torque_nm or 0.0, bar.clamp_nut_factor, entry.bolt_diameter)
        least, along = load * (1.0 - spread), abs(float(strut.tie.along[1]))
        across = strut.most_n * math.sqrt(max(1.0 - along**2, 0.0))
        holds = max(2.0 * LEGS * least - across, 0.0) * (bar.clamp_friction or 0.0)
        found.append(HeldFoot(place.clamp.part, least, strut.most_n * along, holds))
    return tuple(found)


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
