"""Chooses, checks in 3D, learns what clashes, and chooses again, until enough rigs pass."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from rigmodel.advise.suggest.choice import Chooser, Cut
from rigmodel.advise.suggest.conflicts import OF_THE_FIELD, Conflicts
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.options import Group, row_group, strip_group, track_group
from rigmodel.advise.suggest.patterns import Segment, segments
from rigmodel.advise.suggest.pieces import Clamp, Piece, Set
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.rig import Suggestion, rig_of
from rigmodel.advise.suggest.stagger import Staggers, rank_step
from rigmodel.advise.suggest.tiling import PatternMaker
from rigmodel.advise.suggest.units import Fitted, hoes_at_hand, on_ranks, track_units, wheel_units
from rigmodel.advise.suggest.variants import Measures, Variant, with_stations
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.clearance.finding import Verdict

MOST_CHECKS = 40
BEHIND_STEPS, AHEAD_STEPS = 9, 8  # ranks of a second line of hoes, in inches or 25 mm


@dataclass(frozen=True)
class Level:
    """How widely to look.

    Attributes:
        says: for progress and for the answer.
        sizes: how many sizes of wheels, from the smallest, where parts are not counted.
        every_part: also arms, stems and shanks other than a sub-assembly's own.
        hoe_ranks: also hoes ahead of and behind the bar.
        more: hoes in a strip beyond the fewest that can work it.
    """

    says: str
    sizes: int
    every_part: bool
    hoe_ranks: bool
    more: int


LEVELS = (
    Level("sub-assemblies as they are, with every blade", 1, False, False, 0),
    Level("hoes ahead of and behind the bar, and one more in a strip", 1, False, True, 1),
    Level("every arm, stem and shank, and two sizes of wheels", 2, True, False, 0),
)
# Where parts are counted, the shanks and arms at hand are part of the question from the start.
STOCK_LEVELS = (
    Level("sub-assemblies with every part at hand", 1, True, False, 0),
    Level("hoes ahead of and behind the bar, and one more in a strip", 1, True, True, 1),
)
BUYING_LEVEL = Level("wheels of other sizes, to be bought", 2, True, False, 0)


@dataclass
class Search:
    """What one level of the search had and found.

    Attributes:
        level: how widely it looked.
        groups: what there was to choose from.
        chooser: chooses among it.
        found: rigs that pass, best first.
        checks: rigs checked in 3D.
        ended: whether every choice was looked at, rather than the number of checks being up.
    """

    level: Level
    groups: tuple[Group, ...]
    chooser: Chooser
    found: list[Suggestion] = field(default_factory=list)
    checks: int = 0
    ended: bool = False


class Searcher:
    """Answers a request.

    Args:
        request: what is asked.
        measures: measures tools; shared with other searches.
        progress: called with a line of text before anything that may take long.
    """

    def __init__(
        self,
        request: Request,
        measures: Measures | None = None,
        progress: Callable[[str], None] = lambda _: None,
        most_checks: int = MOST_CHECKS,
    ) -> None:
        self.request, self.progress = request, progress
        self.measures = Measures() if measures is None else measures
        spec = request.scene.spec
        level = spec.toolbar.roll == 0.0
        # On a perforated bar, things that hang alike do not stand alike at every place.
        plain = request.scene.tube.hole_pitch is None
        self.conflicts = Conflicts(flat=spec.soil.shape == "flat" and level and plain)
        self.staggers = Staggers(request, self.measures)
        self.most_checks = most_checks
        self.checks = 0
        self.settled = True
        self.dropped: dict[Fitted, str] = {}
        self.pass_alone: set[str] = set()
        self._levels: dict[Level, tuple[Group, ...]] = {}
        self._lines: dict[tuple[tuple[Fitted, ...], int], tuple[Variant, ...]] = {}

    @property
    def levels(self) -> tuple[Level, ...]:
        """How widely to look, step by step."""
        if self.request.stock is None:
            return LEVELS
        buys = self.request.may_buy and self.request.wheels
        return (*STOCK_LEVELS, BUYING_LEVEL) if buys else STOCK_LEVELS

    def look_at_field(self) -> bool:
        """Whether bar, rows and tractor go together, so that looking for tools is worth while."""
        scene = with_stations(self.request.scene, self.request.scene.spec.stations[:1])
        if scene is not None:
            assembly = self.measures.bench.assembled(scene)
            tools = {part for station in assembly.stations for part in station.parts}
            self.conflicts.learn_field(self.measures.bench.checked(assembly, OF_THE_FIELD), tools)
        return not self.conflicts.whole

    def look(self, level: Level, objective: Objective, best: int) -> Search:
        """Looks for the best rigs at one level."""
        groups = self.groups(level)
        chooser = Chooser(self.request, groups, self.conflicts)
        search = Search(level, groups, chooser)
        cuts: list[Cut] = []
        while len(search.found) < best and search.checks < self.most_checks:
            chosen = chooser.choose(objective, cuts)
            self.settled = self.settled and chooser.settled
            if chosen is None:
                search.ended = True
                break
            self.progress(f"checking rig {self.checks + 1} in 3D")
            rig, hung = rig_of(self.request, chooser.chosen_options(chosen), self.measures.bench)
            search.checks += 1
            self.checks += 1
            if rig.verdict is not Verdict.FAIL:
                search.found.append(rig)
                cuts.append(chooser.alike(chosen))
                continue
            learned = self.conflicts.learn(rig.findings, hung)
            if self.conflicts.whole:
                search.ended = True
                break
            if not learned:
                cuts.append(chooser.this(chosen))
        return search

    def groups(self, level: Level) -> tuple[Group, ...]:
        """What there is to choose from at a level: rows first, then strips from left to right."""
        if level not in self._levels:
            self.progress(f"looking at {level.says}")
            self._levels[level] = self._groups(level)
        return self._levels[level]

    def _groups(self, level: Level) -> tuple[Group, ...]:
        found: list[Group] = []
        beside: dict[int, list[tuple[Clamp, ...]]] = {}
        if self.request.wheels:
            units = self._staggered(level)
            for i, y in enumerate(self.request.scene.spec.rows.places):
                wheels = self._at_line(units, i + 1)
                found.append(row_group(i, y, wheels))
                pieces = (Piece(v, Set.ROW, False, y) for v in wheels)
                beside[i] = list(dict.fromkeys(piece.clamps for piece in pieces))
            if not all(group.options for group in found):
                return tuple(found)  # no choice of hoes would mend that
        maker = PatternMaker(self.request, self._hoes(level), beside)
        found += [strip_group(s, maker.patterns(s, level.more)) for s in self.strips]
        if self.request.tracks:
            found += self._tracks(level)
        return tuple(found)

    def _at_line(self, units: Sequence[Fitted], number: int) -> tuple[Variant, ...]:
        """Units as they stand at one row or track; on a plain bar all lines are alike."""
        pitch = self.request.scene.tube.hole_pitch
        key = (tuple(units), 1 if pitch is None else number)
        if key not in self._lines:
            self._lines[key] = self._measured(units, key[1])
        return self._lines[key]

    def _tracks(self, level: Level) -> Iterator[Group]:
        """A narrow point in each track of the rear wheels, on every rank a hoe may stand on."""
        units = [v.fitted for v in self._measured(track_units(self.request, level.every_part))]
        step = rank_step(self.request)
        ranks = (0.0, -BEHIND_STEPS * step, AHEAD_STEPS * step)
        units = on_ranks(self.request, units, ranks)
        half = self.request.scene.axles[0].track_mm / 2.0
        for number, (name, y) in enumerate((("track.left", half), ("track.right", -half)), 1):
            yield track_group(name, y, self._at_line(units, number))

    def _measured(self, units: Sequence[Fitted], number: int = 1) -> tuple[Variant, ...]:
        screened = self.measures.screened(self.request, units, number)
        self.dropped.update(screened.dropped)
        self.pass_alone |= {variant.fitted.use for variant in screened.good}
        return screened.good

    def _staggered(self, level: Level) -> tuple[Fitted, ...]:
        """Pairs of wheels on the bar's rank and on those behind it where neighbours clear."""
        units = self.wheel_sizes(level)
        staggered: list[Fitted] = []
        for unit in units:
            least = self.staggers.least(unit)
            if math.isinf(least):
                continue
            step = rank_step(self.request)
            behind = [-least - k * step for k in range(3)] if least else []
            staggered += on_ranks(self.request, [unit], [0.0, *behind])
        return tuple(staggered)

    def wheel_sizes(self, level: Level) -> list[Fitted]:
        """Wheel units worth trying: those in stock, else the smallest sizes that pass alone."""
        units = wheel_units(self.request, level.every_part)
        stock = self.request.stock
        if stock is not None and level.sizes == 1:
            at_hand = [u for u in units if stock.get(u.tool, 0) > 0]
            return [v.fitted for v in self._measured(at_hand or units)]
        good = [v.fitted for v in self._measured(units)]
        sizes = sorted({self._diameter(u) for u in good})
        return [next(u for u in good if self._diameter(u) == s) for s in sizes[: level.sizes]]

    def _diameter(self, unit: Fitted) -> float:
        wheel = self.request.catalogue.parts[unit.tool]
        assert isinstance(wheel, FingerWheel)  # the tool of a wheel unit is one
        return wheel.diameter

    def _hoes(self, level: Level) -> tuple[Variant, ...]:
        on_bar = self._measured(hoes_at_hand(self.request, level.every_part))
        maker = PatternMaker(self.request, on_bar)
        strips = segments(self.request.scene.spec)
        several = any(maker.fewest(strip) > 1 for strip in strips)
        if not (level.hoe_ranks or several):
            return on_bar
        step = rank_step(self.request)
        ranks = (-BEHIND_STEPS * step, AHEAD_STEPS * step)
        again = on_ranks(self.request, [v.fitted for v in on_bar], ranks)
        return (*on_bar, *self._measured(again))

    @property
    def strips(self) -> tuple[Segment, ...]:
        """The strips to be worked."""
        return segments(self.request.scene.spec)
