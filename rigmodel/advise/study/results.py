"""The results of a study: a few bytes a case in memory, all else fetched when it is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rigmodel.advise.study.cases import FITS, Outcome, Result

OUTCOMES = tuple(Outcome)
_CHUNK = 1024  # cases fetched together when all are gone through
Fetch = Callable[[Sequence[int] | None], Iterator[Result]]


@dataclass(frozen=True, eq=False)
class Results:
    """All results of a study, by the number of the case.

    Attributes:
        outcomes: place in `OUTCOMES` of how each case ended, (n,).
        rooms: least room of each case in mm, (n,); nan where nothing was checked.
        fetch: gives the results of some cases, or of all for None, in any order.
    """

    outcomes: NDArray[np.int8]
    rooms: NDArray[np.float64]
    fetch: Fetch

    def __len__(self) -> int:
        """How many cases there are."""
        return len(self.outcomes)

    def __getitem__(self, case: int) -> Result:
        """The result of one case."""
        return self.several((case,))[case]

    def __iter__(self) -> Iterator[Result]:
        """Every result, in the order of the cases; `_CHUNK` of them in memory at a time."""
        for start in range(0, len(self), _CHUNK):
            cases = range(start, min(start + _CHUNK, len(self)))
            found = self.several(cases)
            yield from (found[case] for case in cases)

    def several(self, cases: Sequence[int]) -> Mapping[int, Result]:
        """Some results, by case."""
        return {result.case: result for result in self.fetch(cases)}

    def stream(self) -> Iterator[Result]:
        """Every result once, in the order that is quickest."""
        return self.fetch(None)

    @property
    def fits(self) -> NDArray[np.bool_]:
        """Whether each case fits, (n,)."""
        good = [i for i, outcome in enumerate(OUTCOMES) if outcome in FITS]
        found: NDArray[np.bool_] = np.isin(self.outcomes, good)
        return found


def held(results: Sequence[Result]) -> Results:
    """Results that are all in memory."""
    by_case = {result.case: result for result in results}
    ordered = [by_case[case] for case in range(len(by_case))]
    return Results(
        np.array([OUTCOMES.index(r.outcome) for r in ordered], np.int8),
        np.array([np.nan if r.room_mm is None else r.room_mm for r in ordered], np.float64),
        lambda cases: iter(ordered if cases is None else [by_case[case] for case in cases]),
    )
