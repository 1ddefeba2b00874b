"""How far back every second row's wheels must stand: the flat form hints, the 3D check judges."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.units import Fitted, may_stand
from rigmodel.advise.suggest.variants import Measures, depends_on, station_of, with_stations
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.clearance.checks.wheel_clash import flat_stagger_mm
from rigmodel.clearance.finding import Key, Verdict
from rigmodel.loads.bar import missing
from rigmodel.spec.resolve import Scene

FARTHEST_MM = 609.6  # 24 in
_HINT_SPAN = 6  # steps past the hint that are tried one by one
_JUDGES = ("part-clash", "wheel-clash", "crop-band")  # what fails most often, and soonest, first


def rank_step(request: Request) -> float:
    """The step of ranks: 1 in, or 25 mm."""
    return 25.4 if request.scene.unit.value in ("in", "ft") else 25.0


def in_steps(mm: float, request: Request) -> float:
    """A distance rounded up to whole steps of ranks."""
    step = rank_step(request)
    return math.ceil(mm / step - 1e-9) * step


class _Trial(Enum):
    """What came of a stagger that was tried."""

    CLEARS = "clears"
    CLASHES = "clashes"
    NEVER = "clashes at any stagger"


@dataclass
class Staggers:
    """Least staggers found so far.

    Attributes:
        request: what is asked.
        measures: shared with other searches; keeps the staggers found.
        tried: how many staggers were judged in 3D.
    """

    request: Request
    measures: Measures
    tried: int = 0

    def __post_init__(self) -> None:
        """Read once what all staggers of this request depend on."""
        self._on = f"{depends_on(self.request)} {self.request.wheel_depth}"

    def least(self, unit: Fitted) -> float:
        """Least stagger in mm at which a unit's wheels clear on the two nearest rows.

        0 where they clear in one line; infinite where they clear at no stagger up to 24 in.
        """
        return self._known(unit)

    def why_not(self, unit: Fitted) -> str:
        """What fails at the stagger at which flat wheels would clear; empty if nothing does."""
        first = next(self._staggers(unit), None)
        if not math.isinf(self.least(unit)) or first is None:
            return ""
        if not may_stand(self.request, unit, -rank_step(self.request)):
            return "It has nothing to carry it on a rank behind the bar."
        return f"{self.request.scene.say(first)} back, {self._failure(unit, first)}"

    def clears(self, unit: Fitted, stagger: float) -> bool:
        """Whether wheels clear on the two nearest rows, the second row's so far back, mm."""
        return self._trial(unit, stagger) is _Trial.CLEARS

    def _known(self, unit: Fitted) -> float:
        unit, known = replace(unit, rank=0.0), self.measures.staggers
        if (self._on, unit) not in known:
            known[self._on, unit] = self._search(unit)
        return known[self._on, unit]

    def _search(self, unit: Fitted) -> float:
        rows = self.request.scene.spec.rows.places
        if len(rows) == 1:
            return 0.0
        if self._may_stand_in_line(unit) and self.clears(unit, 0.0):
            return 0.0
        if not may_stand(self.request, unit, -rank_step(self.request)):
            return math.inf
        for stagger in self._staggers(unit):
            trial = self._trial(unit, stagger)
            if trial is _Trial.CLEARS:
                return stagger
            if trial is _Trial.NEVER:
                break
        return math.inf

    def _staggers(self, unit: Fitted) -> Iterator[float]:
        """Staggers to try: from the flat form's hint on; without one, all, coarsely."""
        step, hint = rank_step(self.request), self.hint(unit)
        steps = range(1, int(FARTHEST_MM / step + 1e-9) + 1)
        if math.isinf(hint):
            yield from (k * step for k in steps if k % 3 == 0)
            return
        first = max(1, math.ceil(hint / step - 1e-9))
        yield from (k * step for k in steps if first <= k <= first + _HINT_SPAN)
        yield from (k * step for k in steps if k > first + _HINT_SPAN and k % 2 == 0)

    def _may_stand_in_line(self, unit: Fitted) -> bool:
        """Level wheels on one line clear only where the flat form, exact for these, says so."""
        wheel = self.request.catalogue.parts[unit.tool]
        assert isinstance(wheel, FingerWheel)  # the tool of a wheel unit is one
        return wheel.tilt != 0.0 or wheel.toe != 0.0 or self.hint(unit) == 0.0

    def hint(self, unit: Fitted) -> float:
        """The flat form's stagger on the nearest two rows, mm."""
        wheel = self.request.catalogue.parts[unit.tool]
        assert isinstance(wheel, FingerWheel)  # the tool of a wheel unit is one
        limit = self.request.scene.spec.limits.wheel_clearance
        return flat_stagger_mm(wheel.diameter, self.nearest(), self.request.pair_gap, limit)

    def nearest(self) -> float:
        """Distance of the two nearest rows, mm."""
        rows = self.request.scene.spec.rows.places
        return min(left - right for left, right in pairwise(rows))

    def _trial(self, unit: Fitted, stagger: float) -> _Trial:
        scene = self._two_rows(unit, stagger)
        if scene is None:
            return _Trial.CLASHES
        bench = self.measures.bench
        assembly = bench.assembled(scene)
        for judge in _JUDGES:  # one check at a time: most fail the first
            failing = bench.broken(assembly, (judge,))
            if failing:
                never = stagger > 0.0 and _whatever_stagger(assembly, failing)
                return _Trial.NEVER if never else _Trial.CLASHES
        return _Trial.CLEARS

    def _failure(self, unit: Fitted, stagger: float) -> str:
        """What fails at a stagger, or an empty string."""
        scene = self._two_rows(unit, stagger)
        if scene is None:
            return "the scene does not go together."
        findings = self.measures.bench.findings(scene, _JUDGES)
        return next((f.message for f in findings if f.verdict is Verdict.FAIL), "")

    def _two_rows(self, unit: Fitted, stagger: float) -> Scene | None:
        """The two nearest rows with these wheels alone, the second row's set back."""
        rows = self.request.scene.spec.rows.places
        i = min(range(len(rows) - 1), key=lambda k: rows[k] - rows[k + 1])
        ranks = tuple(-stagger if k == i + 1 else 0.0 for k in range(len(rows)))
        where = {"at": "rows", "only": (i + 1, i + 2), "rank": ranks if stagger else 0.0}
        self.tried += 1
        return with_stations(self.request.scene, (station_of(self.request, unit, where),))


def _whatever_stagger(assembly: Assembly, failing: Iterable[Key]) -> bool:
    """Whether two parts clash that no stagger parts: they stand on the bar's rank, or are clamps.

    Only where sag of the bar, which goes with what hangs on it, takes nothing of the room.
    """
    if not missing(assembly):
        return False
    clamps = {clamp.part for clamp in assembly.clamps}
    back = {s.name for s in assembly.stations if s.rank_mm != 0.0}
    part = assembly.mechanism.part_index

    def stays(name: str) -> bool:
        if name not in part:
            return False  # a row, a wheel's neighbour of a station: not asked here
        return name in clamps or assembly.mechanism.part(name).station not in back

    return any(all(map(stays, parts)) for _, parts in failing)
