"""What the checks share while a case of a study is judged: clearances no further than is told."""

from __future__ import annotations

import numpy as np

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import Clearance, Survey
from rigmodel.clearance.scope import LIFTING, TRIPPING, IntArray, Memo, Pairs, Scope, joined
from rigmodel.clearance.separation import NarrowPhase

MOST_ROOM_MM = 50.0
"""Room is worked out up to this; where there is more, this is told."""


class StudyScope(Scope):
    """A scope whose clearances depend on nothing that was worked out before.

    Pairs that have more room than a study tells are left out as soon as boxes prove it.

    Args:
        assembly: what is checked.
        narrow: engine to share with others.
    """

    def __init__(self, assembly: Assembly, narrow: NarrowPhase) -> None:
        memo = Memo()
        memo.narrow = narrow
        super().__init__(assembly, memo)
        self._tyres_held: tuple[float, Held] | None = None
        self._roles: dict[Role, IntArray] = {}

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


def least_margin(held: Held) -> float:
    """Room over the limit, mm, from which on other pairs say nothing that this does not."""
    told = (*held.broken, *((held.closest,) if held.closest is not None else ()))
    least = min((c.value_mm - c.limit_mm for c in told), default=MOST_ROOM_MM)
    if held.undecided:
        least = max(least, 0.0)  # a pair that breaks its limit says more than one not decided
    return min(least, MOST_ROOM_MM)
