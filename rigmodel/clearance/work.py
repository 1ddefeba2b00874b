"""The part of a survey that is not known yet: boxes first, then a glance, then the search."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.clearance.broad import Body, BodyTable, Stage
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.limbs import BoolArray
from rigmodel.clearance.memo import ClearanceMemo, Known, Outcome
from rigmodel.clearance.nodes import Budget, PiecePairs, least_places
from rigmodel.clearance.search import Search
from rigmodel.clearance.separation import TOUCH_MM, NarrowPhase
from rigmodel.clearance.supports import IntArray
from rigmodel.clearance.wanted import base_of, wanted_low

_GLANCES = 64  # nearest pairs of boxes looked at first, for the least margin


@dataclass(frozen=True, eq=False)
class Tools:
    """What a survey works with.

    Attributes:
        narrow: the distance engine and its certificates.
        memo: what is known of pairs alike.
        error_bound_mm: width to which values are worked out.
        budget: engine calls allowed.
        high_of: clearance of two bodies in a pose, mm.
        depth_of: how deep one of them at least lies inside a surface of the other there, mm;
            joint values (2, c), radians or mm.
    """

    narrow: NarrowPhase
    memo: ClearanceMemo
    error_bound_mm: float
    budget: Budget
    high_of: Callable[[Sequence[Body], Known], float]
    depth_of: Callable[[Sequence[Body], FloatArray], float]


class Work:
    """One survey of pairs of a table's bodies.

    Args:
        tools: what it works with.
        linkage: the compiled mechanism.
        table: the bodies.
        pairs: numbers of bodies in the table, shape (k, 2).
        limits: limit of each pair, mm; infinite to work out every value, shape (k,).
        before: what pairs came to earlier.
        least: least margin over its limit that some other pair comes down to, mm.
        lots: which pairs belong to each lot (`search`), shape (m, k); None where each counts.

    Attributes:
        low: proven lower bound of each pair, mm, shape (k,).
        known: what was found, by place in `pairs`; not where boxes said enough.
        calls: engine calls spent.
    """

    def __init__(
        self,
        tools: Tools,
        linkage: Linkage,
        table: BodyTable,
        pairs: IntArray,
        limits: FloatArray,
        before: Sequence[Outcome],
        least: float,
        lots: BoolArray | None = None,
    ) -> None:
        self._lots = lots
        self._tools, self._linkage, self._table = tools, linkage, table
        self._pairs, self._limits = pairs, limits
        self._base = base_of(limits)
        self._stage = Stage(linkage, table, pairs)
        self._least = least
        self.low = self._stage.low.copy()
        self.known = {k: one.known for k, one in enumerate(before) if one.known is not None}
        self.calls = 0

    def outcome(self, k: int) -> Outcome:
        """What pair k came to."""
        known = self.known.get(k)
        return Outcome(float(self.low[k]) if known is None else known.low, known)

    def run(self) -> None:
        """Works out all that is wanted."""
        if not self._margin() < np.inf:
            self._glance()
        self._search()

    def _margin(self) -> float:
        """Least margin over its limit that any pair is known to come down to, mm."""
        margins = (k.high - float(self._base[n]) for n, k in self.known.items())
        return min(chain((self._least,), margins))

    def _glance(self) -> None:
        """Looks at the nearest pairs in the middle of their motion, for a first least margin."""
        chosen = least_places(self._stage.low - self._base, _GLANCES)
        search = self._prepared(chosen)
        pairs = search.pairs
        search.glance(least_places(pairs.low - self._base[chosen][pairs.owner], 2 * _GLANCES))
        # Nothing is closed yet, so nothing is proven but what the boxes prove.
        search.low = self._stage.low[chosen]
        for n, known in self._results(search, [None] * len(chosen)):
            self.known[int(chosen[n])] = known

    def _search(self) -> None:
        """Works out what is wanted of every pair that the boxes leave open."""
        none = np.full(len(self._limits), np.inf)
        wanted = self._stage.low < wanted_low(
            self._limits, none, self._margin(), self._tools.error_bound_mm
        )
        wanted[list(self.known)] = True
        chosen = np.flatnonzero(wanted)
        keys = self._tools.memo.keys(self._linkage, self._table, self._pairs[chosen])
        groups: dict[tuple[bytes, float], list[int]] = {}
        for k, key in zip(chosen.tolist(), keys, strict=True):
            groups.setdefault((key, float(self._limits[k])), []).append(k)
        for (key, _), members in groups.items():
            before = self._before(key, members)
            if before is not None:
                self.known.update(dict.fromkeys(members, before))
        left = self._unfinished([members[0] for members in groups.values()])
        groups = {group: members for group, members in groups.items() if members[0] in left}
        firsts = [members[0] for members in groups.values()]
        search = self._prepared(np.array(firsts, dtype=np.int64), self._lots_of(groups.values()))
        befores = [self.known.get(k) for k in firsts]
        for n, known in enumerate(befores):
            if known is not None:
                search.recall(n, known.low, known.high, known.calls)
        search.run()
        results = dict(self._results(search, befores))
        for n, ((key, limit), members) in enumerate(groups.items()):
            found, low = results.get(n), float(search.low[n])
            if found is None:
                # What is known of other pairs proved that the boxes say enough of this one.
                self.low[members] = np.maximum(self.low[members], low)
                if low >= limit - TOUCH_MM and not self._may_hold(members[0]):
                    continue
                found = self._somewhere(members[0], low)
            found = self._looked_inside(members[0], found)
            self._tools.memo.learn(key, found)
            self.known.update(dict.fromkeys(members, found))

    def _lots_of(self, groups: Collection[Sequence[int]]) -> BoolArray | None:
        """Which groups of equal pairs belong to each lot, shape (m, number of groups)."""
        if self._lots is None:
            return None
        found = np.zeros((len(self._lots), len(groups)), dtype=np.bool_)
        for n, members in enumerate(groups):
            found[:, n] = self._lots[:, list(members)].any(axis=1)
        return found

    def _unfinished(self, places: Sequence[int]) -> set[int]:
        """Those of some pairs of which more is wanted than is known."""
        outcomes = [self.outcome(k) for k in places]
        done = finished(outcomes, self._limits[list(places)], self._margin(), self._tools)
        return {k for k, enough in zip(places, done.tolist(), strict=True) if not enough}

    def _bodies(self, k: int) -> list[Body]:
        return [self._table.bodies[number] for number in self._pairs[k].tolist()]

    def _may_hold(self, k: int) -> bool:
        """Whether one body of pair k might lie inside the other."""
        return bool(self._table.surfaces[self._pairs[k]].any() and self._stage.low[k] < 0.0)

    def _somewhere(self, k: int, low: float) -> Known:
        """What is known of pair k from any two of its pieces in the middle of their motion."""
        a, b = self._pairs[k].tolist()
        pieces = (self._table.some_piece(a), self._table.some_piece(b))
        values = self._stage.limbs.centre[self._stage.some_limbs(k)]
        high = self._tools.high_of(self._bodies(k), Known(-np.inf, np.inf, pieces, values, 1))
        return Known(min(low, high), high, pieces, values, 1)

    def _looked_inside(self, k: int, known: Known) -> Known:
        """What is known of pair k, when it is seen whether one lies inside the other there."""
        if not self._may_hold(k):
            return known
        depth = self._tools.depth_of(self._bodies(k), known.values)
        deep = depth > 0.0 and -depth < known.high
        if not (deep or known.inside):
            return known
        # What was proven of the surfaces says nothing of the depth; the boxes do.
        low = float(self._stage.low[k])
        return replace(known, low=low, high=min(known.high, -depth), inside=True)

    def _before(self, key: bytes, members: Sequence[int]) -> Known | None:
        """The best that is known of a group of equal pairs."""
        candidates = (self._tools.memo.find(key), *(self.known.get(k) for k in members))
        known = [candidate for candidate in candidates if candidate is not None]
        if not known:
            return None
        best = min(known, key=lambda one: one.high)
        low, calls = max(one.low for one in known), max(one.calls for one in known)
        return replace(best, low=low, calls=calls)

    def _prepared(self, chosen: IntArray, lots: BoolArray | None = None) -> Search:
        limbs, owner, low = self._stage.piece_pairs(chosen)
        tools = self._tools
        return Search(
            tools.narrow,
            self._table.shapes,
            self._stage.limbs,
            PiecePairs(limbs, owner, low),
            self._limits[chosen],
            tools.error_bound_mm,
            tools.budget,
            self._stage.covers,
            self._least,
            lots,
        )

    def _results(
        self, search: Search, before: Sequence[Known | None]
    ) -> Iterator[tuple[int, Known]]:
        """What is known after a search of each of its pairs of bodies, where anything is."""
        self.calls += int(search.calls.sum())
        at = search.best_piece_pair
        pieces = self._stage.pieces_of(search.pairs.limbs[at]).tolist()
        poses, found = search.poses(), (at >= 0).tolist()
        low, high = search.low.tolist(), search.high.tolist()
        for n, calls in enumerate(search.calls.tolist()):
            old = before[n]
            if found[n]:
                a, b = pieces[n]
                yield n, Known(low[n], high[n], (a, b), poses[n], calls)
            elif old is not None:
                yield n, replace(old, low=low[n], high=high[n], calls=calls)


def finished(
    outcomes: Sequence[Outcome], limits: FloatArray, margin: float, tools: Tools
) -> BoolArray:
    """Whether all that is wanted of pairs is known, or their budget is spent, shape (k,).

    Args:
        outcomes: what each pair came to.
        limits: limit of each, mm; infinite to work out the value, shape (k,).
        margin: least margin over its limit that any pair is known to come down to, mm.
        tools: budget and error bound.
    """
    low = np.array([one.low for one in outcomes])
    high = np.array([one.high for one in outcomes])
    calls = np.array([one.calls for one in outcomes])
    done: BoolArray = low >= wanted_low(limits, high, margin, tools.error_bound_mm)
    done |= calls >= tools.budget.per_pair
    done |= (calls >= tools.budget.refine) & (high < limits - TOUCH_MM) & np.isfinite(limits)
    return done
