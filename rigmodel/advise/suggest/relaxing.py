"""Where nothing passes: the least that each requirement would have to give way.

Each way is tried on the real thing: the request is changed, rigs are chosen and checked in 3D, and
the least change after which one passes is kept. Where no way is enough alone, two are tried
together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.obstacles import no_wheels_stand
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.search import Searcher
from rigmodel.advise.suggest.variants import with_stations
from rigmodel.clearance.finding import Change, Choice, Knob
from rigmodel.clearance.trial import Trials, chosen, shown_value, turned
from rigmodel.reading.faults import path_text
from rigmodel.spec.resolve import Scene

_TRIAL_CHECKS = 6  # rigs checked in 3D for one changed request
_FARTHER_STEPS = 10
_MOST_PAIRS = 3  # pairs of ways that are told
_MOST_TRIALS = 80  # changed requests looked at before no more pairs are tried
MOST_MISSED_MM = 101.6
_TRIED = {
    *(("rows", "spacing"), ("rows", "count"), ("rows", "keep_out"), ("toolbar", "length")),
    *(("tractor", "rear", "track"), ("tractor", "front", "track")),
}
_OF_THE_RIG = ("stations", "limits", "tolerances")  # values that are no matter of field and tractor


@dataclass(frozen=True)
class Turn:
    """One requirement and how far it gives way.

    Attributes:
        what: the requirement.
        was: as it is, as a person reads it.
        least: as it would have to be.
    """

    what: str
    was: str
    least: str


@dataclass(frozen=True)
class Relaxation:
    """The least change with which a rig was found that passes every check.

    Attributes:
        turns: what is changed; more than one where no single one is enough.
        proven: whether one step less of each was tried and gave no rig.
    """

    turns: tuple[Turn, ...]
    proven: bool


@dataclass(frozen=True)
class _Way:
    """One requirement that could give way.

    Attributes:
        what: the requirement.
        cure: the value of the scene that is turned; None where the request itself changes.
        step: turn by so much.
        wheels: whether pairs of wheels are still asked for.
        buys: whether parts may be bought beyond those at hand, where they may not now.
        halvings: how often the step before the first choice that does is halved to come nearer.
    """

    what: str
    cure: Knob | Choice | None = None
    step: float | None = None
    wheels: bool = True
    buys: bool = False
    halvings: int = 0

    @property
    def of_rows(self) -> bool:
        """Whether it changes where the rows are, or what stands at them."""
        return not self.wheels or (self.cure is not None and self.cure.path[0] == "rows")


@dataclass(frozen=True)
class _Outcome:
    """What a changed request comes to: whether a rig passes, and what would be bought for it."""

    passes: bool
    bought: tuple[tuple[str, int], ...] = ()


def _passes(outcome: _Outcome) -> bool:
    return outcome.passes


def relaxations(searcher: Searcher) -> tuple[Relaxation, ...]:
    """The least change of each requirement that gives a rig; pairs where none is enough alone."""
    finder = _Finder(searcher)
    ways = tuple(finder.ways())
    # Where no wheels can stand at the rows, nothing but the rows and the wheels can help alone.
    stuck = not searcher.conflicts.whole and no_wheels_stand(searcher)
    alone = [finder.alone(way) for way in ways if not stuck or way.of_rows]
    found = tuple(relaxation for relaxation in alone if relaxation is not None)
    return found or tuple(finder.pairs(ways))


class _Finder:
    def __init__(self, searcher: Searcher) -> None:
        self.searcher, self.request = searcher, searcher.request
        self.scene = self.request.scene
        inches = self.scene.unit.value in ("in", "ft")
        self.fine, self.coarse = (6.35, 25.4) if inches else (5.0, 25.0)
        self.looked = 0
        self._trials: dict[tuple[bool, bool], Trials[_Outcome]] = {}

    def ways(self) -> Iterator[_Way]:
        """What could give way, what costs least first."""
        spec = self.scene.spec
        if self.request.stock is not None and not self.request.may_buy:
            yield _Way("parts to buy", buys=True)
        conflicts = self.searcher.conflicts
        if self.request.wheels:
            yield _Way("finger wheels", wheels=False)
        yield from self._of_rows()
        if not conflicts.whole:
            yield from self._of_soil_and_bar()
            yield from self._of_tractor()
        seen: set[tuple[str | int, ...]] = set(_TRIED)
        for finding in (*conflicts.whole.values(), *conflicts.reasons.values()):
            for cure in finding.cures:
                if cure.path[0] not in _OF_THE_RIG and cure.path not in seen:
                    seen.add(cure.path)
                    yield _Way(f"{cure.says} ({path_text(cure.path)})", cure)
        if conflicts.whole:
            bar = spec.toolbar.length
            knob = Knob(("toolbar", "length"), bar, bar / 2.0, "mm", "")
            yield _Way("a shorter bar (toolbar.length)", knob, self.coarse)

    def _of_rows(self) -> Iterator[_Way]:
        rows = self.scene.spec.rows
        if rows.spacing is not None:
            # More is not always better: a wider gap may lie between what one blade works and two.
            values = tuple(rows.spacing + k * self.coarse for k in range(1, _FARTHER_STEPS + 1))
            choice = Choice(("rows", "spacing"), values, rows.spacing, "", "mm")
            yield _Way("rows farther apart (rows.spacing)", choice, self.coarse, halvings=2)
        if rows.count is not None and rows.count > 1:
            fewer = tuple(range(rows.count - 1, 0, -1))
            yield _Way("fewer rows (rows.count)", Choice(("rows", "count"), fewer, rows.count, ""))

    def _of_tractor(self) -> Iterator[_Way]:
        for name, axle in (("rear", self.scene.tractor.rear), ("front", self.scene.tractor.front)):
            wider = tuple(sorted(t for t in axle.tracks if t > axle.track)) if axle else ()
            if axle is not None and wider:
                path = ("tractor", name, "track")
                choice = Choice(path, wider, axle.track, "", "mm")
                yield _Way(f"{name} wheels wider apart ({path_text(path)})", choice)

    def _of_soil_and_bar(self) -> Iterator[_Way]:
        spec = self.scene.spec
        keep = spec.rows.keep_out
        narrower = tuple(keep - k * self.fine for k in range(1, int(keep / self.fine)))
        choice = Choice(("rows", "keep_out"), narrower, keep, "", "mm")
        yield _Way("a narrower keep-out band (rows.keep_out)", choice)
        knob = Knob(("limits", "missed"), spec.limits.missed, MOST_MISSED_MM, "mm", "")
        yield _Way("strip of soil that may be missed (limits.missed)", knob, self.fine)
        bar = spec.toolbar.length
        knob = Knob(("toolbar", "length"), bar, bar * 2.0, "mm", "")
        yield _Way("a longer bar (toolbar.length)", knob, 2.0 * self.coarse)

    def alone(self, way: _Way) -> Relaxation | None:
        """The least of one way that gives a rig."""
        self.searcher.progress(f"trying {way.what}")
        trials = self._judged(way)
        changes = self._least(trials, way, ())
        if changes is None:
            return None
        return Relaxation((self._turn(way, changes, trials),), way.wheels and not way.buys)

    def pairs(self, ways: Sequence[_Way]) -> Iterator[Relaxation]:
        """Two ways together: the least of the one with all of the other, then of the other."""
        found = 0
        for one, other in combinations(ways, 2):
            if found == _MOST_PAIRS or self.looked >= _MOST_TRIALS:
                return
            self.searcher.progress(f"trying {one.what} and {other.what}")
            relaxation = self._pair(one, other)
            if relaxation is not None:
                found += 1
                yield relaxation

    def _pair(self, one: _Way, other: _Way) -> Relaxation | None:
        trials = self._judged(one, other)
        for most in _fully(other):
            first = self._least(trials, one, most)
            if first is None:
                continue
            second = self._least(trials, other, first)
            if second is not None:
                told = [(one, first), (other, second)]
                turns = tuple(self._turn(way, changes, trials) for way, changes in told)
                plain = [way.wheels and not way.buys for way in (one, other)]
                return Relaxation(turns, all(plain))
        return None

    def _least(
        self, trials: Trials[_Outcome], way: _Way, besides: Sequence[Change]
    ) -> tuple[Change, ...] | None:
        if way.cure is not None:
            found = trials.least(way.cure, _passes, way.step, besides)
            return self._nearer(trials, way, found, besides) if found else None
        outcome = trials.answer(besides)
        return () if outcome is not None and outcome.passes else None

    def _nearer(
        self,
        trials: Trials[_Outcome],
        way: _Way,
        found: tuple[Change, ...],
        besides: Sequence[Change],
    ) -> tuple[Change, ...]:
        """Less than one step of a choice, where that does as well."""
        step = way.step or 0.0
        for _ in range(way.halvings):
            step /= 2.0
            less = tuple(replace(c, value=_length(c.value) - step) for c in found)
            outcome = trials.answer((*less, *besides))
            found = less if outcome is not None and outcome.passes else found
        return found

    def _judged(self, *ways: _Way) -> Trials[_Outcome]:
        """Trials of the request as these ways leave it, apart from the scene's values."""
        wheels = all(way.wheels for way in ways) and self.request.wheels
        buys = any(way.buys for way in ways) or self.request.may_buy
        if (wheels, buys) not in self._trials:
            request = replace(self.request, wheels=wheels, may_buy=buys)
            plain = with_stations(self.scene, self.scene.spec.stations[:1]) or self.scene
            self._trials[wheels, buys] = Trials(plain, partial(self._outcome, request))
        return self._trials[wheels, buys]

    def _outcome(self, request: Request, scene: Scene) -> _Outcome:
        self.looked += 1
        asked = replace(request, scene=scene)
        trial = Searcher(asked, self.searcher.measures, lambda _: None, _TRIAL_CHECKS)
        if self.searcher.conflicts.whole and not trial.look_at_field():
            return _Outcome(False)
        found = trial.look(trial.levels[0], Objective.BOUGHT, 1).found
        return _Outcome(True, tuple(found[0].bought.items())) if found else _Outcome(False)

    def _turn(self, way: _Way, changes: Sequence[Change], trials: Trials[_Outcome]) -> Turn:
        if way.buys:
            outcome = trials.answer(())
            bought = outcome.bought if outcome is not None else ()
            return Turn(
                way.what, "none", ", ".join(f"{n} × {part}" for part, n in bought) or "none"
            )
        if not changes:
            return Turn(way.what, "a pair at every row", "none, hoes only")
        first = changes[0]
        was, least = (shown_value(self.scene, v, first.unit) for v in (first.was, first.value))
        return Turn(way.what, was, least)


def _length(value: object) -> float:
    assert isinstance(value, float)  # only lengths are halved
    return value


def _fully(way: _Way) -> Iterator[tuple[Change, ...]]:
    """A way as far as it goes; of values to choose from, each."""
    if way.cure is None:
        yield ()
    elif isinstance(way.cure, Choice):
        yield from (chosen(way.cure, value) for value in way.cure.values)
    else:
        yield turned(way.cure, way.cure.toward - way.cure.start)
