"""Where nothing passes: which requirements clash, in the words of the checks and rules."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from rigmodel.advise.suggest.choice import Chooser, Leave
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.patterns import Segment, Side, least_missed
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.search import Searcher
from rigmodel.advise.suggest.stagger import FARTHEST_MM
from rigmodel.advise.suggest.tiling import MOST_HOES, PatternMaker
from rigmodel.advise.suggest.units import hoes_at_hand, wheel_units
from rigmodel.catalog.kinds import FingerWheel

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
            past = math.isinf(staggers.hint(unit))
            why = "they reach past their neighbours' middles" if past else staggers.why_not(unit)
            yield Obstacle(
                f"wheels of {say(wheel.diameter)}",
                f"They cannot work on rows {say(staggers.nearest())} apart at any stagger, tried "
                f"up to {say(FARTHEST_MM)}: {why.rstrip('.')}.",
            )
        else:
            fits.append(wheel.diameter)
    if fits:
        yield Obstacle("wheels", f"The largest that can work there is {say(max(fits))}.")
        return
    flat = staggers.nearest() - searcher.request.pair_gap
    yield Obstacle(
        "wheels",
        f"No size in the catalogue can work there. For level wheels the limit is {say(flat)}: rows "
        f"{say(staggers.nearest())} apart less the pair's gap.",
    )


def _no_hoes(searcher: Searcher, strip: Segment) -> Obstacle:
    """Why no hoes can work a strip."""
    request = searcher.request
    say = request.scene.say
    units = searcher.measures.screened(request, hoes_at_hand(request, every_part=False)).good
    widths = sorted({round(v.width, 3) for v in units})
    text = f"No hoes work the {say(strip.width)} of {strip.name}"
    if not widths:
        which = " at hand" if request.stock is not None and not request.may_buy else ""
        return Obstacle("coverage", f"{text}: no hoe{which} fits this bar and stands at its depth.")
    text += f" within the limits; there are widths from {say(widths[0])} to {say(widths[-1])}"
    pitch = request.scene.tube.hole_pitch
    if pitch is not None:
        text += f", and clamps that stand only at the bar's holes, {say(pitch)} apart"
    if strip.side is Side.GAP and request.overlap <= 0.0 and pitch is None:
        count = max(1, min(PatternMaker(request, units).fewest(strip), 3))
        left = min(least_missed(strip, widths, n) for n in range(1, count + 1))
        if not math.isinf(left) and left > request.scene.spec.limits.missed:
            text += f", which leave strips of {say(left)} at least"
            return Obstacle("coverage", text + ".")
    if PatternMaker(request, units).fewest(strip) <= MOST_HOES:
        text += (
            "; hoes wide enough have no room for their clamps, beside the wheels' and on the bar"
        )
    return Obstacle("coverage", text + ".")


def _single(searcher: Searcher) -> Iterator[Obstacle]:
    """Failures of tools by themselves, and pairs that the checks forbade: their own words."""
    seen: set[str] = set()
    for fitted, message in searcher.dropped.items():
        if fitted.use not in seen | searcher.pass_alone:
            seen.add(fitted.use)
            yield Obstacle(fitted.use, message)
    for check, finding in searcher.conflicts.reasons.items():
        yield Obstacle(check, finding.message)


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
