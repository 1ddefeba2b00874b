"""stand-off: with everything off by its tolerance, steel still stays off the row."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.clearance.checks.crop_band import band_body, steel
from rigmodel.clearance.finding import Finding, Knob, Verdict, at_least
from rigmodel.clearance.held import HeldClearance
from rigmodel.clearance.lateral import (
    ASSUMED,
    DRAWS,
    SHARE,
    LateralError,
    odds,
    own_error,
    shared_errors,
    stand_offs,
)
from rigmodel.clearance.scope import STRAYING, Pairing, Scope

ID = "stand-off"
STATEMENT = "With everything off by its tolerance at once, steel still stays off the row."


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each row that steel may reach, else one for the row it comes nearest to."""
    assembly = scope.assembly
    found = [
        (worst.value_mm - _limit(row), index, row, worst)
        for index, row in enumerate(assembly.rows)
        if (worst := _worst(scope, row)) is not None
    ]
    reached = [item for item in found if item[0] < -1e-3 or not item[3].proven]
    for _, index, row, worst in reached or sorted(found, key=lambda item: item[0])[:1]:
        yield _finding(assembly, index, row, worst)


def _limit(row: RowPlace) -> float:
    return row.plants.stem / 2.0


def _top(assembly: Assembly, row: RowPlace) -> float:
    return max(assembly.scene.spec.rows.band_height, row.plants.height)


def _worst(scope: Scope, row: RowPlace) -> HeldClearance | None:
    """The least distance of any steel from a row, everything at its worst together."""
    line = band_body(row, _top(scope.assembly, row))
    held = scope.hold([Pairing(body, line, _limit(row)) for body in steel(scope)], STRAYING)
    return next((c for c, _ in held.told(0.0)), None)


def _finding(assembly: Assembly, index: int, row: RowPlace, worst: HeldClearance) -> Finding:
    say, limit = assembly.scene.say, _limit(row)
    shared, own = shared_errors(assembly, index), own_error(assembly)
    left, right = stand_offs(assembly, row, _top(assembly, row))
    chance = odds(left, right, shared, own, limit)
    meant = min(left, right)
    band = meant - worst.value_mm + limit
    value = worst.value_mm
    verdict = at_least(value, limit) if worst.proven else Verdict.NOT_CHECKED
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
