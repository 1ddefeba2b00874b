"""The lateral problem: which hoes side by side work a strip between two keep-out bands.

Soil missed and worked twice follow from the widths as they were measured. On a perforated bar a
hoe's middle is where its clamp comes to a hole.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations_with_replacement, islice, pairwise, permutations, product

from rigmodel.advise.suggest.patterns import Pattern, Segment, Side
from rigmodel.advise.suggest.pieces import Clamp, Piece, Set, fit_together, on_the_bar
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.variants import Variant
from rigmodel.coverage import SLIVER_MM, without

MOST_HOES = 12  # in one strip
MOST_SETS = 12  # sets of widths of three hoes and more: those most alike, nearest the strip's width
MOST_PATTERNS = 120  # of one number of hoes in one strip, the likeliest
MOST_CARRIED = 24  # ways to carry three hoes and more of given widths that are kept
ORDERED_TO = 2  # up to so many hoes every order of widths and every carrying is tried
_MANY = 5000  # more sets of widths than this are not all looked through: at most two widths then
_INCH_STEP, _MM_STEP = 25.4 / 16.0, 1.0
_EDGE_MM = 1e-6
_Widths = tuple[float, ...]
_Layout = tuple[tuple[str, float], ...]  # of each hoe: what it is set by, and its middle
_Form = tuple[float, str, tuple[tuple[str, str], ...]]  # rank, sub-assembly, what is swapped
_CENTRE, _HIGH, _LOW, _FREE = "centre", "high", "low", "free"


class PatternMaker:
    """Makes the patterns of a strip from measured hoes.

    Args:
        request: what is asked.
        hoes: variants to choose from, on all ranks.
        beside: for each row, the clamps of every pair of wheels that may stand there; patterns
            that leave no room for any of them are left out.
    """

    def __init__(
        self,
        request: Request,
        hoes: Sequence[Variant],
        beside: Mapping[int, Sequence[Sequence[Clamp]]] | None = None,
    ) -> None:
        self.request, self.beside = request, beside or {}
        self.limits = request.scene.spec.limits
        inches = request.scene.unit.value in ("in", "ft")
        self.step = _INCH_STEP if inches else _MM_STEP
        self.offset = request.scene.spec.toolbar.offset
        self.pitch = request.scene.tube.hole_pitch
        # The worst a hole can be off, from where a hoe is wanted.
        self.slack = 0.0 if self.pitch is None else self.pitch
        self.by_width: dict[float, list[Variant]] = {}
        for hoe in hoes:
            self.by_width.setdefault(round(hoe.width, 3), []).append(hoe)
        self.single_row = len(request.scene.spec.rows.places) == 1
        self._known: dict[tuple[object, ...], tuple[_Widths, ...]] = {}
        self._stand: dict[tuple[object, ...], tuple[Variant, ...]] = {}

    def fewest(self, segment: Segment) -> int:
        """Fewest hoes that can work a strip by their widths alone; 0 where it may be left."""
        for count in range(MOST_HOES + 1):
            if self._widths(segment, count):
                return count
        return MOST_HOES + 1

    def patterns(self, segment: Segment, more: int) -> tuple[Pattern, ...]:
        """Patterns of the fewest hoes that hang, and of up to `more` hoes more than that.

        Of each number of hoes at most `MOST_PATTERNS` are kept: those that need the fewest parts
        beyond the stock, then those that miss and work twice the least soil.
        """
        found: list[Pattern] = []
        first = self.fewest(segment)
        for count in range(first, MOST_HOES + 1):
            same: dict[tuple[Piece, ...], Pattern] = {}
            for widths in self._widths(segment, count):
                most = None if count <= ORDERED_TO else MOST_CARRIED
                for pattern in islice(self._hung(segment, widths), most):
                    same.setdefault(pattern.hoes, pattern)
            found += sorted(same.values(), key=self._likely)[:MOST_PATTERNS]
            if (found and count >= first + more) or count >= first + more + 2:
                break
        return tuple(found)

    def _likely(self, pattern: Pattern) -> tuple[float, ...]:
        needed: Counter[str] = Counter()
        for hoe in pattern.hoes:
            needed.update(dict(hoe.variant.parts))
        stock = self.request.stock
        short = 0 if stock is None else sum((needed - Counter(stock)).values())
        behind = sum(hoe.variant.behind_kg for hoe in pattern.hoes)
        return short, round(pattern.missed + pattern.doubled, 2), behind

    def _widths(self, segment: Segment, count: int) -> tuple[_Widths, ...]:
        """Widths from left to right that can work a strip with `count` hoes."""
        key = (round(segment.width, 3), segment.side is Side.GAP, count)
        if key not in self._known:
            self._known[key] = tuple(self._find_widths(segment, count))
        return self._known[key]

    def _find_widths(self, segment: Segment, count: int) -> Iterator[_Widths]:
        if count == 0:
            if segment.width <= self.limits.missed and not self.single_row:
                yield ()
            return
        found = [c for c in self._sets(segment, count) if self._covers(segment, sum(c), count)]
        if count <= ORDERED_TO:
            for chosen in found:
                yield from dict.fromkeys(permutations(chosen))
            return
        found.sort(key=lambda chosen: self._odd(segment, chosen))
        for chosen in found[:MOST_SETS]:
            yield from dict.fromkeys((_wide_outside(chosen), chosen[::-1], chosen))

    def _sets(self, segment: Segment, count: int) -> Iterator[_Widths]:
        """Sets of widths, each in rising order."""
        widths = sorted(self.by_width)
        if not widths or not self._covers(segment, count * widths[-1], count, enough=True):
            return
        if math.comb(len(widths) + count - 1, count) <= _MANY:
            yield from combinations_with_replacement(widths, count)
            return
        for narrow, wide in combinations_with_replacement(widths, 2):
            for k in range(count if narrow != wide else 1):
                yield (narrow,) * (count - k) + (wide,) * k

    def _odd(self, segment: Segment, widths: _Widths) -> tuple[float, ...]:
        """What makes a set of widths less likely: short of stock, unlike, too wide or narrow."""
        return self._short(widths), max(2, len(set(widths))), abs(sum(widths) - segment.width)

    def _short(self, widths: _Widths) -> int:
        stock = self.request.stock
        if stock is None:
            return 0
        short = 0
        for width, count in Counter(widths).items():
            tools = {hoe.fitted.tool for hoe in self.by_width[width]}
            short += max(0, count - sum(stock.get(tool, 0) for tool in tools))
        return short

    def _covers(self, segment: Segment, total: float, count: int, enough: bool = False) -> bool:
        """Whether hoes of that width in all can leave no strip wider than may be missed.

        Args:
            segment: the strip.
            total: their widths together.
            count: how many hoes.
            enough: ask only whether they are wide enough, not whether they are too wide.
        """
        overlap, missed = self.request.overlap, self.limits.missed
        room = segment.width
        between = -(count - 1) * overlap if overlap > 0.0 else (count - 1) * missed
        ends = 2.0 * missed if segment.side is Side.GAP and overlap <= 0.0 else missed
        if total + between + ends < room - _EDGE_MM:
            return False
        if enough:
            return True
        waste = (count - 1) * max(self.limits.overlap, overlap)
        if segment.side is Side.GAP:
            return total <= room + waste + _EDGE_MM and (count > 1 or total <= room + _EDGE_MM)
        # Outside, a hoe may reach on; but one more than is needed by width is waste.
        return count == 1 or total - total / count < room + (count - 1) * self.slack

    def _hung(self, segment: Segment, widths: _Widths) -> Iterator[Pattern]:
        if not widths:
            yield Pattern((), segment.width if segment.width > SLIVER_MM else 0.0, 0.0)
            return
        for layout in self._layouts(segment, widths):
            for variants in self._carried(segment, widths, layout):
                for hoes in self._handed(segment, variants, layout):
                    pattern = self._pattern(segment, hoes)
                    if pattern is not None:
                        yield pattern

    def _layouts(self, segment: Segment, widths: _Widths) -> Iterator[_Layout]:
        """Ways to place hoes of these widths: close to the bands, or with equal room between."""
        if segment.side is not Side.GAP:
            yield from self._outward(segment, widths)
            return
        total, count = sum(widths), len(widths)
        half = widths[0] / 2.0
        if count == 1:
            yield ((_CENTRE, (segment.low + segment.high) / 2.0),)
            if segment.width - total > SLIVER_MM:
                yield ((_HIGH, segment.high - half),)
                yield ((_LOW, segment.low + half),)
            return
        hole = (segment.width - total) / (count - 1)
        inner = _row_of(segment.high, widths, hole)[1:-1]
        last = (_LOW, segment.low + widths[-1] / 2.0)
        yield ((_HIGH, segment.high - half), *((_FREE, c) for c in inner), last)
        even = (segment.width - total) / (count + 1)
        if even > SLIVER_MM and self.request.overlap <= 0.0:
            yield tuple((_FREE, c) for c in _row_of(segment.high - even, widths, even))

    def _outward(self, segment: Segment, widths: _Widths) -> Iterator[_Layout]:
        """From the outer row's band outward; the first hoe stands at the band."""
        count, spare = len(widths), sum(widths) - segment.width
        for hole in dict.fromkeys((-self.request.overlap, self._widest_hole(spare, count))):
            if segment.side is Side.RIGHT:
                first, *rest = _row_of(segment.high, widths, hole)
                yield ((_HIGH, first), *((_FREE, c) for c in rest))
            else:
                mirrored = _row_of(-segment.low, widths[::-1], hole)
                *rest, first = (-c for c in reversed(mirrored))
                yield (*((_FREE, c) for c in rest), (_LOW, first))

    def _widest_hole(self, spare: float, count: int) -> float:
        """Widest hole between hoes outside that still reaches the field's edge."""
        if count == 1 or self.request.overlap > 0.0:
            return -self.request.overlap
        return min(self.limits.missed, self.limits.missed + spare / (count - 1))

    def _carried(
        self, segment: Segment, widths: _Widths, layout: _Layout
    ) -> Iterator[tuple[Variant, ...]]:
        """Every choice of sub-assembly and rank; of three hoes and more, two forms in turn."""
        apart = [
            (a - b) - (v + w) / 2.0 >= self.limits.fixed_clearance
            for ((_, a), (_, b)), (v, w) in zip(pairwise(layout), pairwise(widths), strict=True)
        ]
        first = self._standing(segment, widths[0], layout[0])
        last = self._standing(segment, widths[-1], layout[-1])
        if len(widths) == 1:
            choices: Iterator[tuple[Variant, ...]] = ((variant,) for variant in first)
        elif len(widths) <= ORDERED_TO:
            choices = product(first, *(self.by_width[w] for w in widths[1:-1]), last)
        else:
            choices = self._in_turn(widths, first, last)
        for chosen in choices:
            ranks = [variant.fitted.rank for variant in chosen]
            # Neighbours on one rank need room between their strips; others may overlap.
            if all(ok or a != b for ok, (a, b) in zip(apart, pairwise(ranks), strict=True)):
                yield chosen

    def _standing(
        self, segment: Segment, width: float, spot: tuple[str, float]
    ) -> tuple[Variant, ...]:
        """Hoes of a width that have room for their clamp at one end of a strip."""
        rule, centre = spot
        key = (segment, width, rule, round(centre, 3))
        if key not in self._stand:
            self._stand[key] = tuple(
                variant
                for variant in self.by_width[width]
                if any(
                    self._hangs(segment, (self._piece(segment, variant, rule, centre, hand),))
                    for hand in self._hands(variant, rule)
                )
            )
        return self._stand[key]

    def _in_turn(
        self, widths: _Widths, first: Sequence[Variant], last: Sequence[Variant]
    ) -> Iterator[tuple[Variant, ...]]:
        """Two forms of carrying that alternate along the strip, and any at its two ends."""
        forms = {w: {_form(v): v for v in self.by_width[w]} for w in set(widths[1:-1])}
        inner = set.intersection(*(set(forms[w]) for w in widths[1:-1]))
        ends = sorted(product(first, last), key=lambda pair: _reach(*map(_form, pair)))
        for one, other in sorted(product(inner, repeat=2), key=lambda pair: _reach(*pair)):
            turn = [forms[w][(one, other)[i % 2]] for i, w in enumerate(widths[1:-1])]
            for left, right in ends:
                # Ends of two forms beside the inner two would be four: no one builds that.
                if _form(left) == _form(right) or {_form(left), _form(right)} <= {one, other}:
                    yield (left, *turn, right)

    def _handed(
        self, segment: Segment, variants: tuple[Variant, ...], layout: _Layout
    ) -> Iterator[tuple[Piece, ...]]:
        """The hoes with their hands: by the band they stand at, else one for all and the other."""
        told: set[tuple[bool, ...]] = set()
        for hand in (False, True):
            hands = tuple(
                self._mirrored(segment, variant, rule, centre, hand)
                for variant, (rule, centre) in zip(variants, layout, strict=True)
            )
            if hands not in told:
                told.add(hands)
                yield tuple(
                    self._piece(segment, variant, rule, centre, mirrored)
                    for variant, (rule, centre), mirrored in zip(
                        variants, layout, hands, strict=True
                    )
                )

    def _hands(self, variant: Variant, rule: str) -> tuple[bool, ...]:
        """The hands a hoe may have: by the band it stands at, else both."""
        return (rule == _HIGH,) if self._by_band(variant, rule) else (False, True)

    def _by_band(self, variant: Variant, rule: str) -> bool:
        """Whether a hoe's place is written by the band it stands at."""
        return rule in (_HIGH, _LOW) and variant.by_edge and self.pitch is None

    def _mirrored(
        self, segment: Segment, variant: Variant, rule: str, centre: float, hand: bool
    ) -> bool:
        """Whether a hoe is mirrored: by its side of the row, else by the hand chosen.

        A hand chosen for the left half is turned over on the right half, so that a rig of equal
        halves is among the choices by one hand.
        """
        if self._by_band(variant, rule):
            return rule == _HIGH
        return hand if centre >= self.offset - 1e-6 else not hand

    def _piece(
        self, segment: Segment, variant: Variant, rule: str, centre: float, mirrored: bool
    ) -> Piece:
        if self.pitch is not None:
            at = self._at_hole(variant, rule, centre, mirrored, self.pitch)
            return Piece(variant, Set.MEASURED, mirrored, at)
        if rule == _CENTRE:
            return Piece(variant, Set.CENTRE, mirrored, centre)
        if self._by_band(variant, rule):
            if segment.side is not Side.GAP:
                return Piece(variant, Set.OUTSIDE, mirrored, centre)
            how = Set.LEFT_ROW if rule == _HIGH else Set.RIGHT_ROW
            return Piece(variant, how, mirrored, centre)
        steps = (centre - self.offset) / self.step
        at = self.offset + _rounded(steps, rule) * self.step
        return Piece(variant, Set.MEASURED, mirrored, at)

    def _at_hole(
        self, variant: Variant, rule: str, centre: float, mirrored: bool, pitch: float
    ) -> float:
        """The middle of a hoe whose clamp is at the hole next to where it is wanted."""
        out = variant.clamps_at[0] * (-1.0 if mirrored else 1.0)
        steps = (centre + out - self.offset) / pitch
        return self.offset + _rounded(steps, rule) * pitch - out

    def _pattern(self, segment: Segment, hoes: tuple[Piece, ...]) -> Pattern | None:
        """The pattern of some hoes; None where it misses too much, enters a band or cannot hang."""
        strips = [hoe.strip for hoe in hoes]
        if segment.side is not Side.LEFT and strips[0][1] > segment.high + _EDGE_MM:
            return None
        if segment.side is not Side.RIGHT and strips[-1][0] < segment.low - _EDGE_MM:
            return None
        left = without([(segment.low, segment.high)], strips)
        holes = [high - low for low, high in left if high - low > SLIVER_MM]
        if max(holes, default=0.0) > self.limits.missed + _EDGE_MM:
            return None
        laps = [right[1] - left[0] for left, right in pairwise(strips)]
        least = self.request.overlap
        if least > 0.0 and laps and min(laps) < least - self.step / 2.0:
            return None
        if not self._hangs(segment, hoes):
            return None
        return Pattern(hoes, sum(holes), sum(lap for lap in laps if lap > SLIVER_MM))

    def _hangs(self, segment: Segment, hoes: tuple[Piece, ...]) -> bool:
        """Whether the clamps have room on the bar, also beside some wheels at each row."""
        clamps = [clamp for hoe in hoes for clamp in hoe.clamps]
        gap = self.limits.clamp_gap
        if not on_the_bar(self.request, clamps) or not fit_together(clamps, gap):
            return False
        return all(
            any(fit_together([*clamps, *wheels], gap) for wheels in self.beside[row])
            for row in segment.rows
            if row in self.beside
        )


