"""What the checks say of a case; what they said of the same things before is found again.

Answers are kept by what they depend on: all of the assembly but its tyres and its lift, and then
those of the two that the check looked at (`facets`). They are worked out from nothing else, so a
case ends the same whatever was worked on before it, in any process.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from rigmodel.advise.study.content import Contents, digest
from rigmodel.advise.study.facets import Facet, wired
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.broad import world_gaps
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.held import Held
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import ClearanceSolver, Survey
from rigmodel.clearance.runner import CHECKS, Check
from rigmodel.clearance.scope import LIFTING, TRIPPING, IntArray, Memo, Pairs, Scope, joined
from rigmodel.clearance.separation import NarrowPhase
from rigmodel.recent import Recent
from rigmodel.report.html.margins import room_of

MOST_ROOM_MM = 50.0
"""Room is worked out up to this; where there is more, this is told."""
_ANSWERS = 20_000
_ENGINE_SCOPES = 2_000  # scopes after which the engine's geometry is let go


@dataclass(frozen=True)
class Answer:
    """What one check says of a case.

    Attributes:
        said: its first message of each verdict it gives.
        room_mm: least room to a limit in mm, negative beyond it; None where none was found.
    """

    said: Mapping[Verdict, str]
    room_mm: float | None


class Judge:
    """Answers the checks for one case after another of the same study."""

    def __init__(self) -> None:
        self._contents = Contents()
        self._answers: Recent[bytes, Answer | Facet] = Recent(_ANSWERS)
        self._narrow, self._scopes = NarrowPhase(), 0

    def answers(self, tree: Mapping[str, Any], assembly: Assembly) -> Mapping[str, Answer]:
        """What every check says, by its id, in the order of the checks."""
        case = _Case(self._contents, tree, assembly, self._scope)
        return {check.id: self._answer(check, case) for check in CHECKS}

    def _answer(self, check: Check, case: _Case) -> Answer:
        """Kept under the facets that it depends on, met in the order that the check meets them."""
        looked: list[Facet] = []
        while True:
            found = self._answers.get(case.key(check, looked))
            if isinstance(found, Answer):
                return found
            if found is None:
                break
            looked.append(found)
        touched: list[Facet] = []

        def touch(facet: Facet) -> None:
            if facet not in touched:
                touched.append(facet)

        findings = tuple(check.findings(wired(case.scope, touch)))
        for i, facet in enumerate(touched):
            self._answers.keep(case.key(check, touched[:i]), facet)
        answer = _answer(case.assembly, findings)
        self._answers.keep(case.key(check, touched), answer)
        return answer

    def _scope(self, assembly: Assembly) -> Scope:
        self._scopes += 1
        if self._scopes % _ENGINE_SCOPES == 0:
            self._narrow = NarrowPhase()
        return StudyScope(assembly, self._narrow)


class _Case:
    """A case while it is judged; its scope is only made when a check has to run."""

    def __init__(
        self,
        contents: Contents,
        tree: Mapping[str, Any],
        assembly: Assembly,
        scope: Callable[[Assembly], Scope],
    ) -> None:
        self.assembly = assembly
        self._contents, self._tree = contents, tree
        self._rest = contents.rest(tree, assembly)
        self._facets: dict[Facet, bytes] = {}
        self._make = scope
        self._made: Scope | None = None

    def key(self, check: Check, looked: Iterable[Facet]) -> bytes:
        """Where the answer of a check lies if it looks at those facets, or what else it needs."""
        return digest(check.id.encode(), self._rest, *map(self._facet, looked))

    def _facet(self, facet: Facet) -> bytes:
        found = self._facets.get(facet)
        if found is None:
            found = self._contents.facet(facet, self._tree, self.assembly)
            self._facets[facet] = found
        return found

    @property
    def scope(self) -> Scope:
        """What the checks share, while this case is judged."""
        if self._made is None:
            self._made = self._make(self.assembly)
        return self._made


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

    def hold(self, pairs: Pairs, motion: MotionRange) -> Held:
        """Holds pairs against their limits; the closest is told where it is near."""
        return self._held(pairs, motion, MOST_ROOM_MM)

    def hold_lifted(self, others: IntArray, limit: float) -> Held:
        """Holds the rig against bodies of the tractor, lifted and tripping; told is the worst.

        While tools trip only what comes nearer than anything did on the lift is worth a search.
        """
        lifted = self.hold(Pairs.across(self.rig, others, limit), LIFTING)
        told = (*lifted.broken, *((lifted.closest,) if lifted.closest is not None else ()))
        least = min((c.value_mm - c.limit_mm for c in told), default=MOST_ROOM_MM)
        if lifted.undecided:
            least = max(least, 0.0)  # a pair that breaks its limit says more than one not decided
        tripping = Pairs.across(self.tripping, others, limit)
        return joined([lifted, self._held(tripping, TRIPPING, min(least, MOST_ROOM_MM))])

    def _held(self, pairs: Pairs, motion: MotionRange, room: float) -> Held:
        """Holds those pairs that boxes do not prove to keep more room than `room` mm."""
        if not len(pairs):
            return super().hold(pairs, motion)
        solver = self._moving(motion)
        enough = pairs.limits + room
        near = world_gaps(solver.linkage, solver.table, pairs.bodies, enough) < enough
        return super().hold(Pairs(pairs.bodies[near], pairs.limits[near]), motion)

    def _survey(self, pairs: Pairs, motion: MotionRange) -> Survey:
        self._moving(motion).memo = ClearanceMemo()
        return super()._survey(pairs, motion)

    def _moving(self, motion: MotionRange) -> ClearanceSolver:
        solver = self._solvers.get(id(motion))
        if solver is None:
            solver = self._solvers[id(motion)] = self._still.moving(motion)
        return solver


def _answer(assembly: Assembly, findings: Iterable[Finding]) -> Answer:
    said: dict[Verdict, str] = {}
    rooms = []
    for finding in findings:
        said.setdefault(finding.verdict, finding.message)
        room = room_of(assembly, finding) if finding.unit == "mm" else None
        if room is not None:
            rooms.append(room)
    return Answer(said, min(rooms, default=None))
