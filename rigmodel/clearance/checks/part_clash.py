"""part-clash: every other pair of parts keeps its clearance over all motion."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Part
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.pair_gap import pairs
from rigmodel.clearance.checks.wheel_clash import neighbours, wheel_parts
from rigmodel.clearance.cures import rank_cures, shift_cures, wheel_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import AT_WORK, Body, Pairing, Scope

ID = "part-clash"
STATEMENT = "Every pair of parts that is not bolted together keeps its clearance over all motion."


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each pair that comes too near, else one for the nearest pair."""
    assembly = scope.assembly
    limits = assembly.scene.spec.limits
    held = scope.hold(pairings(scope), AT_WORK)
    for clearance, verdict in held.told(limits.tight):
        moving = clearance.limit_mm == limits.clearance
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            clearance.limit_mm,
            "clearance" if moving else "fixed_clearance",
            _cures(assembly, clearance.parts),
        )


def pairings(scope: Scope) -> list[Pairing]:
    """Every pair of bodies on the rig that no other check answers for."""
    assembly = scope.assembly
    limits = assembly.scene.spec.limits
    parts = assembly.rig_parts()
    wheels = {
        name: station for station in assembly.stations for name in wheel_parts(assembly, station)
    }
    on_bar = {clamp.part for clamp in assembly.clamps}
    gaps = {frozenset((left.name, right.name)) for _, _, left, right in pairs(assembly)}

    def answered(one: Part, a: Body, other: Part, b: Body) -> bool:
        """Whether another check answers for the pair: bar-space, wheel-clash or pair-gap."""
        if one.name in on_bar and other.name in on_bar:
            return True
        first, second = wheels.get(one.name), wheels.get(other.name)
        if first is None or second is None:
            return False
        if neighbours(first, second):
            return True
        return a.flexible and b.flexible and frozenset((one.name, other.name)) in gaps

    bodies = [(part, body) for part in parts for body in scope.bodies_of(part.name)]
    found = []
    for i, (one, a) in enumerate(bodies):
        for other, b in bodies[i + 1 :]:
            if one is other or other.name in one.bolted_to or answered(one, a, other, b):
                continue
            moving = scope.moves_between(one, other)
            limit = limits.clearance if moving else limits.fixed_clearance
            found.append(Pairing(a, b, limit))
    return found


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    found: list[Knob | Choice] = []
    stations = [
        assembly.station[name]
        for name in dict.fromkeys(assembly.mechanism.part(part).station for part in parts)
        if name
    ]
    for station in reversed(stations):
        found += rank_cures(assembly, station)
    for station in reversed(stations):
        found += shift_cures(assembly, station)
        found += wheel_cures(assembly, station)
    return tuple(found)
