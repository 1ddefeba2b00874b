"""stand-off: with everything off by its tolerance, steel still stays off the row."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.clearance.finding import Finding, Knob, Verdict, at_least
from rigmodel.clearance.held import HeldClearance
from rigmodel.clearance.lateral import (
    ASSUMED,
    DRAWS,
    SHARE,
    LateralError,
    SteelStrips,
    odds,
    own_error,
    shared_errors,
)
from rigmodel.clearance.row_bodies import band_top
from rigmodel.clearance.scope import STRAYING, Pairs, Scope
from rigmodel.clearance.supports import IntArray

ID = "stand-off"
_FAR_MM = 3000.0  # nothing hangs farther ahead of the bar or behind it
STATEMENT = "With everything off by its tolerance at once, steel still stays off the row."


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each row: how near steel comes to it, at worst and by chance."""
    strips = scope.steel_strips
    for index, worst in enumerate(_worst(scope, strips)):
        if worst is not None:
            yield _finding(scope.assembly, index, strips, worst)


def _limit(row: RowPlace) -> float:
    return row.plants.stem / 2.0


def _top(assembly: Assembly, row: RowPlace) -> float:
    return band_top(row, assembly.scene.spec.rows.band_height)


def _worst(scope: Scope, strips: SteelStrips) -> list[HeldClearance | None]:
    """The least distance of any steel from each row, everything at its worst together.

    The steel that stands nearest at work is worked out first; what comes nearer than that in some
    pose is then looked for among all the rest.
    """
    assembly, rows = scope.assembly, scope.assembly.rows
    names = [strips.beside(row, _top(assembly, row))[2] for row in rows]
    firsts = [
        (body, line)
        for name, line in zip(names, scope.lines.tolist(), strict=True)
        for body in scope.steel.tolist()
        if scope.bodies[body].name == name
    ]
    if not firsts:
        return [None for _ in rows]
    nearest = Pairs(np.array(firsts), np.zeros(len(firsts)))
    best = {held.parts[1]: held for held in scope.least(nearest, STRAYING)}
    lines = [k for k in scope.lines.tolist() if scope.bodies[k].name in best]
    values = [best[scope.bodies[k].name].value_mm for k in lines]
    held = scope.hold(Pairs.across(_beside(scope), lines, values), STRAYING)
    for nearer in (*held.broken, *held.undecided):
        if nearer.value_mm < best[nearer.parts[1]].value_mm or not nearer.proven:
            best[nearer.parts[1]] = nearer
    return [best.get(scope.bodies[k].name) for k in scope.lines.tolist()]


def _beside(scope: Scope) -> IntArray:
    """Bodies of steel that come low enough to stand beside a row, not only over it.

    What hangs fast on the bar goes no lower than its tilt lets it; arms and spring holders may.
    """
    assembly = scope.assembly
    top = max(row.soil_mm + _top(assembly, row) for row in assembly.rows)
    joints, bar = assembly.mechanism.joints, assembly.scene.spec.toolbar
    drop = sum(
        far
        * math.sin(math.radians(max(abs(joint.low - joint.value), abs(joint.high - joint.value))))
        for joint, far in ((joints["bar.roll"], bar.length), (joints["bar.pitch"], _FAR_MM))
    )
    bodies, edges = scope.across
    bottoms = np.full(len(scope.bodies), np.inf)
    np.minimum.at(bottoms, bodies, edges[:, 2])
    frames = np.array([body.frame for body in scope.bodies])
    swinging = scope.swing_of[frames] != 0
    steel = scope.steel
    beside: IntArray = steel[swinging[steel] | (bottoms[steel] <= top + drop)]
    return beside


def _finding(assembly: Assembly, index: int, strips: SteelStrips, worst: HeldClearance) -> Finding:
    row = assembly.rows[index]
    say, limit = assembly.scene.say, _limit(row)
    shared, own = shared_errors(assembly, index), own_error(assembly)
    left, right, _ = strips.beside(row, _top(assembly, row))
    chance = odds(left, right, shared, own, limit)
    meant = min(left, right)
    band = meant - worst.value_mm + limit
    value = worst.value_mm
    short = value < limit  # found in a pose that can be: however wide the bounds, it is so
    verdict = at_least(value, limit) if worst.proven or short else Verdict.NOT_CHECKED
    part = worst.parts[0]
    state = (
        f"{part} stays {say(value)} off it"
        if value >= 0.0
        else f"{part} comes {say(-value)} past its middle"
    )
    gap = _narrowest_gap(assembly)
    blade = f", widest safe blade {say(gap - 2.0 * band)}" if gap > 2.0 * band else ""
    text = (
        f"{row.name}: steel is meant to stand {say(meant)} off. With "
        f"{_listed(assembly, (*shared, own))} at their worst together, {state}. {SHARE:.0%} of "
        f"the time it stays more than {say(chance.usual_mm)} off, and {chance.touching:.2%} of "
        f"the time it touches. Narrowest safe band {say(band)} each side{blade}."
    )
    return Finding(
        ID,
        verdict,
        value,
        limit,
        "mm",
        text,
        error_bound=worst.error_mm,
        parts=(row.name,),
        at=worst.at,
        pose=worst.pose,
        pose_name="everything at its worst",
        source=f"half the stem, rows.plants.stem; chance from {DRAWS} seeded draws, {ASSUMED}",
        cures=tuple(_cures(assembly, (*shared, own))),
    )


def _listed(assembly: Assembly, errors: tuple[LateralError, ...]) -> str:
    say = assembly.scene.say
    return ", ".join(f"{error.name} ±{say(error.reach_mm)}" for error in errors)


def _narrowest_gap(assembly: Assembly) -> float:
    places = [row.y_mm for row in assembly.rows]
    return min((a - b for a, b in pairwise(places)), default=-math.inf)


def _cures(assembly: Assembly, errors: tuple[LateralError, ...]) -> Iterator[Knob]:
    """Less error of one kind, the largest first; or a wider band and wider gaps of wheels."""
    tolerances, rows = assembly.scene.spec.tolerances, assembly.scene.spec.rows
    for error in sorted(errors, key=lambda e: -e.reach_mm):
        now = getattr(tolerances, error.field)
        unit = "deg" if error.field == "roll" else "mm"
        yield Knob(("tolerances", error.field), now, 0.0, unit, f"hold the {error.name} closer")
    gaps = tuple(
        (("stations", index, "pair_gap"), station.pair_gap, 2.0)
        for index, station in enumerate(assembly.scene.spec.stations)
        if station.pair_gap is not None
    )
    wide = rows.keep_out + 250.0
    yield Knob(("rows", "keep_out"), rows.keep_out, wide, "mm", "keep a wider band", also=gaps)
