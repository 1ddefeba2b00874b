"""wheel-clash: finger wheels of neighbouring rows, with axles and stems, keep apart."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.clearance.cures import rank_cures, wheel_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import AT_WORK, IntArray, Pairs, Scope

ID = "wheel-clash"
MOTION = AT_WORK
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
    held = scope.hold(pairs(scope), MOTION)
    told: set[tuple[str, ...]] = set()
    for clearance, verdict in held.told(assembly.scene.spec.limits.tight):
        stations = _stations(assembly, clearance.parts)
        if stations in told:
            continue  # the nearest parts of two stations say enough
        told.add(stations)
        found = clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limit,
            "wheel_clearance",
            _cures(assembly, clearance.parts),
        )
        yield replace(found, about=stations)


def failing(scope: Scope) -> Iterator[tuple[str, ...]]:
    """The two stations of each pair of wheels that come too near."""
    short = scope.short(pairs(scope), MOTION)
    yield from dict.fromkeys(_stations(scope.assembly, parts) for parts in short)


def pairs(scope: Scope) -> Pairs:
    """Every two wheels, axles and stems that hang at different rows."""
    group = hanging(scope)
    numbers = np.flatnonzero(group >= 0)
    apart = np.triu(strangers(scope.assembly, group[numbers]), 1)
    limit = scope.assembly.scene.spec.limits.wheel_clearance
    return Pairs.chosen(apart, numbers, np.full(apart.shape, limit))


def hanging(scope: Scope) -> IntArray:
    """Station of every body that is a finger wheel, its axle or its stem; -1 for others, (n,)."""
    assembly = scope.assembly
    of_part = np.full(len(assembly.mechanism.parts) + 1, -1, dtype=np.int64)
    for number, station in enumerate(assembly.stations):
        index = {name: assembly.mechanism.part_index[name] for name in station.parts}
        roles = {name: assembly.mechanism.parts[k].role for name, k in index.items()}
        if Role.FINGER_WHEEL in roles.values():
            for name, role in roles.items():
                if role in (Role.FINGER_WHEEL, Role.AXLE, Role.SHANK):
                    of_part[index[name]] = number
    found: IntArray = of_part[scope.part_of]
    return found


def strangers(assembly: Assembly, stations: IntArray) -> NDArray[np.bool_]:
    """Whether two of some stations are not one and not the pair at one row, shape (n, n)."""
    rows = np.array([-1 if s.row is None else s.row for s in assembly.stations] or [0])[stations]
    index = np.array([s.index for s in assembly.stations] or [0])[stations]
    own = stations[:, None] == stations[None, :]
    paired = (rows[:, None] == rows[None, :]) & (index[:, None] == index[None, :])
    apart: NDArray[np.bool_] = ~own & ~(paired & (rows[:, None] >= 0))
    return apart


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    stations = [_station(assembly, name) for name in parts]
    found: list[Knob | Choice] = []
    for station in reversed(stations):
        found += rank_cures(assembly, station)
    for station in stations:
        found += wheel_cures(assembly, station)
    return tuple(found)


def _stations(assembly: Assembly, parts: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(_station(assembly, name).name for name in parts)


def _station(assembly: Assembly, part: str) -> StationPlace:
    return assembly.station[assembly.mechanism.part(part).station]
