"""From one rig to another: what a fitter does on the bar, with the fewest clamps loosened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import zip_longest

import numpy as np

from rigmodel.advise.kits import Unit, units
from rigmodel.advise.standing import Standing, standing
from rigmodel.assembly.rig import Assembly
from rigmodel.shop.marks import strut_marks
from rigmodel.shop.words import strut
from rigmodel.sides import at_side
from rigmodel.spec.resolve import Axle

SAME_MM = 25.4 / 32.0  # half of the 1/16 in a tape is read to: the same mark
SAME_DEG = 0.1


class Deed(StrEnum):
    """What is done to a clamp. One laid by comes off to let others pass and is hung anew later."""

    STAY = "stay"
    SLIDE = "slide"
    LAY_BY = "lay by"
    REHANG = "re-hang"
    TAKE_OFF = "take off"
    PUT_ON = "put on"


@dataclass(frozen=True)
class Reset:
    """Something set anew on a unit: ``rank`` or the name of a shank; mm.

    For a rank, ahead (+) or behind (-) of its place on the bar; for a shank, what shows of it
    above its holder.
    """

    what: str
    from_mm: float
    to_mm: float


@dataclass(frozen=True)
class ClampStep:
    """What is done to one clamp.

    Attributes:
        deed: what.
        tools: what the clamp carries.
        before: its station in the first rig, or an empty string.
        after: its station in the second rig, or an empty string.
        from_mm: mark in the first rig from the bar's centre, left positive; None if put on.
        to_mm: mark in the second rig; None if taken off or laid by.
        resets: what is set anew on it.
    """

    deed: Deed
    tools: str
    before: str
    after: str
    from_mm: float | None
    to_mm: float | None
    resets: tuple[Reset, ...] = ()

    @property
    def by_mm(self) -> float:
        """How far it moves along the bar, left positive; 0 if it is taken off or put on."""
        return 0.0 if self.from_mm is None or self.to_mm is None else self.to_mm - self.from_mm

    @property
    def loosened(self) -> bool:
        """Whether a clamp that is tight on the first rig's bar must be loosened."""
        ranked = any(reset.what == "rank" for reset in self.resets)
        return self.deed in (Deed.SLIDE, Deed.REHANG, Deed.TAKE_OFF) or ranked


@dataclass(frozen=True)
class Other:
    """A value besides the clamps that differs: what it is, before, after, and its kind.

    `kind` is ``mm``, ``deg`` or ``text``; `each_side` is true where half of the change is made on
    each side.
    """

    what: str
    before: float | str
    after: float | str
    kind: str = "mm"
    each_side: bool = False


@dataclass(frozen=True)
class Comparison:
    """How to get from one rig to another.

    Attributes:
        before: title of the first scene.
        after: title of the second scene.
        rows: rows of the first and of the second scene.
        same_bar: whether both use the same bar; if not, every clamp comes off it.
        steps: what is done to each clamp, in the order of doing; then those that stay.
        others: tractor, bar and rows, in the order of doing.
        stands: how the first rig serves the second's rows as it stands; None if it does not, or
            if the rows are the same.
        stands_back: how the second rig serves the first's rows.
    """

    before: str
    after: str
    rows: tuple[int, int]
    same_bar: bool
    steps: tuple[ClampStep, ...]
    others: tuple[Other, ...]
    stands: Standing | None
    stands_back: Standing | None

    def of(self, *deeds: Deed) -> tuple[ClampStep, ...]:
        """The steps of some deeds."""
        return tuple(step for step in self.steps if step.deed in deeds)

    @property
    def loosened(self) -> int:
        """Clamps loosened: the least possible number."""
        return sum(step.loosened for step in self.steps)

    @property
    def nothing_moves(self) -> bool:
        """Whether every clamp that both rigs use stays where it is."""
        moved = self.of(Deed.SLIDE, Deed.REHANG)
        return self.same_bar and not moved and not any(s.resets for s in self.steps)


