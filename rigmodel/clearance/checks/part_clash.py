"""part-clash: every other pair of parts keeps its clearance over all motion."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.bar_cures import strut_moves
from rigmodel.clearance.checks.pair_gap import pairs as gap_pairs
from rigmodel.clearance.checks.wheel_clash import hanging, strangers
from rigmodel.clearance.cures import height_cures, rank_cures, shank_cures, shift_cures, wheel_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.hoe_cures import hand_cures
from rigmodel.clearance.scope import AT_WORK, Pairs, Scope

ID = "part-clash"
MOTION = AT_WORK
STATEMENT = "Every pair of parts that is not bolted together keeps its clearance over all motion."


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each pair that comes too near, else one for the nearest pair."""
    assembly = scope.assembly
    limits = assembly.scene.spec.limits
    held = scope.hold(pairs(scope), MOTION)
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


def failing(scope: Scope) -> Iterator[tuple[str, ...]]:
    """The two parts of each pair that comes too near."""
    yield from scope.short(pairs(scope), MOTION)


def pairs(scope: Scope) -> Pairs:
    """Every pair of bodies on the rig that no other check answers for.

    bar-space answers for two clamps on the bar, wheel-clash for wheels of neighbouring rows with
    their axles and stems, and pair-gap for the fingers of a pair.
    """
    limits = scope.assembly.scene.spec.limits
    parts = scope.assembly.mechanism.parts
    rig = scope.rig
    part = scope.part_of[rig]
    bolted = np.zeros((len(parts), len(parts)), dtype=np.bool_)
    index = scope.assembly.mechanism.part_index
    for k, one in enumerate(parts):
        bolted[k, [index[name] for name in one.bolted_to]] = True
    on_bar = {clamp.part for clamp in scope.assembly.on_bar}
    clamp = np.array([p.name in on_bar for p in parts])[part]
    station = hanging(scope)[rig]
    wheels = (station[:, None] >= 0) & (station[None, :] >= 0)
    fingers = scope.flexible[rig]
    other_rows = wheels & strangers(scope.assembly, station)
    gapped = np.zeros((len(parts), len(parts)), dtype=np.bool_)
    for _, _, left, right in gap_pairs(scope.assembly):
        gapped[index[left.name], index[right.name]] = gapped[
            index[right.name], index[left.name]
        ] = True
    own_pair = gapped[part[:, None], part[None, :]]
    answered = (
        (part[:, None] == part[None, :])
        | bolted[part[:, None], part[None, :]]
        | (clamp[:, None] & clamp[None, :])
        | other_rows
        | (own_pair & fingers[:, None] & fingers[None, :])
    )
    swing = scope.swing_of[np.array([p.frame for p in parts])[part]]
    moving = swing[:, None] != swing[None, :]
    room = np.where(moving, limits.clearance, limits.fixed_clearance)
    return Pairs.chosen(np.triu(~answered, 1), rig, room)


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    found: list[Knob | Choice] = []
    stations = [
        assembly.station[name]
        for name in dict.fromkeys(assembly.mechanism.part(part).station for part in parts)
        if name
    ]
    for strut in assembly.struts:
        if strut.name in parts or strut.clamp.part in parts:
            found += strut_moves(assembly, strut)
    for station in reversed(stations):
        found += rank_cures(assembly, station)
    for station in reversed(stations):
        found += shift_cures(assembly, station)
        found += wheel_cures(assembly, station)
    for station in reversed(stations):
        found += hand_cures(assembly, station)
    if len(stations) == 1:  # a tool against its own holder or arm
        for tool in assembly.tools:
            if tool.station == stations[0].name:
                found += shank_cures(assembly, tool)
        found += height_cures(assembly)
    return tuple(found)