def _rounded(steps: float, rule: str) -> int:
    """Whole steps next to a place; at a band, on the side away from the row."""
    if rule == _HIGH:
        return math.floor(steps + 1e-6)
    return math.ceil(steps - 1e-6) if rule == _LOW else round(steps)


def _wide_outside(widths: _Widths) -> _Widths:
    """Widths with the widest at both ends and the narrowest in the middle."""
    falling = sorted(widths, reverse=True)
    return (*falling[::2], *reversed(falling[1::2]))


def _row_of(high: float, widths: Sequence[float], hole: float) -> tuple[float, ...]:
    """Middles of strips laid from `high` to the right with a hole between neighbours."""
    centres, edge = [], high
    for width in widths:
        centres.append(edge - width / 2.0)
        edge -= width + hole
    return tuple(centres)


def _form(variant: Variant) -> _Form:
    """How a hoe is carried, whatever its blade."""
    fitted = variant.fitted
    swap = tuple((name, part) for name, part in fitted.swap if part != fitted.tool)
    return fitted.rank, fitted.use, swap


def _reach(one: _Form, other: _Form) -> tuple[float, tuple[_Form, _Form]]:
    """What puts two forms near the bar before those that stand far from it."""
    return abs(one[0]) + abs(other[0]), (one, other)
