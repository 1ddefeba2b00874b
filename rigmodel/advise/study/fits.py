"""What a study says as a whole: counts, reasons, where it stops fitting, the safest choice."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rigmodel.advise.study.cases import FITS, Outcome, Result
from rigmodel.advise.study.plan import StudyPlan


@dataclass(frozen=True)
class Reason:
    """One cause of cases that do not fit.

    Attributes:
        outcome: how those cases end.
        cause: id of the check, or what is wrong with the scene.
        cases: how many cases it stops; a case that fails two checks counts with both.
        example: the first of them.
    """

    outcome: Outcome
    cause: str
    cases: int
    example: Result

    @property
    def says(self) -> str:
        """What the cause says in the example."""
        lines = self.example.reason.splitlines()
        mine = [line for line in lines if line.startswith(f"{self.cause}: ")]
        return "\n".join(mine or lines)


@dataclass(frozen=True)
class Stretch:
    """Neighbouring values of the last axis that fit, with all other values held.

    Attributes:
        held: values of the other axes.
        low: first value that fits.
        high: last value that fits.
        cases: how many they are.
        before: the case that does not fit before the first one; None at the study's edge.
        after: the case that does not fit after the last one; None at the study's edge.
    """

    held: tuple[str, ...]
    low: str
    high: str
    cases: int
    before: Result | None
    after: Result | None


@dataclass(frozen=True)
class Robust:
    """The choice that stands farthest from any that does not fit.

    Attributes:
        result: the case.
        steps: steps, in one or more values at once, to the nearest case that does not fit; None
            where every case fits.
    """

    result: Result
    steps: int | None


def counts(results: Sequence[Result]) -> Mapping[Outcome, int]:
    """How many cases end in each way; they add up to all of them."""
    found = Counter(result.outcome for result in results)
    return {outcome: found[outcome] for outcome in Outcome}


def reasons(results: Sequence[Result]) -> tuple[Reason, ...]:
    """Why cases do not fit, the most frequent first."""
    found: dict[tuple[Outcome, str], list[Result]] = {}
    for result in results:
        if result.outcome not in FITS:
            for cause in result.checks or (result.reason,):
                found.setdefault((result.outcome, cause), []).append(result)
    told = [Reason(*key, len(cases), cases[0]) for key, cases in found.items()]
    return tuple(sorted(told, key=lambda reason: (-reason.cases, reason.cause)))


def stretches(plan: StudyPlan, results: Sequence[Result]) -> Iterator[Stretch]:
    """Every stretch of the last axis that fits; of a sample, only what was drawn is known."""
    at = {plan.place(result.case): result for result in results}
    last = plan.axes[-1]
    for held in itertools.product(*(range(len(axis.values)) for axis in plan.axes[:-1])):
        line = [at.get((*held, i)) for i in range(len(last.values))]
        labels = tuple(a.labels[i] for a, i in zip(plan.axes[:-1], held, strict=True))
        start = 0
        for fits, group in itertools.groupby(line, lambda r: r is not None and r.outcome in FITS):
            size = len(list(group))
            end = start + size
            if fits:
                before = line[start - 1] if start else None
                after = line[end] if end < len(line) else None
                yield Stretch(labels, last.labels[start], last.labels[end - 1], size, before, after)
            start = end


def robust(plan: StudyPlan, results: Sequence[Result]) -> Robust | None:
    """The fitting case with the most steps to one that does not fit; then with the most room.

    One step is the next value in the list, up or down, of one axis or of several at once. What
    lies outside the study is not known and does not count.
    """
    good = [result for result in results if result.outcome in FITS]
    bad = [result for result in results if result.outcome not in FITS]
    if not good:
        return None
    steps = [math.inf] * len(good)
    if bad:
        from scipy.spatial import cKDTree  # noqa: PLC0415

        tree = cKDTree(np.array([plan.place(result.case) for result in bad], float))
        places = np.array([plan.place(result.case) for result in good], float)
        steps = tree.query(places, p=np.inf)[0].tolist()
    ranked = zip(steps, good, strict=True)
    best, result = max(ranked, key=lambda p: (p[0], _room(p[1]), -p[1].case))
    return Robust(result, None if math.isinf(best) else round(best))


def _room(result: Result) -> float:
    return -math.inf if result.room_mm is None else result.room_mm
