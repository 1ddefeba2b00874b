"""What a study says as a whole: counts, reasons, where it stops fitting, the safest choice."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rigmodel.advise.study.cases import FITS, Outcome, Result
from rigmodel.advise.study.plan import StudyPlan
from rigmodel.advise.study.results import OUTCOMES, Results

_CHUNK = 4096  # places looked up at a time
_SPANS = 128  # stretches whose ends are fetched together


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


def counts(results: Results) -> Mapping[Outcome, int]:
    """How many cases end in each way; they add up to all of them."""
    found = np.bincount(results.outcomes, minlength=len(OUTCOMES)).tolist()
    return dict(zip(OUTCOMES, found, strict=True))


def reasons(results: Results) -> tuple[Reason, ...]:
    """Why cases do not fit, the most frequent first."""
    cases: Counter[tuple[Outcome, str]] = Counter()
    first: dict[tuple[Outcome, str], Result] = {}
    for result in results.stream():
        if result.outcome not in FITS:
            for cause in result.checks or (result.reason,):
                key = (result.outcome, cause)
                cases[key] += 1
                if key not in first or result.case < first[key].case:
                    first[key] = result
    told = [Reason(*key, number, first[key]) for key, number in cases.items()]
    return tuple(sorted(told, key=lambda reason: (-reason.cases, reason.cause, reason.outcome)))


def stretches(plan: StudyPlan, results: Results) -> Iterator[Stretch]:
    """Every stretch of the last axis that fits; of a sample, only what was drawn is known."""
    spans = _spans(plan, results)
    while some := list(itertools.islice(spans, _SPANS)):
        ends = {case for span in some for case in (span.before, span.after) if case is not None}
        told = results.several(sorted(ends))
        yield from (
            Stretch(
                span.held,
                span.low,
                span.high,
                span.cases,
                None if span.before is None else told[span.before],
                None if span.after is None else told[span.after],
            )
            for span in some
        )


class _Span(NamedTuple):
    """A stretch, with the numbers of the cases before and after it."""

    held: tuple[str, ...]
    low: str
    high: str
    cases: int
    before: int | None
    after: int | None


def _spans(plan: StudyPlan, results: Results) -> Iterator[_Span]:
    fits, last = results.fits, plan.axes[-1]
    size = len(last.values)
    for held in itertools.product(*(range(len(axis.values)) for axis in plan.axes[:-1])):
        first = plan.number((*held, 0))
        line: list[int | None] = [None] * size
        for case in plan.within(first, first + size):
            line[plan.place(case)[-1]] = case
        labels = tuple(a.labels[i] for a, i in zip(plan.axes[:-1], held, strict=True))
        start = 0
        for fit, group in itertools.groupby(line, lambda c: c is not None and bool(fits[c])):
            length = len(list(group))
            end = start + length
            if fit:
                yield _Span(
                    labels,
                    last.labels[start],
                    last.labels[end - 1],
                    length,
                    line[start - 1] if start else None,
                    line[end] if end < size else None,
                )
            start = end


def robust(plan: StudyPlan, results: Results) -> Robust | None:
    """The fitting case with the most steps to one that does not fit; then with the most room.

    One step is the next value in the list, up or down, of one axis or of several at once. What
    lies outside the study is not known and does not count.
    """
    fits = results.fits
    good, bad = np.flatnonzero(fits), np.flatnonzero(~fits)
    if not len(good):
        return None
    steps = np.full(len(good), math.inf)
    if len(bad):
        from scipy.spatial import cKDTree  # noqa: PLC0415

        tree = cKDTree(_places(plan, bad))
        for start in range(0, len(good), _CHUNK):
            places = _places(plan, good[start : start + _CHUNK])
            steps[start : start + _CHUNK] = tree.query(places, p=np.inf)[0]
    rooms = np.nan_to_num(results.rooms[good], nan=-math.inf)
    best = np.lexsort((good, -rooms, -steps))[0]
    away = float(steps[best])
    return Robust(results[int(good[best])], None if math.isinf(away) else round(away))


def _places(plan: StudyPlan, cases: NDArray[np.int64]) -> NDArray[np.int64]:
    """Where cases stand in the grid, (n, axes)."""
    numbers = cases if plan.drawn is None else np.array(plan.drawn)[cases]
    return np.stack(np.unravel_index(numbers, [len(axis.values) for axis in plan.axes]), axis=1)
