"""Works on cases of a study: each ends as pass, advise, fail, invalid or not checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from rigmodel.advise.study.judging import Answer, Judge, OpenCase
from rigmodel.advise.study.load import SceneLoader
from rigmodel.advise.study.plan import StudyError, StudyPlan
from rigmodel.advise.study.program import program_digest
from rigmodel.advise.study.scope import MOST_ROOM_MM
from rigmodel.assembly.build import assemble
from rigmodel.assembly.workbench import Workbench
from rigmodel.clearance.finding import Verdict
from rigmodel.errors import Fault, InputError


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
        room_mm: least room to a limit among the checks in mm, negative beyond it; `MOST_ROOM_MM`
            where there is that or more; None where nothing was checked.
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
    """The results of a batch, in the order they are worked on.

    They depend on the plan alone: not on the process, the machine or what ran before.

    Raises:
        StudyError: this process runs another version of the program than planned the study.
    """
    if program_digest() != plan.program:
        raise StudyError(
            "the program was changed since the study began, or a worker of the cluster runs "
            "another version of it; its results cannot be put together"
        )
    return _worker(plan).results(plan.batch_cases(start))


@lru_cache(maxsize=1)  # the next batch of a study finds again what this one worked out
def _worker(plan: StudyPlan) -> Worker:
    return Worker(plan)


class Worker:
    """Works on cases of one study; keeps what helps with the next ones.

    Args:
        plan: the study.
    """

    def __init__(self, plan: StudyPlan) -> None:
        self._plan = plan
        self._loader = SceneLoader(plan.files, plan.catalogues)
        self._workbench = Workbench()
        self._judge = Judge()

    def results(self, numbers: Sequence[int]) -> tuple[Result, ...]:
        """How cases end, each once, in the order given."""
        opened = [self._opened(case) for case in numbers]
        with suppress(Exception):  # what is wrong shows again in the case that it belongs to
            self._judge.prepare(case for case in opened if isinstance(case, OpenCase))
        return tuple(
            case if isinstance(case, Result) else self._judged(number, case)
            for number, case in zip(numbers, opened, strict=True)
        )

    def _opened(self, case: int) -> OpenCase | Result:
        tree = self._plan.tree(case)
        try:
            assembly = assemble(self._loader.scene(tree, self._plan.origin), self._workbench)
            return self._judge.opened(tree, assembly)
        except InputError as error:
            told = "; ".join(_told(fault) for fault in error.faults[:3])
            return Result(case, Outcome.INVALID, None, "", (), told)
        except Exception as error:  # one case must not end the study, nor be lost
            return _broken(case, error)

    def _judged(self, number: int, case: OpenCase) -> Result:
        try:
            return _result(number, self._judge.answers(case))
        except Exception as error:
            return _broken(number, error)


def _broken(case: int, error: Exception) -> Result:
    told = f"could not be worked out: {type(error).__name__}: {error}"
    return Result(case, Outcome.NOT_CHECKED, None, "", (), told)


def _told(fault: Fault) -> str:
    return ": ".join(filter(None, (fault.path, fault.message)))


def _result(case: int, answers: Mapping[str, Answer]) -> Result:
    outcome, wrong = Outcome.PASS, dict[str, str]()
    for verdict, ends in (
        (Verdict.FAIL, Outcome.FAIL),
        (Verdict.NOT_CHECKED, Outcome.NOT_CHECKED),
        (Verdict.ADVISE, Outcome.ADVISE),
    ):
        wrong = {name: a.said[verdict] for name, a in answers.items() if verdict in a.said}
        if wrong:
            outcome = ends
            break
    rooms = [(a.room_mm, name) for name, a in answers.items() if a.room_mm is not None]
    room, check = min(rooms, default=(MOST_ROOM_MM, ""))
    if room >= MOST_ROOM_MM:
        room, check = MOST_ROOM_MM, ""
    reason = "\n".join(f"{name}: {message}" for name, message in wrong.items())
    checks = tuple(wrong) if outcome not in FITS else ()
    return Result(case, outcome, round(room, 4), check, checks, reason)
