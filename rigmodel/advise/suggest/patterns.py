"""The lateral problem: which hoes side by side work a strip between two keep-out bands.

A pattern is a row of hoes across one strip. Its soil missed and worked twice follow from the
widths as they were measured. Positions are mm left of the tractor's centre.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations_with_replacement, pairwise, permutations, product

from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.variants import Variant
from rigmodel.coverage import SLIVER_MM, Strip, field_strip, without
from rigmodel.spec.scene import SceneSpec

MOST_HOES = 8  # in one strip
MOST_WIDTHS = 8  # sets of widths of three hoes and more, those nearest the strip's width
MOST_PATTERNS = 120  # of one number of hoes in one strip, the likeliest
ORDERED_TO = 2  # up to so many hoes every order of widths is tried; beyond, at most two widths
_INCH_STEP, _MM_STEP = 25.4 / 16.0, 1.0
_EDGE_MM = 1e-6


class Side(StrEnum):
    """Where a strip lies."""

    GAP = "gap"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True)
class Segment:
    """A strip of soil to be worked, between keep-out bands or outside the outer ones.

    Attributes:
        name: ``gap1`` … from the left, ``outside.left`` or ``outside.right``.
        side: where it lies.
        number: of a gap, counted from the left, from 1.
        low: its right edge.
        high: its left edge.
    """

    name: str
    side: Side
    number: int
    low: float
    high: float

    @property
    def width(self) -> float:
        """Width of the strip, mm."""
        return self.high - self.low


class Set(StrEnum):
    """How a hoe's place is written in the scene."""

    CENTRE = "centre of the gap"
    LEFT_ROW = "at the band of the row on the left"
    RIGHT_ROW = "at the band of the row on the right"
    OUTSIDE = "outside, at the outer row's band"
    MEASURED = "measured from the bar's centre"


@dataclass(frozen=True)
class Hung:
    """One hoe hung in a strip.

    Attributes:
        variant: what it is.
        how: how its place is written.
        mirrored: whether it is the mirror image of the measured one.
        centre: middle of its strip.
    """

    variant: Variant
    how: Set
    mirrored: bool
    centre: float

    @property
    def strip(self) -> Strip:
        """The strip it works."""
        half = self.variant.width / 2.0
        return self.centre - half, self.centre + half

    @property
    def clamp(self) -> float:
        """Middle of its clamp."""
        return self.centre + (-1.0 if self.mirrored else 1.0) * self.variant.clamp_at


@dataclass(frozen=True)
class Pattern:
    """Hoes that work one strip, from left to right.

    Attributes:
        hoes: the hoes; none where the strip is so narrow that it may be left.
        missed: soil missed in the strip, mm in all.
        doubled: soil worked twice, mm in all.
    """

    hoes: tuple[Hung, ...]
    missed: float
    doubled: float


def segments(spec: SceneSpec) -> tuple[Segment, ...]:
    """The strips to be worked, from left to right."""
    rows, keep = spec.rows.places, spec.rows.keep_out
    half = spec.soil.top_width / 2.0 if spec.soil.top_width is not None else None
    low, high = field_strip(rows, half, ())
    found = [Segment("outside.left", Side.LEFT, 0, rows[0] + keep, max(high, rows[0] + keep))]
    for i, (left, right) in enumerate(pairwise(rows)):
        found.append(Segment(f"gap{i + 1}", Side.GAP, i + 1, right + keep, left - keep))
    edge = rows[-1] - keep
    found.append(Segment("outside.right", Side.RIGHT, 0, min(low, edge), edge))
    return tuple(found)


