"""wheel-clash: finger wheels of neighbouring rows, with axles and stems, keep apart."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.clearance.cures import rank_cures, wheel_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import AT_WORK, Pairing, Scope

ID = "wheel-clash"
STATEMENT = "Finger wheels of neighbouring rows keep apart over their whole float."


def flat_stagger_mm(diameter: float, spacing: float, pair_gap: float, clearance: float) -> float:
    """Fore-and-aft stagger at which flat wheels of neighbouring rows just clear, mm.

    Wheels of diameter D on rows S apart, with a gap g in each pair, have centres S - g - D apart
    across. They clear in line when that is at least D + c, that is when 2 D + g + c <= S; else the
    stagger is sqrt((D + c)^2 - (S - g - D)^2). Infinite where S - g - D is negative: the wheel
    would reach past its neighbour's centre.
    """
    across = spacing - pair_gap - diameter
    if across < 0.0:
        return math.inf
    return math.sqrt(max(0.0, (diameter + clearance) ** 2 - across**2))


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each pair of wheels that come too near, else one for the nearest pair."""
    assembly = scope.assembly
    limit = assembly.scene.spec.limits.wheel_clearance
    hanging = [(station, wheel_parts(assembly, station)) for station in assembly.stations]
    pairings = [
        Pairing(a, b, limit)
        for (one, first), (other, second) in combinations(hanging, 2)
        if neighbours(one, other)
        for x in first
        for y in second
        for a in scope.bodies_of(x)
        for b in scope.bodies_of(y)
    ]
    held = scope.hold(pairings, AT_WORK)
    told: set[tuple[str, ...]] = set()
    for clearance, verdict in held.told(assembly.scene.spec.limits.tight):
        stations = tuple(_station(assembly, name).name for name in clearance.parts)
        if stations in told:
            continue  # the nearest parts of two stations say enough
        told.add(stations)
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limit,
            "wheel_clearance",
            _cures(assembly, clearance.parts),
        )


def wheel_parts(assembly: Assembly, station: StationPlace) -> tuple[str, ...]:
    """A station's finger wheel with the axle and the stem it hangs on; empty without a wheel."""
    roles = {name: assembly.mechanism.part(name).role for name in station.parts}
    if Role.FINGER_WHEEL not in roles.values():
        return ()
    hanging = (Role.FINGER_WHEEL, Role.AXLE, Role.SHANK)
    return tuple(name for name, role in roles.items() if role in hanging)


def neighbours(one: StationPlace, other: StationPlace) -> bool:
    """Whether two stations are not the pair at one row."""
    return one.row != other.row or one.index != other.index


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    stations = [_station(assembly, name) for name in parts]
    found: list[Knob | Choice] = []
    for station in reversed(stations):
        found += rank_cures(assembly, station)
    for station in stations:
        found += wheel_cures(assembly, station)
    return tuple(found)


def _station(assembly: Assembly, part: str) -> StationPlace:
    return assembly.station[assembly.mechanism.part(part).station]
