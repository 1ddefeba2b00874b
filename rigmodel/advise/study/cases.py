"""Works on cases of a study: each ends as pass, advise, fail, invalid or not checked."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from rigmodel.advise.study.plan import StudyError, StudyPlan, program_digest
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.errors import InputError
from rigmodel.report.html.margins import room_of
from rigmodel.spec.load import scene_from_text


class Outcome(StrEnum):
    """How a case ends."""

    PASS = "pass"
    ADVISE = "advise"
    FAIL = "fail"
    INVALID = "invalid"
    NOT_CHECKED = "not checked"


FITS = frozenset((Outcome.PASS, Outcome.ADVISE))


@dataclass(frozen=True)
class Result:
    """What came of one case.

    Attributes:
        case: its number, from 0.
        outcome: how it ended.
        room_mm: least room to a limit among the checks in mm, negative beyond it; or None.
        room_check: the check that has least room, or an empty string.
        checks: ids of the checks that fail or are not decided.
        reason: why it does not fit, or what is advised against; a line for each check.
    """

    case: int
    outcome: Outcome
    room_mm: float | None
    room_check: str
    checks: tuple[str, ...]
    reason: str


def run_batch(plan: StudyPlan, start: int) -> tuple[Result, ...]:
    """The results of the batch that starts with a case.

    They depend on the plan alone: not on the process, the machine or what ran before.

    Raises:
        StudyError: this process runs another version of the program than planned the study.
    """
    if program_digest() != plan.program:
        raise StudyError(
            "the program was changed since the study began, or a worker of the cluster runs "
            "another version of it; its results cannot be put together"
        )
    cases = range(start, min(start + plan.batch, plan.total))
    memo = Memo()
    with tempfile.TemporaryDirectory(prefix="rigmodel-study-") as name:
        folder = Path(name)
        for path, data in plan.files:
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(data)
        return tuple(_result(plan, case, folder, memo) for case in cases)


def _result(plan: StudyPlan, case: int, folder: Path, memo: Memo) -> Result:
    try:
        assembly = assemble(scene_from_text(plan.text(case), plan.origin, folder))
        return _judged(case, assembly, run(assembly, memo))
    except InputError as error:
        told = "; ".join(_told(fault.path, fault.message) for fault in error.faults[:3])
        return Result(case, Outcome.INVALID, None, "", (), told)
    except Exception as error:  # one case must not end the study, nor be lost
        told = f"could not be worked out: {type(error).__name__}: {error}"
        return Result(case, Outcome.NOT_CHECKED, None, "", (), told)


def _told(path: str, message: str) -> str:
    return f"{path}: {message}" if path else message


def _judged(case: int, assembly: Assembly, findings: Sequence[Finding]) -> Result:
    by_verdict = {
        verdict: [f for f in findings if f.verdict is verdict]
        for verdict in (Verdict.FAIL, Verdict.NOT_CHECKED, Verdict.ADVISE)
    }
    outcome, wrong = Outcome.PASS, list[Finding]()
    for verdict, ends in (
        (Verdict.FAIL, Outcome.FAIL),
        (Verdict.NOT_CHECKED, Outcome.NOT_CHECKED),
        (Verdict.ADVISE, Outcome.ADVISE),
    ):
        if by_verdict[verdict]:
            outcome, wrong = ends, by_verdict[verdict]
            break
    first: dict[str, str] = {}
    for finding in wrong:
        first.setdefault(finding.check, finding.message)
    rooms = [
        (room, f.check)
        for f in findings
        if f.unit == "mm" and (room := room_of(assembly, f)) is not None
    ]
    room, check = min(rooms, default=(None, ""))
    reason = "\n".join(f"{name}: {message}" for name, message in first.items())
    checks = tuple(first) if outcome not in FITS else ()
    return Result(case, outcome, None if room is None else round(room, 4), check, checks, reason)