class PatternMaker:
    """Makes the patterns of a strip from measured hoes.

    Args:
        request: what is asked.
        hoes: variants to choose from, on all ranks.
    """

    def __init__(self, request: Request, hoes: Sequence[Variant]) -> None:
        self.request = request
        self.limits = request.scene.spec.limits
        inches = request.scene.unit.value in ("in", "ft")
        self.step = _INCH_STEP if inches else _MM_STEP
        self.offset = request.scene.spec.toolbar.offset
        self.by_width: dict[float, list[Variant]] = {}
        for hoe in hoes:
            self.by_width.setdefault(round(hoe.width, 3), []).append(hoe)
        self.single_row = len(request.scene.spec.rows.places) == 1

    def fewest(self, segment: Segment) -> int:
        """Fewest hoes that can work a strip by their widths alone; 0 where it may be left."""
        for count in range(MOST_HOES + 1):
            if any(True for _ in self._widths(segment, count)):
                return count
        return MOST_HOES + 1

    def patterns(self, segment: Segment, more: int) -> tuple[Pattern, ...]:
        """Patterns of the fewest hoes, and of up to `more` hoes more than that.

        Of each number of hoes at most `MOST_PATTERNS` are kept: those that need the fewest parts
        beyond the stock, then those that miss and work twice the least soil.
        """
        fewest = self.fewest(segment)
        found: list[Pattern] = []
        for count in range(fewest, min(fewest + more, MOST_HOES) + 1):
            same: dict[tuple[Hung, ...], Pattern] = {}
            for widths in self._widths(segment, count):
                for pattern in self._hung(segment, widths):
                    same.setdefault(pattern.hoes, pattern)
            found += sorted(same.values(), key=self._likely)[:MOST_PATTERNS]
        return tuple(found)

    def _likely(self, pattern: Pattern) -> tuple[float, ...]:
        needed: Counter[str] = Counter()
        for hoe in pattern.hoes:
            needed.update(dict(hoe.variant.parts))
        stock = self.request.stock
        short = 0 if stock is None else sum((needed - Counter(stock)).values())
        behind = sum(hoe.variant.behind_kg for hoe in pattern.hoes)
        return short, round(pattern.missed + pattern.doubled, 2), behind

    def _widths(self, segment: Segment, count: int) -> Iterator[tuple[float, ...]]:
        """Widths from left to right that can work a strip with `count` hoes."""
        if count == 0:
            if segment.width <= self.limits.missed and not self.single_row:
                yield ()
            return
        found = [
            chosen
            for chosen in combinations_with_replacement(sorted(self.by_width), count)
            if (count <= ORDERED_TO or len(set(chosen)) <= 2)
            and self._covers(segment, sum(chosen), count)
        ]
        if count > ORDERED_TO:
            found.sort(key=lambda chosen: abs(sum(chosen) - segment.width))
            del found[MOST_WIDTHS:]
        for chosen in found:
            yield from dict.fromkeys(
                permutations(chosen) if count <= ORDERED_TO else [chosen, chosen[::-1]]
            )

    def _covers(self, segment: Segment, total: float, count: int) -> bool:
        """Whether hoes of that width in all can leave no strip wider than may be missed."""
        overlap, missed = self.request.overlap, self.limits.missed
        room = segment.width
        between = -(count - 1) * overlap if overlap > 0.0 else (count - 1) * missed
        ends = 2.0 * missed if segment.side is Side.GAP and overlap <= 0.0 else missed
        if total + between + ends < room - 1e-6:
            return False
        waste = (count - 1) * max(self.limits.overlap, overlap)
        if segment.side is Side.GAP:
            return total <= room + waste + 1e-6 and (count > 1 or total <= room + 1e-6)
        # Outside, a hoe may reach on; but one more than is needed by width is waste.
        return count == 1 or total - total / count < room

    def _hung(self, segment: Segment, widths: tuple[float, ...]) -> Iterator[Pattern]:
        if not widths:
            yield Pattern((), segment.width if segment.width > SLIVER_MM else 0.0, 0.0)
            return
        for hows, centres in self._places(segment, widths):
            for hoes in self._fitted(widths, hows, centres):
                pattern = self._pattern(segment, hoes)
                if pattern is not None:
                    yield pattern

    def _places(
        self, segment: Segment, widths: tuple[float, ...]
    ) -> Iterator[tuple[tuple[Set, ...], tuple[float, ...]]]:
        """Ways to place hoes of these widths: close to the bands, or with equal room between."""
        total, count = sum(widths), len(widths)
        if segment.side is not Side.GAP:
            yield from self._outward(segment, widths)
            return
        if count == 1:
            half = widths[0] / 2.0
            yield (Set.CENTRE,), ((segment.low + segment.high) / 2.0,)
            if segment.width - total > SLIVER_MM:
                yield (Set.LEFT_ROW,), (segment.high - half,)
                yield (Set.RIGHT_ROW,), (segment.low + half,)
            return
        hole = (segment.width - total) / (count - 1)
        inner = self._measured(_row_of(segment.high, widths, hole))
        ends = (Set.LEFT_ROW, *(Set.MEASURED,) * (count - 2), Set.RIGHT_ROW)
        first, last = segment.high - widths[0] / 2.0, segment.low + widths[-1] / 2.0
        yield ends, (first, *inner[1:-1], last)
        even = (segment.width - total) / (count + 1)
        if even > SLIVER_MM and self.request.overlap <= 0.0:
            centres = self._measured(_row_of(segment.high - even, widths, even))
            yield (Set.MEASURED,) * count, centres

    def _outward(
        self, segment: Segment, widths: tuple[float, ...]
    ) -> Iterator[tuple[tuple[Set, ...], tuple[float, ...]]]:
        """From the outer row's band outward; the first hoe stands at the band."""
        count = len(widths)
        spare = sum(widths) - segment.width
        for hole in dict.fromkeys((-self.request.overlap, self._widest_hole(spare, count))):
            if segment.side is Side.RIGHT:
                centres = _row_of(segment.high, widths, hole)
                rest = self._measured(centres[1:])
                yield (Set.OUTSIDE, *(Set.MEASURED,) * (count - 1)), (centres[0], *rest)
            else:
                mirrored = _row_of(-segment.low, widths[::-1], hole)
                centres = tuple(-c for c in reversed(mirrored))
                rest = self._measured(centres[:-1])
                yield (*(Set.MEASURED,) * (count - 1), Set.OUTSIDE), (*rest, centres[-1])

    def _widest_hole(self, spare: float, count: int) -> float:
        """Widest hole between hoes outside that still reaches the field's edge."""
        if count == 1 or self.request.overlap > 0.0:
            return -self.request.overlap
        return min(self.limits.missed, self.limits.missed + spare / (count - 1))

    def _measured(self, centres: Sequence[float]) -> tuple[float, ...]:
        """Centres moved to what a tape can show, counted from the bar's centre."""
        return tuple(
            self.offset + round((c - self.offset) / self.step) * self.step for c in centres
        )

    def _fitted(
        self, widths: tuple[float, ...], hows: tuple[Set, ...], centres: tuple[float, ...]
    ) -> Iterator[tuple[Hung, ...]]:
        """Every choice of sub-assembly, rank and hand; of three hoes and more, two in turn."""
        count = len(widths)
        choices: Iterable[tuple[Variant, ...]]
        if count <= ORDERED_TO:
            choices = product(*(self.by_width[w] for w in widths))
        else:
            choices = self._in_turn(widths)
        for chosen in choices:
            for hand in (False, True):
                hoes = tuple(
                    Hung(v, how, _mirrored(how, centre, hand, self.offset), centre)
                    for v, how, centre in zip(chosen, hows, centres, strict=True)
                )
                if self._side_by_side(hoes):
                    yield hoes
                if all(how in (Set.LEFT_ROW, Set.RIGHT_ROW, Set.OUTSIDE) for how in hows):
                    break

    def _in_turn(self, widths: tuple[float, ...]) -> Iterator[tuple[Variant, ...]]:
        """Two forms of carrying that alternate along the strip."""
        forms = {w: {_form(v): v for v in self.by_width[w]} for w in set(widths)}
        shared = set.intersection(*(set(f) for f in forms.values()))
        for one, other in product(sorted(shared), repeat=2):
            yield tuple(forms[w][(one, other)[i % 2]] for i, w in enumerate(widths))

    def _side_by_side(self, hoes: tuple[Hung, ...]) -> bool:
        """Neighbours on one rank need room between their strips; others may overlap."""
        for left, right in pairwise(hoes):
            same = left.variant.fitted.rank == right.variant.fitted.rank
            room = left.strip[0] - right.strip[1]
            if same and room < self.limits.fixed_clearance:
                return False
        return True

    def _pattern(self, segment: Segment, hoes: tuple[Hung, ...]) -> Pattern | None:
        """The pattern of some hoes, or None where it misses too much or enters a band."""
        strips = [hoe.strip for hoe in hoes]
        left = without([(segment.low, segment.high)], strips)
        holes = [high - low for low, high in left if high - low > SLIVER_MM]
        if max(holes, default=0.0) > self.limits.missed + _EDGE_MM:
            return None
        if segment.side is not Side.LEFT and strips[0][1] > segment.high + _EDGE_MM:
            return None
        if segment.side is not Side.RIGHT and strips[-1][0] < segment.low - _EDGE_MM:
            return None
        laps = [right[1] - left[0] for left, right in pairwise(strips)]
        least = self.request.overlap
        if least > 0.0 and laps and min(laps) < least - self.step / 2.0:
            return None
        return Pattern(hoes, sum(holes), sum(lap for lap in laps if lap > SLIVER_MM))


