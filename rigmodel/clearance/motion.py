"""Least clearance of bodies over all the motion of a mechanism, certified.

    solver = ClearanceSolver(mechanism, MotionRange.only(JointKind.FLOAT, JointKind.SETTING))
    solver.pair("row1.left.blade", "row2.right.blade")   # least clearance of two parts
    solver.survey(pairs, limits=10.0)                    # which of many pairs keep a limit

See `search` for how, `limbs` and `separation` for why the lower bounds hold.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Mechanism
from rigmodel.clearance.broad import Body, bodies_of, box_gaps
from rigmodel.clearance.content import Contents, View
from rigmodel.clearance.inside import Inside, inside
from rigmodel.clearance.kinematics import MotionRange, compiled
from rigmodel.clearance.limbs import BoolArray
from rigmodel.clearance.memo import NOTHING, ClearanceMemo, Known, Outcome
from rigmodel.clearance.nodes import Budget, checked_pairs
from rigmodel.clearance.separation import TOUCH_MM, NarrowPhase, Separation
from rigmodel.clearance.supports import IntArray
from rigmodel.clearance.survey import Clearance, Status, Survey
from rigmodel.clearance.wanted import base_of
from rigmodel.clearance.work import Tools, Work, finished

__all__ = ["Clearance", "ClearanceSolver", "Status", "Survey"]

ERROR_BOUND_MM = 0.1
_NEAR_MM = 60.0  # pairs whose boxes leave this much over their limit are looked at last


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
        contents: the bodies by content.
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
        self.contents = Contents(self.linkage, self.bodies, self.memo)
        self._index = {body.name: k for k, body in enumerate(self.bodies)}

    def moving(self, motion: MotionRange) -> ClearanceSolver:
        """The same bodies under another motion; memo and engine are shared."""
        other = copy(self)
        other.linkage = compiled(self.linkage.mechanism, motion)
        other.contents = Contents(other.linkage, self.bodies, self.memo)
        return other

    def afresh(self) -> ClearanceSolver:
        """The same with nothing known of pairs, so that no answer depends on earlier ones."""
        other = copy(self)
        other.memo = self.memo.afresh()
        return other

    def gaps(self, pairs: IntArray, enough: FloatArray) -> FloatArray:
        """Lower bounds of clearances from one box for each body, shape (k,), mm.

        Args:
            pairs: numbers of bodies, shape (k, 2).
            enough: bounds from here on need not be the best, shape (k,), mm.
        """
        return self._seen(pairs, enough)[1]

    def _seen(self, pairs: IntArray, enough: FloatArray) -> tuple[View, FloatArray]:
        used = np.zeros(len(self.bodies), dtype=np.bool_)
        used[pairs] = True
        chosen = np.flatnonzero(used)
        view = self.contents.view(chosen)
        boxes = np.empty((len(used), 2, 3))
        boxes[chosen] = view.boxes(chosen)
        return view, box_gaps(boxes, pairs, enough)

    def pair(self, body_a: str | int, body_b: str | int) -> Clearance:
        """Least clearance of two bodies, given by name or number, to the error bound.

        Raises:
            KeyError: if there is no body of that name.
        """
        numbers = [self._index[b] if isinstance(b, str) else b for b in (body_a, body_b)]
        closest = self.survey([numbers], np.inf).closest
        assert closest is not None
        return closest

    def survey(
        self,
        pairs: ArrayLike,
        limits: float | ArrayLike = 0.0,
        lots: BoolArray | None = None,
    ) -> Survey:
        """Which of many pairs keep their limits, and the one of least margin.

        Args:
            pairs: numbers of the bodies, shape (k, 2).
            limits: one limit, or one for each pair, mm; infinite to work out every value.
            lots: lots of pairs, shape (m, k), if of those of a lot that do not keep their limits
                only the least value is wanted; each pair belongs to one or more.

        Raises:
            ValueError: if the shapes do not fit, a limit is no number, or a pair is one body.
        """
        numbers, wanted = checked_pairs(pairs, limits)
        view, low = self._seen(numbers, wanted + _NEAR_MM)
        near = np.flatnonzero(low < wanted + _NEAR_MM)
        base = base_of(wanted)
        some = None if lots is None else lots[:, near]
        found, calls = self._worked(view, numbers[near], wanted[near], some)
        if len(near) < len(numbers) and not _margin(found, base[near]) < _NEAR_MM:
            near = np.arange(len(numbers))  # nothing is near: the far pairs count too
            found, calls = self._worked(view, numbers, wanted, lots)
        low[near] = [one.low for one in found]
        known = {int(near[k]): one.known for k, one in enumerate(found) if one.known is not None}
        high = np.full(len(numbers), np.inf)
        high[list(known)] = [one.high for one in known.values()]
        closest = None
        if known:
            margins = high - base
            # Of pairs as near as each other the first is told, however the search went.
            nearest = int(np.argmax(margins <= margins.min() + TOUCH_MM))
            closest = self.clearance(numbers[nearest].tolist(), known[nearest])
        return Survey(numbers, wanted, low, high, closest, calls, self.clearance, known)

    def _worked(
        self, view: View, numbers: IntArray, wanted: FloatArray, lots: BoolArray | None
    ) -> tuple[list[Outcome], int]:
        """What pairs come to, from the memo where it says enough; and the engine calls spent."""
        memo, tools = self.memo.outcomes, self._tools()
        keys = [(a, b) for a, b in view.numbers(numbers).tolist()]
        found = [memo.get(key) or NOTHING for key in keys]
        least = _margin(found, base_of(wanted))
        todo = np.flatnonzero(~finished(found, wanted, least, tools)).tolist()
        if not todo:
            return found, 0
        used, places = np.unique(numbers[todo], return_inverse=True)
        work = Work(
            tools,
            self.linkage,
            self.memo.table(self.linkage, [self.bodies[k] for k in used.tolist()]),
            places.reshape(-1, 2),
            wanted[todo],
            [found[k] for k in todo],
            least,
            None if lots is None else lots[:, todo],
        )
        work.run()
        for n, k in enumerate(todo):
            found[k] = memo.keep(keys[k], work.outcome(n))
        return found, work.calls

    def _tools(self) -> Tools:
        return Tools(
            self.narrow,
            self.memo,
            self.error_bound_mm,
            self.budget,
            lambda bodies, known: self._told(bodies, known).high_mm,
            self._depth,
        )

    def clearance(self, pair: Sequence[int], known: Known) -> Clearance:
        """A clearance in full from what is known of a pair of body numbers."""
        return self._told([self.bodies[k] for k in pair], known)

    def _told(self, bodies: Sequence[Body], known: Known) -> Clearance:
        pose = self._pose(bodies, known.values)
        trees = [self.memo.tree(body.solid) for body in bodies]
        pieces = [
            tree.piece(body.solid, k)
            for tree, body, k in zip(trees, bodies, known.pieces, strict=True)
        ]
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
            high < 0.0 and any(tree.has_surface for tree in trees),
        )

    def _depth(self, bodies: Sequence[Body], values: FloatArray) -> float:
        """How deep one body at least lies inside a surface of the other in a pose, mm; or 0."""
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


def _margin(found: Sequence[Outcome], base: FloatArray) -> float:
    """Least margin over its limit that any pair is known to come down to, mm."""
    return min((f.high - b for f, b in zip(found, base.tolist(), strict=True)), default=np.inf)
