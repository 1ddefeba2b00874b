"""`suggest(request) -> Answer`: the rigs that pass, best first, or what stands in the way."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.obstacles import Obstacle, obstacles
from rigmodel.advise.suggest.relaxing import Relaxation, relaxations
from rigmodel.advise.suggest.request import MOST_BEST, Request
from rigmodel.advise.suggest.rig import Suggestion
from rigmodel.advise.suggest.search import MOST_CHECKS, Level, Search, Searcher
from rigmodel.advise.suggest.variants import Measures
from rigmodel.errors import RigmodelError

_GRAIN = 1e-6


@dataclass(frozen=True, eq=False)
class Answer:
    """What `suggest` found.

    Attributes:
        request: what was asked.
        objective: what the rigs are ordered by; None for the Pareto set.
        rigs: rigs that pass every check, best first.
        looked: how widely it was looked, in words.
        checks: how many rigs were checked in 3D.
        ended: whether every choice was looked at, rather than the number of checks being up.
        settled: whether each choice was proven the best of those that were left.
        obstacles: where nothing passes, what stands in the way.
        relaxations: where nothing passes, the least changes that would make it possible.
    """

    request: Request
    objective: Objective | None
    rigs: tuple[Suggestion, ...]
    looked: tuple[str, ...]
    checks: int
    ended: bool
    settled: bool = True
    obstacles: tuple[Obstacle, ...] = ()
    relaxations: tuple[Relaxation, ...] = ()


def suggest(
    request: Request,
    objective: Objective | None = Objective.PARTS,
    best: int = 1,
    progress: Callable[[str], None] = lambda _: None,
    most_checks: int = MOST_CHECKS,
) -> Answer:
    """Rigs that pass every check.

    Args:
        request: what is asked.
        objective: what to have least of; None for all rigs of which none is beaten in everything.
        best: how many rigs, 1 to 10; for the Pareto set, how many for each objective.
        progress: called with a line of text before anything that may take long.
        most_checks: rigs to check in 3D at each level, at most.

    Raises:
        RigmodelError: `best` is out of range, or the solver gave no answer.
    """
    if not 1 <= best <= MOST_BEST:
        raise RigmodelError(f"--best {best}: expected 1 to {MOST_BEST}")
    searcher = Searcher(request, Measures(), progress, most_checks)
    looked: list[str] = []
    ended = True
    for level in searcher.levels if searcher.look_at_field() else ():
        looked.append(level.says)
        searches = _look(searcher, level, objective, best)
        rigs = _merged(searches, objective)
        if rigs:
            ended = all(search.ended or len(search.found) == best for search in searches)
            seen = tuple(looked)
            checks, settled = searcher.checks, searcher.settled
            return Answer(request, objective, rigs, seen, checks, ended, settled)
        ended = ended and all(search.ended for search in searches)
        if searcher.conflicts.whole:
            break
    in_the_way = obstacles(searcher)
    ways_out = relaxations(searcher)
    seen = tuple(looked)
    checks, settled = searcher.checks, searcher.settled
    return Answer(request, objective, (), seen, checks, ended, settled, in_the_way, ways_out)


def _look(searcher: Searcher, level: Level, objective: Objective | None, best: int) -> list[Search]:
    wanted = [objective] if objective is not None else _objectives(searcher.request)
    return [searcher.look(level, one, best) for one in wanted]


def _objectives(request: Request) -> list[Objective]:
    """All that can differ: without a stock list nothing is bought."""
    return [o for o in Objective if o is not Objective.BOUGHT or request.stock is not None]


def _merged(searches: Iterable[Search], objective: Objective | None) -> tuple[Suggestion, ...]:
    found = [rig for search in searches for rig in search.found]
    if objective is not None:
        return tuple(sorted(found, key=lambda rig: rig.scores[objective]))
    return unbeaten(found)


def unbeaten(rigs: Iterable[Suggestion]) -> tuple[Suggestion, ...]:
    """The rigs of which none is beaten: no other is as good in everything and better in one."""
    kept: list[Suggestion] = []
    for rig in rigs:
        if any(_as_good(other, rig) for other in kept):
            continue
        kept = [other for other in kept if not _as_good(rig, other)]
        kept.append(rig)
    return tuple(sorted(kept, key=lambda rig: rig.scores[Objective.PARTS]))


def _as_good(one: Suggestion, other: Suggestion) -> bool:
    """Whether one rig is no worse than another in every objective."""
    return all(one.scores[o] <= other.scores[o] + _GRAIN for o in Objective)
