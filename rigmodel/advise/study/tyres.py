"""Holds one rig against the tyres of many tractors at once.

Cases that differ in tyres and tracks alone share the rig, its motion and its boxes, and those that
differ in their lifts as well share all but the lift's joint. One survey of a rig on each lift and
every tyre there is costs little more than one for each, and each tyre's answer is the same: a
pair's clearance depends on nothing but the pair. Of the pairs that break the limit only the worst
of each case is told, so only that one is worked out.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.advise.study.digests import Digests
from rigmodel.advise.study.facets import TYRE_FRAMES
from rigmodel.advise.study.scope import MOST_ROOM_MM, StudyScope, least_margin
from rigmodel.assembly.model import Frame, JointKind, Mechanism, Role
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import Clearance, ClearanceSolver, Survey
from rigmodel.clearance.scope import LIFTING, TRIPPING, Body, IntArray, Pairs, joined
from rigmodel.clearance.separation import TOUCH_MM

_NUMBER = "#"  # between a joint's name and the number of its tractor or lift


def hold_tyres(
    groups: Sequence[Sequence[StudyScope]], limit: float, digests: Digests
) -> tuple[tuple[Held, ...], ...]:
    """What `hold_lifted` says of each scope's tyres.

    Args:
        groups: assemblies that are the same but for their tyres, those of one group, and their
            lifts, those of different ones.
        limit: room each pair needs, mm.
        digests: digests of their solids.
    """
    pool = _Pool(groups, limit, digests)
    rooms = np.full(sum(map(len, groups)), MOST_ROOM_MM)
    lifted = pool.held(LIFTING, [group[0].rig for group in groups], rooms)
    rooms = np.array([least_margin(held) for held in lifted])
    tripping = pool.held(TRIPPING, [group[0].tripping for group in groups], rooms)
    told = map(joined, zip(lifted, tripping, strict=True))
    return tuple(tuple(itertools.islice(told, len(group))) for group in groups)


class _Pool:
    """The rig on the lift of each group, with the tyres of all."""

    def __init__(
        self, groups: Sequence[Sequence[StudyScope]], limit: float, digests: Digests
    ) -> None:
        self._scopes = [scope for group in groups for scope in group]
        self._limit = limit
        self._group = np.repeat(np.arange(len(groups)), [len(group) for group in groups])
        first = groups[0][0]
        mechanism = first.assembly.mechanism
        self._frames: list[Frame] = list(mechanism.frames)
        self._bodies: list[Body] = list(first.bodies)
        every = np.arange(len(self._bodies))
        self._places = [every, *(self._lifted(n, g[0]) for n, g in enumerate(groups[1:], 1))]
        known: dict[bytes, int] = {}
        tyres: list[list[int]] = []
        for number, scope in enumerate(self._scopes):
            frames = scope.assembly.mechanism.frames
            found = []
            for k in scope.of_role(Role.TYRE).tolist():
                body = scope.bodies[k]
                key = digests.tyre(body.name, body.solid, frames[body.frame])
                if key not in known:
                    known[key] = self._add(number, body, frames[body.frame])
                found.append(known[key])
            tyres.append(found)
        self._has = np.zeros((len(self._scopes), len(self._bodies)), dtype=np.bool_)
        for number, found in enumerate(tyres):
            self._has[number, found] = True
        self._still = ClearanceSolver(
            Mechanism(tuple(self._frames), mechanism.parts),
            MotionRange.still(),
            bodies=self._bodies,
            memo=first.memo.clearances.afresh(),
            narrow=first.memo.narrow,
        )

    def _lifted(self, number: int, scope: StudyScope) -> IntArray:
        """Takes a rig in that hangs on another lift; the numbers of its bodies, -1 for others."""
        moved: dict[int, int] = {}
        for index, frame in enumerate(scope.assembly.mechanism.frames):
            joint = frame.joint
            lifts = joint is not None and joint.kind is JointKind.LIFT
            if lifts or frame.parent in moved:
                moved[index] = self._frame(number, frame, moved.get(frame.parent, frame.parent))
        places = np.full(len(scope.bodies), -1)
        for k in scope.rig.tolist():
            places[k] = len(self._bodies)
            self._bodies.append(replace(scope.bodies[k], frame=moved[scope.bodies[k].frame]))
        return places

    def _frame(self, number: int, frame: Frame, parent: int) -> int:
        """Takes a frame in, whose joint moves by itself; its index."""
        joint = frame.joint
        if joint is not None:
            joint = replace(joint, name=f"{joint.name}{_NUMBER}{number}")
        self._frames.append(replace(frame, parent=parent, joint=joint))
        return len(self._frames) - 1

    def _add(self, number: int, body: Body, frame: Frame) -> int:
        """Takes a tyre in, with a frame of its own if it steers; its number."""
        if frame.name.startswith(TYRE_FRAMES):
            body = replace(body, frame=self._frame(number, frame, frame.parent))
        self._bodies.append(body)
        return len(self._bodies) - 1

    def held(self, motion: MotionRange, rigs: Sequence[IntArray], rooms: FloatArray) -> list[Held]:
        """Bodies of the rig against the tyres of every scope over a motion.

        Args:
            motion: which joints move.
            rigs: numbers of the bodies in the first scope of each group.
            rooms: room over the limit from which on a scope's pairs are of no interest, mm.
        """
        solver = self._still.moving(motion)
        asked = [self._pairs(n, rig, rooms) for n, rig in enumerate(rigs)]
        pairs, enough, group = map(np.concatenate, zip(*asked, strict=True))
        near = np.zeros(0, dtype=np.int64)
        if len(pairs):
            gaps = solver.gaps(pairs, enough)
            near = np.flatnonzero(gaps < enough)
        if not len(near):
            return [Held((), (), None, 0) for _ in self._scopes]
        bodies = pairs[near]
        lots = self._has[:, bodies[:, 1]] & (self._group[:, None] == group[near])
        survey = solver.survey(bodies, self._limit, lots)
        free = lots[~lots[:, survey.low < self._limit - TOUCH_MM].any(axis=1)]
        wanted = np.flatnonzero(free.any(axis=0))
        wide = None
        if len(wanted):
            wide = solver.survey(bodies[wanted], self._limit + MOST_ROOM_MM, free[:, wanted])
        return [
            self._told(scope, survey, np.flatnonzero(lot), wide, wanted)
            for scope, lot in zip(self._scopes, lots, strict=True)
        ]

    def _pairs(
        self, number: int, rig: IntArray, rooms: FloatArray
    ) -> tuple[IntArray, FloatArray, IntArray]:
        """Pairs of a group (k, 2), the gap from which on each is of no interest, and the group."""
        mine = self._group == number
        tyres = np.flatnonzero(self._has[mine].any(axis=0))
        most = np.where(self._has[mine][:, tyres], rooms[mine][:, None], -np.inf)
        pairs = Pairs.across(self._places[number][rig], tyres, self._limit)
        enough = pairs.limits + np.tile(most.max(axis=0), len(rig))
        return pairs.bodies, enough, np.full(len(pairs), number)

    def _told(
        self,
        scope: StudyScope,
        survey: Survey,
        mine: IntArray,
        wide: Survey | None,
        wanted: IntArray,
    ) -> Held:
        kept = survey.low[mine] >= self._limit - TOUCH_MM
        short = survey.high[mine] < self._limit - TOUCH_MM
        broken, open_ = mine[~kept & short], mine[~kept & ~short]
        if len(broken) or len(open_):
            worst = broken[survey.high[broken].argmin()][None] if len(broken) else broken
            return Held(
                tuple(self._clearances(scope, survey, worst)),
                tuple(self._clearances(scope, survey, open_)),
                None,
                len(mine) - len(broken) - len(open_),
            )
        closest = None
        if wide is not None and len(mine):
            at = np.flatnonzero(np.isin(wanted, mine))
            nearest = at[wide.high[at].argmin()][None]
            closest = next(iter(self._clearances(scope, wide, nearest)), None)
        return Held((), (), closest, len(mine))

    def _clearances(
        self, scope: StudyScope, survey: Survey, chosen: IntArray
    ) -> list[HeldClearance]:
        found = [survey.clearance(k) for k in chosen.tolist()]
        return [scope.told(_renamed(c), self._limit) for c in found if c is not None]


def _renamed(found: Clearance) -> Clearance:
    """The clearance with the joints' own names."""
    pose = {name.partition(_NUMBER)[0]: value for name, value in found.pose.items()}
    return replace(found, pose=MappingProxyType(pose))