def compare(before: Assembly, after: Assembly) -> Comparison:
    """What moves from one rig to another, with the fewest clamps loosened.

    Among all ways to use the first rig's units for the second, the least number of clamps is
    loosened; among those, the least is set anew; among those, the sum of distances is least (an
    exact assignment). Of that assignment the fewest clamps are taken off to pass others.
    """
    old, new = units(before), units(after)
    same_bar = _bar(before) == _bar(after)
    pairs = _assigned(old, new)
    kept = _in_order(old, new, pairs) if same_bar else frozenset()
    matched = [_matched(old[i], new[j], (i, j) in kept) for i, j in pairs]
    used_old, used_new = {i for i, _ in pairs}, {j for _, j in pairs}
    off = [_off(unit) for i, unit in enumerate(old) if i not in used_old]
    on = [_on(unit) for j, unit in enumerate(new) if j not in used_new]
    return Comparison(
        before.scene.spec.name,
        after.scene.spec.name,
        (len(before.rows), len(after.rows)),
        same_bar,
        tuple(_doing_order(matched, off, on)),
        tuple(_others(before, after)),
        _stands(before, after),
        _stands(after, before),
    )


def _stands(rig: Assembly, other: Assembly) -> Standing | None:
    """Only on the same bar at the same height: else every shank is set anew."""
    heights = rig.scene.spec.toolbar.height, other.scene.spec.toolbar.height
    same_rows = [r.y_mm for r in rig.rows] == [r.y_mm for r in other.rows]
    if same_rows or _bar(rig) != _bar(other) or abs(heights[0] - heights[1]) > SAME_MM:
        return None
    return standing(rig, other)


def _bar(assembly: Assembly) -> tuple[float, ...]:
    tube = assembly.scene.tube
    sizes = (tube.size, tube.wall, tube.hole_pitch or 0.0, assembly.scene.spec.toolbar.length)
    return tuple(round(size, 2) for size in sizes)


def _assigned(old: Sequence[Unit], new: Sequence[Unit]) -> list[tuple[int, int]]:
    """Pairs of places in `old` and `new` of the same kit; each kit is a problem of its own."""
    from scipy.optimize import linear_sum_assignment  # noqa: PLC0415

    found: list[tuple[int, int]] = []
    for kit in dict.fromkeys(unit.kit for unit in old):
        rows = [i for i, unit in enumerate(old) if unit.kit == kit]
        columns = [j for j, unit in enumerate(new) if unit.kit == kit]
        if not columns:
            continue
        resets = np.array([[len(_resets(old[i], new[j])) for j in columns] for i in rows], float)
        apart = np.array(
            [[abs(old[i].mark.centre_mm - new[j].mark.centre_mm) for j in columns] for i in rows]
        )
        # Weights so far apart that no sum of the lesser ever outweighs one of the greater.
        least = 1.0 + len(rows) * float(apart.max())
        more = (1.0 + len(rows) * float(resets.max(initial=0.0))) * least
        loosens = np.array(
            [[_matched(old[i], new[j], True).loosened for j in columns] for i in rows], float
        )
        chosen = linear_sum_assignment(loosens * more + resets * least + apart)
        found += [(rows[r], columns[c]) for r, c in zip(*chosen, strict=True)]
    return sorted(found)


def _in_order(
    old: Sequence[Unit], new: Sequence[Unit], pairs: Sequence[tuple[int, int]]
) -> frozenset[tuple[int, int]]:
    """The pairs that need not leave the bar: most of them, of which none passes another."""
    weights = [1 + len(pairs) * _stays(old[i], new[j]) for i, j in pairs]
    best, came = list(weights), [-1] * len(pairs)
    for k, (_, j) in enumerate(pairs):
        for earlier in range(k):
            if pairs[earlier][1] < j and best[earlier] + weights[k] > best[k]:
                best[k], came[k] = best[earlier] + weights[k], earlier
    at = max(range(len(pairs)), key=best.__getitem__, default=-1)
    kept = set()
    while at >= 0:
        kept.add(pairs[at])
        at = came[at]
    return frozenset(kept)


def _stays(old: Unit, new: Unit) -> bool:
    return abs(old.mark.centre_mm - new.mark.centre_mm) <= SAME_MM


def _resets(old: Unit, new: Unit) -> tuple[Reset, ...]:
    found = []
    if abs(old.mark.rank_mm - new.mark.rank_mm) > SAME_MM:
        found.append(Reset("rank", old.mark.rank_mm, new.mark.rank_mm))
    for one, two in zip(old.mark.tools, new.mark.tools, strict=True):
        if one.shank is not None and two.shank is not None:
            reset = Reset(two.shank.name, one.shank.above_mm, two.shank.above_mm)
            if abs(reset.to_mm - reset.from_mm) > SAME_MM:
                found.append(reset)
    return tuple(found)


def _matched(old: Unit, new: Unit, slides: bool) -> ClampStep:
    deed = Deed.SLIDE if slides else Deed.REHANG
    if slides and _stays(old, new):
        deed = Deed.STAY
    return ClampStep(
        deed,
        new.tools,
        old.station,
        new.station,
        old.mark.centre_mm,
        new.mark.centre_mm,
        _resets(old, new),
    )


