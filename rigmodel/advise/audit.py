"""A built rig against its plan: what stands off, what that costs, and whether it still clears."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from rigmodel.advise.as_built import NotApplied, built_as
from rigmodel.advise.measured import SHOWS, SPEC_VALUES, Measured, planned_values, shown_mm
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import gathered
from rigmodel.clearance.finding import (
    Finding,
    Findings,
    Key,
    Remedy,
    Verdict,
    worst,
)
from rigmodel.clearance.room import room_of
from rigmodel.clearance.runner import failing, run
from rigmodel.clearance.scope import Memo
from rigmodel.lines import wrapped
from rigmodel.loads.account import Account
from rigmodel.report.as_json import findings_object
from rigmodel.report.html.verdicts import amount
from rigmodel.report.terminal import findings_text
from rigmodel.shop.marks import marks
from rigmodel.sides import side, way
from rigmodel.units import Unit, format_setting

TAPE_MM = 25.4 / 32.0  # half of the 1/16 in a tape is read to: no deviation to speak of
TAPE_DEG = 0.1
_LOSS = {"mm": 0.05, "deg": 0.05}  # a loss of room that is worth a line
MOST_TRIED = 6  # deviations that are put right one at a time, those that cost most first
_Key = tuple[str, tuple[str, ...], str]


@dataclass(frozen=True)
class Effect:
    """What a deviation does to one check.

    Attributes:
        check: id of the check.
        parts: what its finding is about.
        unit: ``mm`` or ``deg``.
        planned: room to its limit as planned; negative is beyond it.
        built: room to its limit with this deviation alone.
        verdict: the check's verdict with this deviation alone.
    """

    check: str
    parts: tuple[str, ...]
    unit: str
    planned: float
    built: float
    verdict: Verdict

    @property
    def lost(self) -> float:
        """How much room is lost, mm or degrees."""
        return self.planned - self.built


@dataclass(frozen=True)
class Deviation:
    """One measured value against the plan.

    Attributes:
        measured: what was measured.
        planned: what the plan says, mm or degrees.
        effects: checks that lose room by it, the greatest loss first; none where it is within
            what a tape shows.
    """

    measured: Measured
    planned: float
    effects: tuple[Effect, ...] = ()

    @property
    def by(self) -> float:
        """Measured minus planned, mm or degrees."""
        return self.measured.value - self.planned

    @property
    def counts(self) -> bool:
        """Whether it is more than a tape or a level shows."""
        return abs(self.by) > (TAPE_MM if self.measured.unit == "mm" else TAPE_DEG)


@dataclass(frozen=True)
class Audit:
    """A built rig against its plan.

    Attributes:
        deviations: every measured value, as measured.
        not_measured: names of the marks that were not measured; the plan is taken for them.
        not_applied: measured values that the model cannot take, and why.
        planned: verdict of the plan.
        findings: the rig as built, checked again.
    """

    deviations: tuple[Deviation, ...]
    not_measured: tuple[str, ...]
    not_applied: tuple[NotApplied, ...]
    planned: Verdict
    findings: Findings


def audit(
    plan: Assembly,
    measured: Sequence[Measured],
    progress: Callable[[str], None] = lambda _: None,
) -> Audit:
    """Holds measured values against the plan and checks the rig as it was built.

    Args:
        plan: the assembled scene.
        measured: what `read_measured` gave.
        progress: called with a line of text before each re-check.
    """
    memo = Memo()
    expected = planned_values(plan)
    before = run(plan, memo)
    deviations = [Deviation(one, expected[one.name]) for one in measured]
    weighed = []
    for one in deviations:
        if one.counts:
            progress(f"checking what {one.measured.name} alone does")
            alone, refused = built_as(plan, (one.measured,))
            if not refused:
                effects = tuple(_effects(plan, before, alone, run(alone, memo)))
                one = replace(one, effects=effects)  # noqa: PLW2901
        weighed.append(one)
    progress("checking the rig as it was built")
    built, refused = built_as(plan, measured)
    names = {one.name for one in measured}
    return Audit(
        tuple(weighed),
        tuple(mark.station for mark in marks(plan) if mark.station not in names),
        refused,
        worst(finding.verdict for finding in before),
        _findings(built, run(built, memo), before, _SetBack(plan, weighed, memo)),
    )


def _effects(
    plan: Assembly, before: Sequence[Finding], built: Assembly, after: Sequence[Finding]
) -> Iterator[Effect]:
    """The greatest loss of each check, greatest first."""
    was, becomes = _rooms(plan, before), _rooms(built, after)
    found: dict[tuple[str, str], Effect] = {}
    for key, room in becomes.items():
        check, parts, unit = key
        planned = was.get(key)
        if planned is None:  # another pair is now the nearest one
            same = [value for (c, _, u), value in was.items() if (c, u) == (check, unit)]
            planned = min(same, default=room)
        verdict = _verdict([f.verdict for f in after if f.check == check])
        effect = Effect(check, parts, unit, planned, room, verdict)
        known = found.get((check, unit))
        if effect.lost > _LOSS.get(unit, 0.0) and (known is None or effect.lost > known.lost):
            found[check, unit] = effect
    yield from sorted(found.values(), key=lambda e: (e.unit != "mm", -e.lost))


def _verdict(verdicts: Sequence[Verdict]) -> Verdict:
    """The worst verdict of a check, where what is not decided shows as such."""
    found = worst(verdicts)
    open_ = found is not Verdict.FAIL and Verdict.NOT_CHECKED in verdicts
    return Verdict.NOT_CHECKED if open_ else found


def _rooms(assembly: Assembly, findings: Sequence[Finding]) -> dict[_Key, float]:
    """The least room of each check, by what it is about and its unit."""
    rooms: dict[_Key, float] = {}
    for finding in findings:
        room = room_of(assembly, finding)
        if room is not None:
            key = (finding.check, finding.parts, finding.unit)
            rooms[key] = min(room, rooms.get(key, room))
    return rooms


class _SetBack:
    """Finds which deviations to put right so that a finding passes; each answer is re-checked."""

    def __init__(self, plan: Assembly, deviations: Sequence[Deviation], memo: Memo) -> None:
        self.plan, self.memo = plan, memo
        self.deviations = deviations
        self._known: dict[frozenset[str], frozenset[Key]] = {}

    def remedy(self, finding: Finding) -> Remedy | None:
        """The fewest found: one alone, else one after another until the finding passes."""
        counting = [one for one in self.deviations if one.counts]
        losing = sorted(counting, key=lambda one: -_lost(one, finding.check))
        names = [one.measured.name for one in losing]
        alone = [one.measured.name for one in losing if _lost(one, finding.check)]
        tried = [(name,) for name in alone[:MOST_TRIED]]
        for back in (*tried, *(tuple(names[:n]) for n in range(2, len(names) + 1))):
            if finding.key not in self._failing(frozenset(back)):
                return Remedy((), f"Set back to the setup sheet: {', '.join(back)}")
        return None

    def _failing(self, back: frozenset[str]) -> frozenset[Key]:
        """What fails of the rig as built once some deviations are put right."""
        if back not in self._known:
            kept = tuple(d.measured for d in self.deviations if d.measured.name not in back)
            self._known[back] = failing(built_as(self.plan, kept)[0], self.memo)
        return self._known[back]


def _lost(one: Deviation, check: str) -> float:
    return max((effect.lost for effect in one.effects if effect.check == check), default=0.0)


def _findings(
    built: Assembly, found: Sequence[Finding], before: Sequence[Finding], back: _SetBack
) -> Findings:
    """Findings of the rig as built; where the plan passes, going back to it is the remedy."""
    unsound = {f.check for f in before if f.verdict is Verdict.FAIL}
    told = tuple(
        f.with_remedy(back.remedy(f)) if f.verdict is Verdict.FAIL and f.check not in unsound else f
        for f in found
    )
    return gathered(Account(built), told, f"{built.scene.spec.name}, as built")


def audit_form(plan: Assembly) -> str:
    """A CSV to fill in: every name with what the plan says and an empty column for the tape."""
    unit = plan.scene.unit
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(("mark", "name", "plan", "measured"))
    expected = planned_values(plan)
    for number, mark in enumerate(marks(plan), start=1):
        table.writerow((number, mark.station, _plan_side(mark.centre_mm, unit), ""))
        if shown_mm(mark) is not None:
            name = mark.station + SHOWS
            table.writerow((number, name, format_setting(expected[name], unit), ""))
    for name, kind in SPEC_VALUES.items():
        if name not in expected:
            continue
        value = expected[name]
        told = f"{value:g} deg" if kind == "deg" else format_setting(value, unit)
        table.writerow(("", name, told, ""))
    return out.getvalue()


def _plan_side(mm: float, unit: Unit) -> str:
    return format_setting(abs(mm), unit) + (" left" if mm > 0.0 else " right" if mm < 0.0 else "")


def audit_text(found: Audit, unit: Unit, width: int = 100, colour: bool = False) -> str:
    """The audit as text: deviations with their consequences, then the rig as built."""
    lines = _lines(found, unit)
    told = (part for line in lines for part in wrapped(line, max(width, 60), rest=6))
    return "\n".join(told) + "\n\n" + findings_text(found.findings, unit, width, colour)


def _lines(found: Audit, unit: Unit) -> Iterator[str]:
    off = [one for one in found.deviations if one.counts]
    yield f"Measured against the plan: {len(found.deviations)} measured, {len(off)} off"
    refused = {one.name for one in found.not_applied}
    for one in sorted(off, key=lambda o: -abs(o.by)):
        yield f"  - {_told(one, unit)}"
        for effect in one.effects:
            yield f"      {_effect(effect, unit)}"
        if not one.effects and one.measured.name not in refused:
            yield "      alone it costs no check any room"
    yield f"Within what a tape shows: {len(found.deviations) - len(off)}"
    if found.not_measured:
        yield f"Not measured, taken as planned: {', '.join(found.not_measured)}"
    for refusal in found.not_applied:
        yield f"Could not be applied: {refusal.name}: {refusal.why}"
    yield (
        f"The plan: {found.planned.value}. As built: {found.findings.verdict.value}"
        + (" (without what could not be applied)." if refused else ".")
    )


def _told(one: Deviation, unit: Unit) -> str:
    name, by = one.measured.name, amount(abs(one.by), one.measured.unit, unit)
    if one.measured.kind == "mark":
        places = f"at {side(one.measured.value, unit)}, planned {side(one.planned, unit)}"
        return f"{name}: {by} too far {way(one.by)} ({places})"
    less = "more" if one.by > 0.0 else "less"
    values = [amount(v, one.measured.unit, unit) for v in (one.measured.value, one.planned)]
    return f"{name}: {by} {less} than planned ({values[0]}, planned {values[1]})"


def _effect(effect: Effect, unit: Unit) -> str:
    lost = amount(effect.lost, effect.unit, unit)
    room = amount(abs(effect.built), effect.unit, unit)
    left = f"keeps {room}" if effect.built >= 0.0 else f"is {room} beyond its limit"
    about = f" ({', '.join(effect.parts)})" if effect.parts else ""
    return f"{effect.check}{about} loses {lost} of room and {left}: {effect.verdict.value}"


def audit_json(found: Audit) -> str:
    """The audit as JSON text with a trailing newline; lengths are mm, angles degrees."""
    value = {
        "planned_verdict": found.planned.value,
        "deviations": [_plain(one) for one in found.deviations],
        "not_measured": list(found.not_measured),
        "not_applied": [{"name": n.name, "why": n.why} for n in found.not_applied],
        "as_built": findings_object(found.findings),
    }
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def _plain(one: Deviation) -> dict[str, object]:
    return {
        "name": one.measured.name,
        "unit": one.measured.unit,
        "measured": one.measured.value,
        "planned": one.planned,
        "by": one.by,
        "effects": [
            {
                "check": e.check,
                "parts": list(e.parts),
                "unit": e.unit,
                "room_planned": e.planned,
                "room_built": e.built,
                "verdict": e.verdict.value,
            }
            for e in one.effects
        ],
    }
