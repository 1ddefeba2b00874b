"""pair-gap: each pair of finger wheels leaves the gap that was asked at its row."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.fingers import fingers_of
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import Assembly, RowPlace, StationPlace
from rigmodel.clearance.cures import unshifted
from rigmodel.clearance.finding import Choice, Finding, Knob, Verdict, at_least, at_most
from rigmodel.clearance.scope import Scope

ID = "pair-gap"
STATEMENT = "Each pair of finger wheels leaves the gap that was asked, inside common practice."


def pairs(assembly: Assembly) -> Iterator[tuple[RowPlace, StationPlace, Part, Part]]:
    """Every pair at a row: row, its left station, left wheel, right wheel."""
    wheels: dict[tuple[int, int, int], tuple[StationPlace, Part]] = {}
    for station in assembly.stations:
        if station.row is None or station.pair_gap_mm is None:
            continue
        for name in station.parts:
            part = assembly.mechanism.part(name)
            if part.role is Role.FINGER_WHEEL:
                wheels[(station.index, station.row, station.side)] = (station, part)
    for (index, row, side), (station, part) in wheels.items():
        other = wheels.get((index, row, -1))
        if side == 1 and other is not None:
            yield assembly.rows[row], station, part, other[1]


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each pair whose gap is not what was asked, else one for the rig."""
    assembly = scope.assembly
    found = []
    for row, station, left, right in pairs(assembly):
        near_left = fingers_of(assembly.at_work(left)).extent((0.0, 1.0, 0.0))[0]
        near_right = fingers_of(assembly.at_work(right)).extent((0.0, 1.0, 0.0))[1]
        gap = near_left - near_right
        off = abs(gap - (station.pair_gap_mm or 0.0))
        found.append((off, gap, row, station, left, right))
    limit = assembly.scene.spec.limits.pair_gap_tolerance
    wrong = [item for item in found if at_most(item[0], limit) is Verdict.FAIL]
    for item in wrong:
        yield _finding(assembly, *item)
    if found and not wrong:
        yield _finding(assembly, *max(found, key=lambda item: item[0]))


def _finding(
    assembly: Assembly,
    off: float,
    gap: float,
    row: RowPlace,
    station: StationPlace,
    left: Part,
    right: Part,
) -> Finding:
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    asked = station.pair_gap_mm or 0.0
    verdict = at_most(off, limits.pair_gap_tolerance)
    usual = f"{say(limits.pair_gap_low)} to {say(limits.pair_gap_high)}"
    shown = f"a gap of {say(gap)}" if gap >= 0 else f"fingers interleaved by {say(-gap)}"
    text = f"{row.name}: {shown}, {say(asked)} was asked"
    cures: tuple[Knob | Choice, ...] = ()
    if verdict is Verdict.FAIL:
        text += f"; that is {say(off)} off, and a tape allows {say(limits.pair_gap_tolerance)}."
        path = ("stations", station.index, "pair_gap")
        ask = Knob(path, asked, gap, "mm", f"ask for the gap that {row.name} can be set to")
        cures = (*unshifted(assembly, station), ask)
    elif Verdict.FAIL in (
        at_least(gap, limits.pair_gap_low),
        at_most(gap, limits.pair_gap_high),
    ):
        verdict = Verdict.ADVISE
        text += f"; the usual start is {usual}."
    else:
        text += f", inside the usual {usual}."
    x, _, z = assembly.at_work(left).bounds().mean(axis=0).tolist()
    line = row.y_mm
    return Finding(
        ID,
        verdict,
        gap,
        asked,
        "mm",
        text,
        parts=(left.name, right.name),
        at=((x, line + gap / 2.0, z), (x, line - gap / 2.0, z)),
        source=limits.source("pair_gap_low"),
        cures=cures,
    )