def _off(unit: Unit) -> ClampStep:
    return ClampStep(Deed.TAKE_OFF, unit.tools, unit.station, "", unit.mark.centre_mm, None)


def _on(unit: Unit) -> ClampStep:
    return ClampStep(Deed.PUT_ON, unit.tools, "", unit.station, None, unit.mark.centre_mm)


def _doing_order(
    matched: Sequence[ClampStep], off: Sequence[ClampStep], on: Sequence[ClampStep]
) -> Iterator[ClampStep]:
    """Off first, then slides so that each has its way free, then what is hung anew, then stays.

    What is hung anew is laid by before anything slides, for it stands where another must pass.
    Clamps that go left start with the one farthest left, those that go right with the one farthest
    right: then no clamp ever meets one that has yet to make room.
    """
    yield from off
    rehung = [step for step in matched if step.deed is Deed.REHANG]
    yield from (replace(s, deed=Deed.LAY_BY, to_mm=None, resets=()) for s in rehung)
    slides = [step for step in matched if step.deed is Deed.SLIDE]
    yield from sorted((s for s in slides if s.by_mm > 0.0), key=lambda s: -(s.from_mm or 0.0))
    yield from sorted((s for s in slides if s.by_mm < 0.0), key=lambda s: s.from_mm or 0.0)
    yield from rehung
    yield from on
    stays = [step for step in matched if step.deed is Deed.STAY]
    yield from (step for step in stays if step.resets)
    yield from (step for step in stays if not step.resets)


def _others(before: Assembly, after: Assembly) -> Iterator[Other]:
    one, two = before.scene, after.scene
    if one.tractor.mount != two.tractor.mount:
        yield Other("where the rig hangs", one.tractor.mount, two.tractor.mount, "text")
    axles = {axle.name: axle for axle in two.axles}
    for axle in one.axles:
        if axle.name in axles:
            yield from _axle(axle, axles[axle.name])
    if _bar(before) != _bar(after):
        yield Other("bar", _bar_words(before), _bar_words(after), "text")
    struts = zip_longest(_strut_words(before), _strut_words(after), fillvalue="none")
    for number, (was_held, is_held) in enumerate(struts, start=1):
        if was_held != is_held:
            yield Other(f"strut{number}", was_held, is_held, "text")
    bars = (
        ("bar's height over the soil", "height", "mm"),
        ("bar's centre left of the tractor's", "offset", "mm"),
        ("bar's roll", "roll", "deg"),
        ("bar's pitch", "pitch", "deg"),
    )
    for what, name, kind in bars:
        was = float(getattr(one.spec.toolbar, name))
        becomes = float(getattr(two.spec.toolbar, name))
        if abs(was - becomes) > (SAME_MM if kind == "mm" else SAME_DEG):
            yield Other(what, was, becomes, kind)
    ahead = one.tractor.toolbar_ahead, two.tractor.toolbar_ahead
    if abs(ahead[0] - ahead[1]) > SAME_MM:
        yield Other("bar's centre ahead of the rear axle", *ahead)


def _bar_words(assembly: Assembly) -> str:
    say, tube = assembly.scene.say, assembly.scene.tube
    length = say(assembly.scene.spec.toolbar.length)
    return f"{say(tube.size)} square, wall {say(tube.wall)}, {length} long"


def _strut_words(assembly: Assembly) -> list[str]:
    unit = assembly.scene.unit
    return [f"{at_side(m.centre_mm, unit)}, {strut(m, unit)}" for m in strut_marks(assembly)]


def _axle(one: Axle, two: Axle) -> Iterator[Other]:
    if abs(one.track_mm - two.track_mm) > SAME_MM:
        yield Other(f"{one.name} wheel track", one.track_mm, two.track_mm, each_side=True)
    for what, was, becomes in (
        ("tyre width", one.tyre.width_mm, two.tyre.width_mm),
        ("tyre diameter", one.tyre.diameter_mm, two.tyre.diameter_mm),
    ):
        if abs(was - becomes) > SAME_MM:
            yield Other(f"{one.name} {what}", was, becomes)
    bed = one.track_mm - one.tyre.width_mm, two.track_mm - two.tyre.width_mm
    if abs(bed[0] - bed[1]) > SAME_MM:
        yield Other(f"between the {one.name} tyres", *bed, each_side=True)
