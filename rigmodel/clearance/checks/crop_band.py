"""crop-band: no steel enters a row's keep-out band at work, and leaves and stems are cleared."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import shift_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.hoe_cures import (
    fitted_hoes,
    fitting_hoes,
    hand_cures,
    narrower_hoes,
    swapped_hoes,
    too_wide,
)
from rigmodel.clearance.row_bodies import PLATE_MM
from rigmodel.clearance.scope import SET, Pairs, Scope

ID = "crop-band"
MOTION = SET
STATEMENT = "No steel enters the keep-out band of a row at work; leaves and stems are cleared."
GRAIN_MM = 0.05  # blades are set to the band exactly; no tape shows a difference this small


def findings(scope: Scope) -> Iterator[Finding]:
    """Steel against every row's line, and against its leaves where their size is given."""
    assembly = scope.assembly
    limits, rows = assembly.scene.spec.limits, assembly.rows
    for clearance, verdict in scope.hold(_bands(scope), MOTION).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            rows[0].keep_out_mm,
            "the scene's rows.keep_out",
            _cures(assembly, clearance.parts),
        )
    for clearance, verdict in scope.hold(_leaves(scope), MOTION).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limits.canopy_clearance,
            "canopy_clearance",
            _cures(assembly, clearance.parts),
        )


def failing(scope: Scope) -> Iterator[tuple[str, ...]]:
    """The two of each pair that comes too near."""
    yield from scope.short(_bands(scope), MOTION)
    yield from scope.short(_leaves(scope), MOTION)


def pairs(scope: Scope) -> Pairs:
    """All steel on the rig with every row's line, and with its leaves."""
    one, other = _bands(scope), _leaves(scope)
    bodies, limits = (one.bodies, other.bodies), (one.limits, other.limits)
    return Pairs(np.concatenate(bodies), np.concatenate(limits))


def _bands(scope: Scope) -> Pairs:
    rows = scope.assembly.rows
    wanted = [row.keep_out_mm - GRAIN_MM - PLATE_MM / 2.0 for row in rows]
    return Pairs.across(scope.steel, scope.lines, wanted)


def _leaves(scope: Scope) -> Pairs:
    room = scope.assembly.scene.spec.limits.canopy_clearance
    return Pairs.across(scope.steel, scope.leaves, room)


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    hoes = {hoe.index: hoe for hoe in fitted_hoes(assembly)}
    found: list[Knob | Choice] = []
    for name in parts:
        if name not in assembly.mechanism.part_index:
            continue
        part = assembly.mechanism.part(name)
        if not part.station:
            continue
        station = assembly.station[part.station]
        hoe = hoes.get(station.index) if part.role is Role.BLADE else None
        narrower = tuple(narrower_hoes(assembly, hoe)) if hoe is not None else ()
        first = hoe is not None and too_wide(assembly, hoe)  # moved, it meets the other row
        if first:
            found += [*swapped_hoes(assembly), *narrower]  # what needs no other part comes first
        found += shift_cures(assembly, station)
        if hoe is not None:
            found += [*(() if first else narrower), *fitting_hoes(assembly)]
        found += hand_cures(assembly, station)
    return tuple(found)
