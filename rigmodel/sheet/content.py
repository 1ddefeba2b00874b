"""All that stands on a setup sheet, as texts ready to print."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import PurePath

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.loads.account import Account
from rigmodel.report.cautions import CAUTIONS
from rigmodel.sheet.bolts import BoltRow, GradeTable, bolt_rows, grade_tables
from rigmodel.sheet.facts import gather
from rigmodel.sheet.settings import (
    SETTINGS_NOTE,
    BarDrawing,
    MarkRow,
    SettingRow,
    bar_drawing,
    mark_rows,
    marks_note,
    setting_rows,
)
from rigmodel.sheet.steps import (
    Blank,
    Step,
    assembly_steps,
    blanks,
    first_hour,
    gap_steps,
    level_steps,
)
from rigmodel.sheet.weight import WEIGHT_CAUTION, pull_steps, weight_steps
from rigmodel.sheet.words import counted, joined, printable, prints
from rigmodel.shop.torque import BASIS
from rigmodel.units import Unit

ALARMS_SHOWN = 4
NO_ORDER = "No order of assembly is printed for a rig that fails its check."
NO_LETTERS = "The PDF's fonts lack some letters of the scene's own words; the HTML sheet has them."
_LONGEST_NOTES = 400
_SPLIT, _NOT_GIVEN = ": tolerances.", " is not given, none is allowed for"
_UNSAID = " is not given"
_WORD = {
    Verdict.FAIL: "DO NOT BUILD",
    Verdict.NOT_CHECKED: "NOT DECIDED",
    Verdict.ADVISE: "TAKE CARE",
}
SHEET_CAUTIONS = (
    "Block the rig on stands that carry its weight; a jack or the lift alone is not enough. Chock "
    "the wheels. Nobody between rig and tractor while it moves.",
    WEIGHT_CAUTION,
    "Anything changed after this sheet was printed needs a new check and a new sheet.",
)


@dataclass(frozen=True)
class Alarm:
    """A finding that is not pass.

    Attributes:
        word: what it means for the fitter, in capitals.
        text: the finding's own sentence.
        cure: a change that was re-checked, or what to do instead; may be empty.
    """

    word: str
    text: str
    cure: str


@dataclass(frozen=True)
class Sheet:
    """A setup sheet.

    Attributes:
        title: the scene's title.
        letters: that not all letters can be printed, or an empty string.
        source: name of the scene's file.
        paper: name of the paper.
        units: unit of lengths, in words.
        build: whether no check fails.
        verdict: how the check came out, in words.
        alarms: findings that are not pass, worst first.
        more: how many more of them there are, in words, or an empty string.
        notes: the scene's own notes.
        drawing: the bar with its marks, to scale.
        marks: clamps from left to right.
        marks_note: how to read them.
        settings: shanks, arms and ranks.
        settings_note: what is not given there.
        bolts: fasteners with spanner and torque.
        grades: torques by grade, to be read off the bolt.
        torque_note: where the torques come from.
        steps: assembly in order; empty for a rig that fails.
        level: how to level it.
        weight: what it weighs, where it balances, and its draft and yaw where they are known.
        gaps: pair gaps and how to change them; empty without pairs, or for a rig that fails.
        first_hour: what to re-tighten.
        blanks: what to measure and write down.
        cautions: cautions.
        not_checked: what the check leaves open.
    """

    title: str
    letters: str
    source: str
    paper: str
    units: str
    build: bool
    verdict: str
    alarms: tuple[Alarm, ...]
    more: str
    notes: str
    drawing: BarDrawing
    marks: tuple[MarkRow, ...]
    marks_note: str
    settings: tuple[SettingRow, ...]
    settings_note: str
    bolts: tuple[BoltRow, ...]
    grades: tuple[GradeTable, ...]
    torque_note: str
    steps: tuple[Step, ...]
    level: tuple[Step, ...]
    weight: tuple[Step, ...]
    gaps: tuple[Step, ...]
    first_hour: str
    blanks: tuple[Blank, ...]
    cautions: tuple[str, ...]
    not_checked: tuple[str, ...]


def sheet_content(assembly: Assembly, findings: Findings) -> Sheet:
    """All that stands on the setup sheet of a checked rig."""
    scene = assembly.scene
    build = findings.verdict is not Verdict.FAIL
    inches = scene.unit in (Unit.IN, Unit.FT)
    facts = gather(assembly)
    open_ones = _worst_first(findings.findings)
    alarms = tuple(_alarm(f) for f in open_ones[:ALARMS_SHOWN])
    title, notes = printable(scene.spec.name), _cut(printable(scene.spec.notes))
    source = printable(PurePath(scene.origin).name)
    return Sheet(
        title,
        "" if prints(title + source + notes + "".join(a.text for a in alarms)) else NO_LETTERS,
        source,
        "us-letter" if inches else "a4",
        "inches, to 1/16" if inches else "millimetres",
        build,
        _verdict(findings),
        alarms,
        _more(open_ones[ALARMS_SHOWN:]),
        notes,
        bar_drawing(facts),
        mark_rows(facts),
        marks_note(facts),
        setting_rows(facts),
        SETTINGS_NOTE,
        bolt_rows(facts),
        grade_tables(facts),
        BASIS,
        assembly_steps(facts, findings) if build else (),
        level_steps(facts),
        (*weight_steps(facts), *pull_steps(findings.loads or Account(assembly))),
        gap_steps(facts) if build else (),
        first_hour(facts),
        blanks(facts),
        (*CAUTIONS, *SHEET_CAUTIONS),
        _not_checked(findings),
    )


def _worst_first(findings: Iterable[Finding]) -> list[Finding]:
    order = list(Verdict)
    found = [f for f in findings if f.verdict is not Verdict.PASS]
    return sorted(found, key=lambda f: order.index(f.verdict))


def _verdict(findings: Findings) -> str:
    counts = {v: sum(f.verdict is v for f in findings.findings) for v in Verdict}
    told = ", ".join(f"{n} {v.value}" for v, n in counts.items() if n)
    return f"{findings.verdict.value.upper()} ({told})"


def _alarm(finding: Finding) -> Alarm:
    cure = ""
    if finding.remedy is not None:
        cure = f"Cure, re-checked: {finding.remedy.says}."
        if finding.remedy.leaves:
            cure += f" Then these still fail: {', '.join(finding.remedy.leaves)}."
    elif finding.verdict is Verdict.FAIL:
        cure = "No single change was found that cures it; change the layout or the parts."
    return Alarm(_WORD[finding.verdict], printable(finding.message), printable(cure))


def _more(rest: list[Finding]) -> str:
    if not rest:
        return ""
    fails = sum(f.verdict is Verdict.FAIL for f in rest)
    told = counted(len(rest), "more finding is", "more findings are")
    return f"{told} not pass ({fails} fail); 'rigmodel check' lists them."


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_NOTES else text[:_LONGEST_NOTES].rstrip() + " …"


def _not_checked(findings: Findings) -> tuple[str, ...]:
    """What the check leaves open, each once; what is not given in the scene stands together."""
    reasons = list(dict.fromkeys(item.reason for item in findings.not_checked))
    without = [r.partition(_SPLIT)[0] for r in reasons if r.endswith(_NOT_GIVEN)]
    unsaid = dict.fromkeys(r.partition(": ")[0] for r in reasons if r.endswith(_UNSAID))
    others = [printable(r) for r in reasons if not r.endswith((_NOT_GIVEN, _UNSAID))]
    if unsaid:
        others.insert(0, f"not checked, the scene says too little: {printable(joined([*unsaid]))}")
    if without:
        others.append(f"not given in the scene, so not allowed for: {printable(joined(without))}")
    return tuple(others)