def _row_of(high: float, widths: Sequence[float], hole: float) -> tuple[float, ...]:
    """Middles of strips laid from `high` to the right with a hole between neighbours."""
    centres, edge = [], high
    for width in widths:
        centres.append(edge - width / 2.0)
        edge -= width + hole
    return tuple(centres)


def _mirrored(how: Set, centre: float, hand: bool, middle: float) -> bool:
    """Whether a hoe is mirrored: by its side of the row, else by the hand chosen for the left.

    A hand chosen for the left half is turned over on the right half, so that a rig of equal halves
    is among the choices by one hand.
    """
    if how is Set.LEFT_ROW:
        return True
    if how is Set.RIGHT_ROW:
        return False
    if how is Set.OUTSIDE:
        return centre < middle
    return hand if centre >= middle - 1e-6 else not hand


def _form(variant: Variant) -> tuple[object, ...]:
    """How a hoe is carried, whatever its blade."""
    fitted = variant.fitted
    swap = tuple((name, part) for name, part in fitted.swap if part != fitted.tool)
    return (fitted.rank, fitted.use, swap)


def least_missed(segment: Segment, widths: Sequence[float], count: int) -> float:
    """Least width that the widest missed strip of a gap can have with `count` hoes, mm.

    With widths chosen freely from `widths`, W in all and W <= L, equal holes are best:
    (L - W) / (count + 1).
    """
    best = math.inf
    for chosen in combinations_with_replacement(sorted(set(widths)), count):
        total = sum(chosen)
        if total <= segment.width or count > 1:
            best = min(best, max(0.0, (segment.width - total) / (count + 1)))
    return best
