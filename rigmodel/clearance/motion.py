"""Least clearance of bodies over all the motion of a mechanism, certified.

    solver = ClearanceSolver(mechanism, MotionRange.only(JointKind.FLOAT, JointKind.SETTING))
    solver.pair("row1.left.blade", "row2.right.blade")   # least clearance of two parts
    solver.survey(pairs, limits=10.0)                    # which of many pairs keep a limit

See `search` for how, `limbs` and `separation` for why the lower bounds hold.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Mechanism
from rigmodel.clearance.broad import Body, BodyTable, Stage, bodies_of, world_gaps
from rigmodel.clearance.inside import Inside, inside
from rigmodel.clearance.kinematics import MotionRange, compiled
from rigmodel.clearance.memo import ClearanceMemo, Known
from rigmodel.clearance.nodes import Budget, PiecePairs, checked_pairs, least_places
from rigmodel.clearance.search import Search
from rigmodel.clearance.separation import TOUCH_MM, NarrowPhase, Separation
from rigmodel.clearance.supports import IntArray

ERROR_BOUND_MM = 0.1
_GLANCES = 64  # nearest pairs of boxes looked at first, for the least margin
_MANY = 4000  # from so many pairs on it pays to look at one box for each body first
_NEAR_MM = 60.0  # pairs whose boxes leave this much over their limit are looked at last


class Status(StrEnum):
    """How a pair stands to its limit."""

    CLEAR = "clear"
    VIOLATES = "violates"
    UNDECIDED = "undecided"


@dataclass(frozen=True, eq=False)
class Clearance:
    """Least clearance of two bodies over the motion, as an interval.

    Attributes:
        low_mm: certified: in no pose is there less.
        high_mm: clearance in `pose`.
        pose: where `high_mm` occurs: every joint that matters to the pair, mm or degrees.
        point_a: point of the first body there, world axes, mm, shape (3,).
        point_b: point of the second body there, shape (3,).
        direction: unit vector there from the first body to the second, shape (3,).
        parts: names of the two bodies.
        pieces: labels of the two pieces.
        calls: engine calls spent.
        settled: whether the interval is no wider than the error bound.
        at_least: whether the bodies are in each other at least as deep as `high_mm` says: one has
            a closed surface, that is held against the other triangle by triangle.
    """

    low_mm: float
    high_mm: float
    pose: Mapping[str, float]
    point_a: FloatArray
    point_b: FloatArray
    direction: FloatArray
    parts: tuple[str, str]
    pieces: tuple[str, str]
    calls: int
    settled: bool
    at_least: bool = False


@dataclass(frozen=True, eq=False)
class Survey:
    """How many pairs stand to their limits.

    A clearance short of its limit by no more than `TOUCH_MM` keeps it.

    Attributes:
        pairs: numbers of the bodies, shape (k, 2).
        limits: limit of each pair, mm, shape (k,).
        low: proven lower bound of each pair's clearance, mm, shape (k,).
        high: least value found, infinite where the boxes alone proved enough, mm, shape (k,).
        closest: the clearance of least margin over its limit; None where there are no pairs, or the
            boxes prove all of them.
        calls: engine calls spent.
    """

    pairs: IntArray
    limits: FloatArray
    low: FloatArray
    high: FloatArray
    closest: Clearance | None
    calls: int
    _solver: ClearanceSolver
    _known: Mapping[int, Known]

    def clearance(self, k: int) -> Clearance | None:
        """Clearance of pair k with the pose and points; None where the boxes proved enough."""
        known = self._known.get(k)
        return None if known is None else self._solver.clearance(self.pairs[k].tolist(), known)

    def status(self, k: int) -> Status:
        """How pair k stands to its limit."""
        limit = self.limits[k] - TOUCH_MM
        if self.low[k] >= limit:
            return Status.CLEAR
        return Status.VIOLATES if self.high[k] < limit else Status.UNDECIDED

    def which(self, status: Status) -> tuple[int, ...]:
        """Places in `pairs` of all pairs that stand so."""
        limits = self.limits - TOUCH_MM
        clear = self.low >= limits
        chosen = {
            Status.CLEAR: clear,
            Status.VIOLATES: ~clear & (self.high < limits),
            Status.UNDECIDED: ~clear & (self.high >= limits),
        }[status]
        return tuple(np.flatnonzero(chosen).tolist())

    @property
    def all_clear(self) -> bool:
        """Whether every pair is proven to keep its limit."""
        return bool((self.low >= self.limits - TOUCH_MM).all())


class ClearanceSolver:
    """Clearances of the bodies of one mechanism under one motion range.

    Args:
        mechanism: frames, joints and parts.
        motion: which joints move and how far.
        error_bound_mm: width of interval to which a least clearance is worked out.
        budget: engine calls allowed; a pair that uses it up stays undecided.
        bodies: what is checked; one body for each part if not given.
        memo: clearances known from earlier; it is added to.
        narrow: engine to share with others.

    Attributes:
        linkage: the compiled mechanism.
        table: the bodies in flat arrays.
    """

    def __init__(
        self,
        mechanism: Mechanism,
        motion: MotionRange | None = None,
        error_bound_mm: float = ERROR_BOUND_MM,
        budget: Budget | None = None,
        bodies: Sequence[Body] | None = None,
        memo: ClearanceMemo | None = None,
        narrow: NarrowPhase | None = None,
    ) -> None:
        if not error_bound_mm > 0.0:
            raise ValueError(f"error_bound_mm must be greater than 0, not {error_bound_mm!r}")
        self.linkage = compiled(mechanism, MotionRange() if motion is None else motion)
        self.bodies = bodies_of(mechanism) if bodies is None else tuple(bodies)
        self.error_bound_mm = error_bound_mm
        self.budget = Budget() if budget is None else budget
        self.memo = ClearanceMemo() if memo is None else memo
        self.narrow = NarrowPhase() if narrow is None else narrow
        self.table = BodyTable(self.linkage, self.bodies)
        self._index = {body.name: k for k, body in enumerate(self.bodies)}

    def moving(self, motion: MotionRange) -> ClearanceSolver:
        """The same bodies under another motion; memo and engine are shared."""
        other = copy(self)
        other.linkage = compiled(self.linkage.mechanism, motion)
        other.table = self.table.under(other.linkage)
        return other

    def pair(self, body_a: str | int, body_b: str | int) -> Clearance:
        """Least clearance of two bodies, given by name or number, to the error bound.

        Raises:
            KeyError: if there is no body of that name.
        """
        numbers = [self._index[b] if isinstance(b, str) else b for b in (body_a, body_b)]
        closest = self.survey([numbers], np.inf).closest
        assert closest is not None
        return closest

    def survey(self, pairs: ArrayLike, limits: float | ArrayLike = 0.0) -> Survey:
        """Which of many pairs keep their limits, and the one of least margin.

        Args:
            pairs: numbers of the bodies, shape (k, 2).
            limits: one limit, or one for each pair, mm; infinite to work out every value.

        Raises:
            ValueError: if the shapes do not fit, a limit is no number, or a pair is one body.
        """
        numbers, wanted = checked_pairs(pairs, limits)
        low = np.full(len(numbers), -np.inf)
        near = np.arange(len(numbers))
        if len(numbers) > _MANY:
            low = world_gaps(self.linkage, self.table, numbers, wanted + _NEAR_MM)
            near = np.flatnonzero(low < wanted + _NEAR_MM)
        base = np.where(np.isfinite(wanted), wanted, 0.0)
        work = self._worked(numbers[near], wanted[near])
        if len(near) < len(numbers) and not work.least < _NEAR_MM:
            near = np.arange(len(numbers))  # nothing is near: the far pairs count too
            work = self._worked(numbers, wanted)
        low[near] = work.low
        high = np.full(len(numbers), np.inf)
        found = {int(near[k]): known for k, known in work.known.items()}
        for k, known in found.items():
            low[k], high[k] = known.low, known.high
        closest = None
        if found:
            margins = high - base
            # Of pairs as near as each other the first is told, however the search went.
            nearest = int(np.argmax(margins <= margins.min() + TOUCH_MM))
            closest = self.clearance(numbers[nearest].tolist(), found[nearest])
        return Survey(numbers, wanted, low, high, closest, work.calls, self, found)

    def _worked(self, numbers: IntArray, wanted: FloatArray) -> _Work:
        work = _Work(self, numbers, wanted)
        work.glance()
        work.search()
        return work

    def clearance(self, pair: Sequence[int], known: Known) -> Clearance:
        """A clearance in full from what is known of a pair of body numbers."""
        bodies = [self.bodies[k] for k in pair]
        pose = self._pose(bodies, known.values)
        pieces = [self.table.piece(body, k) for body, k in zip(pair, known.pieces, strict=True)]
        worlds = [self.linkage.worlds(body.frame, pose) for body in bodies]
        near = self.narrow.pieces(pieces[0], worlds[0], pieces[1], worlds[1])
        at: Separation | Inside = near
        high, labels = near.high_mm, (pieces[0].label, pieces[1].label)
        deep = self._inside(bodies, pose) if known.inside else None
        if deep is not None:
            at, high = deep, -deep.depth_mm
            labels = (deep.pieces[0].label, deep.pieces[1].label)
        return Clearance(
            min(known.low, high),
            high,
            MappingProxyType(pose),
            at.point_a,
            at.point_b,
            at.direction,
            (bodies[0].name, bodies[1].name),
            labels,
            known.calls,
            high - known.low <= self.error_bound_mm,
            high < 0.0 and bool(self.table.surfaces[list(pair)].any()),
        )

    def depth(self, pair: Sequence[int], values: FloatArray) -> float:
        """How deep one body at least lies inside a surface of the other in a pose, mm; or 0.

        Args:
            pair: numbers of the bodies.
            values: joint values of the two, radians or mm, shape (2, c).
        """
        bodies = [self.bodies[k] for k in pair]
        found = self._inside(bodies, self._pose(bodies, values))
        return 0.0 if found is None else found.depth_mm

    def _inside(self, bodies: Sequence[Body], pose: Mapping[str, float]) -> Inside | None:
        one, other = bodies
        worlds = [self.linkage.worlds(body.frame, pose) for body in bodies]
        return inside(one.solid, worlds[0], other.solid, worlds[1])

    def _pose(self, bodies: Sequence[Body], values: FloatArray) -> dict[str, float]:
        linkage = self.linkage
        links = [int(linkage.link_of_frame[body.frame]) for body in bodies]
        top = int(linkage.meets[links[0], links[1]])
        pose = {}
        for link, row in zip(links, values.tolist(), strict=True):
            for column, index in enumerate(linkage.columns(top, link)):
                joint = linkage.joints[index] if index >= 0 else None
                if joint is not None:
                    low, high = linkage.motion.span(joint)
                    value = linkage.degrees(index, row[column])
                    pose[joint.name] = min(max(value, low), high)
        return pose


class _Work:
    """One survey: boxes first, then a glance at the nearest pairs, then the search of the rest."""

    def __init__(self, solver: ClearanceSolver, pairs: IntArray, limits: FloatArray) -> None:
        self.solver, self.pairs, self.limits = solver, pairs, limits
        self.base = np.where(np.isfinite(limits), limits, 0.0)
        self.stage = Stage(solver.linkage, solver.table, pairs)
        self.low = self.stage.low.copy()
        self.known: dict[int, Known] = {}
        self.calls = 0

    @property
    def least(self) -> float:
        """Least margin over its limit that any pair is known to come down to, mm."""
        return min((k.high - float(self.base[n]) for n, k in self.known.items()), default=np.inf)

    def glance(self) -> None:
        """Looks at the nearest pairs in the middle of their motion, for a first least margin."""
        chosen = least_places(self.stage.low - self.base, _GLANCES)
        search = self._prepared(chosen)
        pairs = search.pairs
        search.glance(least_places(pairs.low - self.base[chosen][pairs.owner], 2 * _GLANCES))
        # Nothing is closed yet, so nothing is proven but what the boxes prove.
        search.low = self.stage.low[chosen]
        for n, known in self._results(search, [None] * len(chosen)):
            self.known[int(chosen[n])] = known

    def search(self) -> None:
        """Works out what is wanted of every pair that the boxes leave open."""
        enough = np.maximum(
            self.limits - TOUCH_MM, self.base + self.least - self.solver.error_bound_mm
        )
        wanted = self.stage.low < enough
        wanted[list(self.known)] = True
        chosen = np.flatnonzero(wanted)
        keys = self.solver.memo.keys(self.solver.linkage, self.solver.table, self.pairs[chosen])
        groups: dict[tuple[bytes, float], list[int]] = {}
        for k, key in zip(chosen.tolist(), keys, strict=True):
            groups.setdefault((key, float(self.limits[k])), []).append(k)
        firsts = np.array([members[0] for members in groups.values()], dtype=np.int64)
        search = self._prepared(firsts)
        before = [self._before(key, members) for (key, _), members in groups.items()]
        for n, known in enumerate(before):
            if known is not None:
                search.recall(n, known.low, known.high, known.calls)
        search.run()
        results = dict(self._results(search, before))
        for n, ((key, limit), members) in enumerate(groups.items()):
            found, low = results.get(n), float(search.low[n])
            if found is None:
                # What is known of other pairs proved that the boxes say enough of this one.
                self.low[members] = np.maximum(self.low[members], low)
                if low >= limit - TOUCH_MM and not self._may_hold(members[0]):
                    continue
                found = self._somewhere(members[0], low)
            found = self._looked_inside(members[0], found)
            self.solver.memo.learn(key, found)
            self.known.update(dict.fromkeys(members, found))

    def _may_hold(self, k: int) -> bool:
        """Whether one body of pair k might lie inside the other."""
        return bool(self.solver.table.surfaces[self.pairs[k]].any() and self.stage.low[k] < 0.0)

    def _somewhere(self, k: int, low: float) -> Known:
        """What is known of pair k from any two of its pieces in the middle of their motion."""
        solver, pair = self.solver, self.pairs[k].tolist()
        pieces = (solver.table.some_piece(pair[0]), solver.table.some_piece(pair[1]))
        values = self.stage.limbs.centre[self.stage.some_limbs(k)]
        high = solver.clearance(pair, Known(-np.inf, np.inf, pieces, values, 1)).high_mm
        return Known(min(low, high), high, pieces, values, 1)

    def _looked_inside(self, k: int, known: Known) -> Known:
        """What is known of pair k, when it is seen whether one lies inside the other there."""
        if not self._may_hold(k):
            return known
        depth = self.solver.depth(self.pairs[k].tolist(), known.values)
        deep = depth > 0.0 and -depth < known.high
        if not (deep or known.inside):
            return known
        # What was proven of the surfaces says nothing of the depth; the boxes do.
        low = float(self.stage.low[k])
        return replace(known, low=low, high=min(known.high, -depth), inside=True)

    def _before(self, key: bytes, members: Sequence[int]) -> Known | None:
        """The best that is known of a group of equal pairs."""
        candidates = (self.solver.memo.find(key), *(self.known.get(k) for k in members))
        known = [candidate for candidate in candidates if candidate is not None]
        if not known:
            return None
        best = min(known, key=lambda one: one.high)
        low, calls = max(one.low for one in known), max(one.calls for one in known)
        return replace(best, low=low, calls=calls)

    def _prepared(self, chosen: IntArray) -> Search:
        limbs, owner, low = self.stage.piece_pairs(chosen)
        solver = self.solver
        return Search(
            solver.narrow,
            solver.table.shapes,
            self.stage.limbs,
            PiecePairs(limbs, owner, low),
            self.limits[chosen],
            solver.error_bound_mm,
            solver.budget,
            self.stage.covers,
        )

    def _results(
        self, search: Search, before: Sequence[Known | None]
    ) -> Iterator[tuple[int, Known]]:
        """What is known after a search of each of its pairs of bodies, where anything is."""
        self.calls += int(search.calls.sum())
        at = search.best_piece_pair
        pieces = self.stage.pieces_of(search.pairs.limbs[at]).tolist()
        poses, found = search.poses(), (at >= 0).tolist()
        low, high = search.low.tolist(), search.high.tolist()
        for n, calls in enumerate(search.calls.tolist()):
            old = before[n]
            if found[n]:
                a, b = pieces[n]
                yield n, Known(low[n], high[n], (a, b), poses[n], calls)
            elif old is not None:
                yield n, replace(old, low=low[n], high=high[n], calls=calls)
