"""Holds one rig against the tyres of many tractors at once.

Cases that differ in tyres and tracks alone share the rig, its motion and its boxes. One survey of
the rig and every tyre there is costs little more than one for each, and each tyre's answer is the
same: a pair's clearance depends on nothing but the pair.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.advise.study.digests import Digests
from rigmodel.advise.study.facets import TYRE_FRAMES
from rigmodel.advise.study.scope import MOST_ROOM_MM, StudyScope, least_margin
from rigmodel.assembly.model import Frame, Mechanism, Role
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import Clearance, ClearanceSolver, Survey
from rigmodel.clearance.scope import LIFTING, TRIPPING, Body, IntArray, Pairs, joined
from rigmodel.clearance.separation import TOUCH_MM

_NUMBER = "#"  # between a steering joint's name and its tractor's number


def hold_tyres(scopes: Sequence[StudyScope], limit: float, digests: Digests) -> tuple[Held, ...]:
    """What `hold_lifted` says of each scope's tyres.

    Args:
        scopes: assemblies that are the same but for their tyres.
        limit: room each pair needs, mm.
        digests: digests of their solids.
    """
    pool = _Pool(scopes, limit, digests)
    rooms = np.full(len(scopes), MOST_ROOM_MM)
    lifted = pool.held(LIFTING, scopes[0].rig, rooms)
    rooms = np.array([least_margin(held) for held in lifted])
    tripping = pool.held(TRIPPING, scopes[0].tripping, rooms)
    return tuple(joined(pair) for pair in zip(lifted, tripping, strict=True))


class _Pool:
    """The first scope's rig with the tyres of all."""

    def __init__(self, scopes: Sequence[StudyScope], limit: float, digests: Digests) -> None:
        self._scopes, self._limit = scopes, limit
        mechanism = scopes[0].assembly.mechanism
        self._frames: list[Frame] = list(mechanism.frames)
        self._bodies: list[Body] = list(scopes[0].bodies)
        known: dict[bytes, int] = {}
        tyres: list[list[int]] = []
        for number, scope in enumerate(scopes):
            frames = scope.assembly.mechanism.frames
            found = []
            for k in scope.of_role(Role.TYRE).tolist():
                body = scope.bodies[k]
                key = digests.tyre(body.name, body.solid, frames[body.frame])
                if key not in known:
                    known[key] = self._add(number, body, frames[body.frame])
                found.append(known[key])
            tyres.append(found)
        self._has = np.zeros((len(scopes), len(self._bodies)), dtype=np.bool_)
        for number, found in enumerate(tyres):
            self._has[number, found] = True
        self._still = ClearanceSolver(
            Mechanism(tuple(self._frames), mechanism.parts),
            MotionRange.still(),
            bodies=self._bodies,
            memo=scopes[0].memo.clearances.afresh(),
            narrow=scopes[0].memo.narrow,
        )

    def _add(self, number: int, body: Body, frame: Frame) -> int:
        """Takes a tyre in, with a frame of its own if it steers; its number."""
        if frame.name.startswith(TYRE_FRAMES):
            joint = frame.joint
            if joint is not None:
                joint = replace(joint, name=f"{joint.name}{_NUMBER}{number}")
            self._frames.append(replace(frame, joint=joint))
            body = replace(body, frame=len(self._frames) - 1)
        self._bodies.append(body)
        return len(self._bodies) - 1

    def held(self, motion: MotionRange, rig: IntArray, rooms: FloatArray) -> list[Held]:
        """Bodies of the rig against the tyres of every scope over a motion.

        Args:
            motion: which joints move.
            rig: numbers of the bodies.
            rooms: room over the limit from which on a scope's pairs are of no interest, mm.
        """
        solver = self._still.moving(motion)
        tyres = np.flatnonzero(self._has.any(axis=0))
        most = np.where(self._has[:, tyres], rooms[:, None], -np.inf).max(axis=0)
        pairs = Pairs.across(rig, tyres, self._limit)
        enough = pairs.limits + np.tile(most, len(rig))
        near = np.zeros(0, dtype=np.int64)
        if len(pairs):
            gaps = solver.gaps(pairs.bodies, enough)
            near = np.flatnonzero(gaps < enough)
        if not len(near):
            return [Held((), (), None, 0) for _ in self._scopes]
        bodies = pairs.bodies[near]
        lots = self._has[:, bodies[:, 1]]
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
