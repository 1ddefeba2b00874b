"""Where nothing passes: which requirements clash, and the least that would have to give way."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from rigmodel.advise.suggest.choice import Chooser, Leave
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.patterns import Segment, Side, least_missed
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.search import Searcher
from rigmodel.advise.suggest.stagger import FARTHEST_MM
from rigmodel.advise.suggest.tiling import PatternMaker
from rigmodel.advise.suggest.units import hoe_units, wheel_units
from rigmodel.advise.suggest.variants import measured, with_stations
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.clearance.finding import Change
from rigmodel.clearance.trial import changed_scene

_TRIAL_CHECKS = 6
_FARTHER_STEPS = 10
MOST_MISSED_MM = 101.6
_LEAVES = (
    ("the parts at hand", Leave(stock=True)),
    ("the room on the bar", Leave(bar=True)),
    ("the clearances in 3D", Leave(checks=True)),
)


@dataclass(frozen=True)
class Obstacle:
    """Something that stands in the way, and the words of the check or rule that says so."""

    what: str
    says: str


@dataclass(frozen=True)
class Relaxation:
    """The least change of one requirement with which a rig was found that passes every check.

    Attributes:
        what: the requirement.
        was: as it is, as a person reads it.
        least: as it would have to be.
        proven: whether one step less was tried and gave no rig.
    """

    what: str
    was: str
    least: str
    proven: bool


def obstacles(searcher: Searcher) -> tuple[Obstacle, ...]:
    """What stands in the way, in the order in which it was met."""
    return tuple(_obstacles(searcher))


def _obstacles(searcher: Searcher) -> Iterator[Obstacle]:
    conflicts = searcher.conflicts
    if conflicts.whole:
        for check, finding in conflicts.whole.items():
            yield Obstacle(f"{check}, whatever the tools", finding.message)
        return
    level = searcher.levels[-1]
    groups = searcher.groups(level)
    if no_wheels_stand(searcher):
        yield from _no_wheels(searcher)
        yield from _single(searcher)
        return
    for strip in searcher.strips:
        if any(group.name == strip.name and not group.options for group in groups):
            yield _no_hoes(searcher, strip)
    yield from _single(searcher)
    if all(group.options for group in groups):
        yield from _together(searcher)


def no_wheels_stand(searcher: Searcher) -> bool:
    """Whether there is a row at which no pair of wheels can stand."""
    groups = searcher.groups(searcher.levels[-1])
    return any(group.name.startswith("row") and not group.options for group in groups)


def _no_wheels(searcher: Searcher) -> Iterator[Obstacle]:
    """Why no pair of wheels can stand at the rows, size by size."""
    say, staggers = searcher.request.scene.say, searcher.staggers
    fits: list[float] = []
    told: set[float] = set()
    for unit in wheel_units(searcher.request, every_part=False):
        wheel = searcher.request.catalogue.parts[unit.tool]
        assert isinstance(wheel, FingerWheel)  # the tool of a wheel unit is one
        if wheel.diameter in told:
            continue
        told.add(wheel.diameter)
        if unit in searcher.dropped:
            yield Obstacle(f"wheels of {say(wheel.diameter)}", searcher.dropped[unit])
        elif math.isinf(staggers.least(unit)):
            yield Obstacle(
                f"wheels of {say(wheel.diameter)}",
                f"They cannot work on rows {say(staggers.nearest())} apart at any stagger tried, "
                f"up to {say(FARTHEST_MM)}.",
            )
        else:
            fits.append(wheel.diameter)
    if fits:
        yield Obstacle("wheels", f"The largest that can work there is {say(max(fits))}.")
    else:
        yield Obstacle("wheels", "No size in the catalogue can work there.")


def _no_hoes(searcher: Searcher, strip: Segment) -> Obstacle:
    """Why no hoes can work a strip."""
    request = searcher.request
    say = request.scene.say
    units = measured(request, hoe_units(request, every_part=False), searcher.bench).good
    widths = sorted({round(v.width, 3) for v in units})
    text = f"No hoes work the {say(strip.width)} of {strip.name}"
    if not widths:
        return Obstacle("coverage", text + ": no hoe fits this bar and stands at its depth.")
    text += f" within the limits; there are widths from {say(widths[0])} to {say(widths[-1])}"
    if strip.side is Side.GAP and request.overlap <= 0.0:
        count = max(1, min(PatternMaker(request, units).fewest(strip), 3))
        left = min(least_missed(strip, widths, n) for n in range(1, count + 1))
        if not math.isinf(left) and left > request.scene.spec.limits.missed:
            text += f", which leave strips of {say(left)} at least"
    return Obstacle("coverage", text + ".")


def _single(searcher: Searcher) -> Iterator[Obstacle]:
    """Failures of tools by themselves, and pairs that the checks forbade: their own words."""
    seen: set[str] = set()
    for fitted, message in searcher.dropped.items():
        if fitted.use not in seen | searcher.pass_alone:
            seen.add(fitted.use)
            yield Obstacle(fitted.use, message)
    for check, message in searcher.conflicts.reasons.items():
        yield Obstacle(check, message)


def _together(searcher: Searcher) -> Iterator[Obstacle]:
    """The fewest requirements that, left out, would leave a choice: those clash."""
    chooser = Chooser(searcher.request, searcher.groups(searcher.levels[-1]), searcher.conflicts)
    named = [x for x in _LEAVES if not x[1].stock or _stock_binds(searcher.request)]
    for count in range(1, len(named) + 1):
        found = False
        for some in combinations(named, count):
            leave = Leave(
                any(x[1].stock for x in some),
                any(x[1].bar for x in some),
                any(x[1].checks for x in some),
            )
            if chooser.choose(Objective.PARTS, leave=leave) is not None:
                found = True
                names = " and ".join(name for name, _ in some)
                yield Obstacle("these clash", f"All the soil could be worked but for {names}.")
        if found:
            return


def _stock_binds(request: Request) -> bool:
    return request.stock is not None and not request.may_buy


def relaxations(searcher: Searcher) -> tuple[Relaxation, ...]:
    """For each requirement, the least change that gives a rig, judged by search and 3D check.

    Where what fails is not the tools, nothing is tried: `rigmodel check` has its own remedies.
    """
    if searcher.conflicts.whole:
        return ()
    return tuple(found for found in _Trials(searcher).run() if found is not None)


class _Trials:
    def __init__(self, searcher: Searcher) -> None:
        self.searcher, self.request = searcher, searcher.request
        self.say = self.request.scene.say
        inches = self.request.scene.unit.value in ("in", "ft")
        self.fine, self.coarse = (6.35, 25.4) if inches else (5.0, 25.0)

    def run(self) -> Iterator[Relaxation | None]:
        spec = self.request.scene.spec
        if _stock_binds(self.request):
            yield self._buying()
        if self.request.wheels:
            yield self._without_wheels()
        if spec.rows.spacing is not None:
            place = ("rows", "spacing")
            values = [spec.rows.spacing + k * self.coarse for k in range(1, _FARTHER_STEPS + 1)]
            yield self._first("rows farther apart (rows.spacing)", place, values)
        if no_wheels_stand(self.searcher):
            return  # nothing else would help
        keep = spec.rows.keep_out
        narrower = [keep - k * self.fine for k in range(1, int(keep / self.fine))]
        what = "a narrower keep-out band (rows.keep_out)"
        yield self._first(what, ("rows", "keep_out"), narrower)
        what = "least strip of soil that may be missed (limits.missed)"
        missed = spec.limits.missed
        yield self._least(what, ("limits", "missed"), missed, self.fine, MOST_MISSED_MM)
        what, bar = "a longer bar (toolbar.length)", spec.toolbar.length
        yield self._least(what, ("toolbar", "length"), bar, self.coarse * 2, bar * 2.0)

    def _buying(self) -> Relaxation | None:
        rigs = self._passes(replace(self.request, may_buy=True))
        if not rigs:
            return None
        parts = ", ".join(f"{count} {part}" for part, count in rigs.items())
        return Relaxation("parts bought", "none", parts or "none", True)

    def _without_wheels(self) -> Relaxation | None:
        if self._passes(replace(self.request, wheels=False)) is None:
            return None
        return Relaxation("finger wheels", "a pair at every row", "none, hoes only", False)

    def _passes(self, request: Request) -> dict[str, int] | None:
        """Parts bought for the first rig that passes, or None where none does."""
        trial = Searcher(request, self.searcher.bench, lambda _: None, _TRIAL_CHECKS)
        found = trial.look(trial.levels[0], Objective.BOUGHT, 1).found
        return dict(found[0].bought) if found else None

    def _first(
        self, what: str, path: tuple[str, str], values: Sequence[float]
    ) -> Relaxation | None:
        """The first of some values that gives a rig: more is not always better for these.

        A wider gap, for one, may lie between what one blade works and what two do.
        """
        self.searcher.progress(f"trying {what}")
        was = self.say(float(getattr(getattr(self.request.scene.spec, path[0]), path[1])))
        for value in values:
            if self._tried(path, value):
                return Relaxation(what, was, self.say(value), True)
        return None

    def _least(
        self, what: str, path: tuple[str, str], start: float, step: float, limit: float
    ) -> Relaxation | None:
        """The least whole number of steps from `start` towards `limit` that gives a rig."""
        self.searcher.progress(f"trying {what}")
        most = int((limit - start) / step + 1e-9)
        tried: dict[int, bool] = {0: False}
        works = self._works(path, start, step, tried)
        low, high = 0, 1
        while high < most and not works(high):
            low, high = high, high * 2
        high = min(high, most)
        if most < 1 or not works(high):
            return None
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if works(middle) else (middle, high)
        return Relaxation(what, self.say(start), self.say(start + high * step), True)

    def _works(
        self, path: tuple[str, str], start: float, step: float, tried: dict[int, bool]
    ) -> Callable[[int], bool]:
        def works(steps: int) -> bool:
            if steps not in tried:
                tried[steps] = self._tried(path, start + steps * step)
            return tried[steps]

        return works

    def _tried(self, path: tuple[str, str], value: float) -> bool:
        scene = self.request.scene
        plain = with_stations(scene, scene.spec.stations[:1])
        changed = changed_scene(plain or scene, (Change(path, value),))
        return (
            changed is not None and self._passes(replace(self.request, scene=changed)) is not None
        )
