"""What the checks share while a case of a study is judged: clearances no further than is told."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import Clearance, Survey
from rigmodel.clearance.scope import (
    LIFTING,
    TRIPPING,
    Body,
    IntArray,
    Memo,
    Pairs,
    Scope,
    joined,
)

MOST_ROOM_MM = 50.0
"""Room is worked out up to this; where there is more, this is told."""


class StudyScope(Scope):
    """A scope whose clearances depend on nothing that was worked out before.

    Pairs that have more room than a study tells are left out as soon as boxes prove it.

    Args:
        assembly: what is checked.
        like: another scope, whose engine, single bodies and their boxes are used again.
    """

    def __init__(self, assembly: Assembly, like: StudyScope | None = None) -> None:
        memo = Memo()
        if like is not None:
            memo.narrow = like.memo.narrow
            memo.clearances = like.memo.clearances.afresh()
        super().__init__(assembly, memo)
        self._tyres_held: tuple[float, Held] | None = None
        self._roles: dict[Role, IntArray] = {}
        self._like = None if like is None else (like.assembly, like.bodies)

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """Bodies of all parts and rows; those of parts and rows that are no others are kept."""
        like, self._like = self._like, None
        if like is None or not _alike(like[0], self.assembly):
            return super().bodies
        old, new = like[0].mechanism.parts, self.assembly.mechanism.parts
        return tuple(
            body
            if (k := body.part) < 0 or old[k] is new[k]
            else Body(new[k].name, new[k].frame, new[k].solid, k)
            for body in like[1]
        )

    def of_role(self, role: Role) -> IntArray:
        """Bodies of all parts of a role."""
        found = self._roles.get(role)
        if found is None:
            found = self._roles[role] = super().of_role(role)
        return found

    def hold(self, pairs: Pairs, motion: MotionRange) -> Held:
        """Holds pairs against their limits; the closest is told where it is near."""
        return self._held(pairs, motion, MOST_ROOM_MM)

    def hold_lifted(self, others: IntArray, limit: float) -> Held:
        """Holds the rig against bodies of the tractor, lifted and tripping; told is the worst.

        While tools trip only what comes nearer than anything did on the lift is worth a search.
        """
        known = self._tyres_held
        tyres = self.of_role(Role.TYRE)
        if known is not None and known[0] == limit and np.array_equal(others, tyres):
            return known[1]
        lifted = self.hold(Pairs.across(self.rig, others, limit), LIFTING)
        tripping = Pairs.across(self.tripping, others, limit)
        return joined([lifted, self._held(tripping, TRIPPING, least_margin(lifted))])

    def know_tyres(self, limit: float, held: Held) -> None:
        """Takes over what the tyres hold against a limit, worked out together with others."""
        self._tyres_held = limit, held

    def told(self, found: Clearance, limit: float) -> HeldClearance:
        """A clearance of two bodies as the checks take it."""
        return self._told(found, limit)

    def _held(self, pairs: Pairs, motion: MotionRange, room: float) -> Held:
        """Holds those pairs that boxes do not prove to keep more room than `room` mm."""
        if not len(pairs):
            return super().hold(pairs, motion)
        enough = pairs.limits + room + self.sag_between(pairs)
        near = self._moving(motion).gaps(pairs.bodies, enough) < enough
        return super().hold(Pairs(pairs.bodies[near], pairs.limits[near]), motion)

    def _survey(self, pairs: Pairs, motion: MotionRange) -> Survey:
        self._solvers[id(motion)] = self._moving(motion).afresh()
        return super()._survey(pairs, motion)


def _alike(one: Assembly, other: Assembly) -> bool:
    """Whether two have the same rows, and the same parts but for some that are one body each."""
    parts = one.mechanism.parts, other.mechanism.parts
    return (
        one.rows == other.rows
        and one.scene.spec.rows.band_height == other.scene.spec.rows.band_height
        and len(parts[0]) == len(parts[1])
        and all(
            old is new or Role.FINGER_WHEEL not in (old.role, new.role)
            for old, new in zip(*parts, strict=True)
        )
    )


def least_margin(held: Held) -> float:
    """Room over the limit, mm, from which on other pairs say nothing that this does not."""
    told = (*held.broken, *((held.closest,) if held.closest is not None else ()))
    least = min((c.value_mm - c.limit_mm for c in told), default=MOST_ROOM_MM)
    if held.undecided:
        least = max(least, 0.0)  # a pair that breaks its limit says more than one not decided
    return min(least, MOST_ROOM_MM)
