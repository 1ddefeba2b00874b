"""What the checks say of a case; what they said of the same things before is found again.

Answers are kept by what they depend on: all of the assembly but its tyres and its lift, and then
those of the two that the check looked at (`facets`). They are worked out from nothing else, so a
case ends the same whatever was worked on before it, in any process.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from rigmodel.advise.study.digests import Digests
from rigmodel.advise.study.facets import Facet, wired
from rigmodel.advise.study.scope import StudyScope
from rigmodel.advise.study.tyres import hold_tyres
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks import crop_band
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.room import room_of
from rigmodel.clearance.runner import CHECKS, Check
from rigmodel.recent import Recent

_Key = tuple[str | bytes, ...]
_ANSWERS = 4_000
_SCOPES = 2_000  # scopes after which the engine's geometry and all boxes are let go


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
    """Answers the checks for the cases of one study."""

    def __init__(self) -> None:
        self._digests = Digests()
        self._answers: Recent[_Key, Answer | Facet] = Recent(_ANSWERS)
        self._scopes = 0
        self._like: StudyScope | None = None

    def opened(self, tree: Mapping[str, Any], assembly: Assembly) -> OpenCase:
        """A case that can be judged: what its scene holds, and what was put together from it."""
        return OpenCase(self._digests, tree, assembly, self._scope)

    def prepare(self, cases: Iterable[OpenCase]) -> None:
        """Works out together what some cases share; each can be judged without it as well."""
        rigs: dict[bytes, dict[bytes, list[StudyScope]]] = {}
        for case in cases:
            rigs.setdefault(case.rest, {}).setdefault(case.lift, []).append(case.scope)
        for rig in rigs.values():
            groups = tuple(rig.values())
            first = groups[0][0]
            if first.sags is not None:
                continue  # what sag takes is worked out pair by pair
            limits = first.assembly.scene.spec.limits
            limit = limits.tyre_clearance + limits.tyre_growth  # as tyre-fit will ask
            for group, told in zip(groups, hold_tyres(groups, limit, self._digests), strict=True):
                for scope, held in zip(group, told, strict=True):
                    scope.know_tyres(limit, held)

    def answers(self, case: OpenCase) -> Mapping[str, Answer]:
        """What every check says, by its id, in the order of the checks."""
        return {check.id: self._answer(check, case) for check in CHECKS}

    def _answer(self, check: Check, case: OpenCase) -> Answer:
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

    def _scope(self, assembly: Assembly) -> StudyScope:
        if self._scopes % _SCOPES == 0:
            self._like = None
        self._scopes += 1
        self._like = StudyScope(assembly, self._like)
        return self._like


class OpenCase:
    """A case while it is judged; its scope is only made when a check has to run."""

    def __init__(
        self,
        digests: Digests,
        tree: Mapping[str, Any],
        assembly: Assembly,
        scope: Callable[[Assembly], StudyScope],
    ) -> None:
        self.assembly = assembly
        self._digests, self._tree = digests, tree
        self.rest = digests.rest(tree, assembly)
        self._facets: dict[Facet, bytes] = {}
        self._make = scope
        self._made: StudyScope | None = None

    def key(self, check: Check, looked: Iterable[Facet]) -> _Key:
        """Where the answer of a check lies if it looks at those facets, or what else it needs."""
        return (check.id, self.rest, *map(self._facet, looked))

    @property
    def lift(self) -> bytes:
        """The same for cases that have the same lift."""
        return self._facet(Facet.LIFT)

    def _facet(self, facet: Facet) -> bytes:
        found = self._facets.get(facet)
        if found is None:
            found = self._digests.facet(facet, self._tree, self.assembly)
            self._facets[facet] = found
        return found

    @property
    def scope(self) -> StudyScope:
        """What the checks share, while this case is judged."""
        if self._made is None:
            self._made = self._make(self.assembly)
        return self._made


def _set_to_the_band(finding: Finding, room_mm: float) -> bool:
    """Whether steel stands at a row's band because it is set there: no room is left or lost."""
    return finding.check == crop_band.ID and abs(room_mm) <= crop_band.GRAIN_MM


def _answer(assembly: Assembly, findings: Iterable[Finding]) -> Answer:
    said: dict[Verdict, str] = {}
    rooms = []
    for finding in findings:
        said.setdefault(finding.verdict, finding.message)
        room = room_of(assembly, finding) if finding.unit == "mm" else None
        if room is not None and not _set_to_the_band(finding, room):
            rooms.append(room)
    return Answer(said, min(rooms, default=None))
