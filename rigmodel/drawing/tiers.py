"""Puts dimensions beside a view so that no number stands on another number or on a line.

Short dimensions stand next to the view, longer ones farther out. Everything here is in mm on
paper along one axis, except what is said to be of the real thing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from rigmodel.drawing.lettering import text_width
from rigmodel.drawing.paint import ARROW_MM, TAIL_MM
from rigmodel.drawing.primitives import LETTER_MM, Balloon, Dimension, Ordinate, Point
from rigmodel.units import Unit, format_setting

FIRST_MM = 8.0  # from the view to the first dimension line
STEP_MM = 7.0  # from line to line
_AIR = 1.2
_WIDE_MM, _CLOSE_MM = 1.7 * LETTER_MM, 1.32 * LETTER_MM  # from ordinate to ordinate
RING_MM = 6.8  # from ring to ring
_SLIDES, _SLIDE_MM = 8, 4.0  # a number may slide this often and far along its line


class Side(Enum):
    """Side of a view: whether it is measured along v, and which way the lines grow."""

    ABOVE = (False, 1)
    BELOW = (False, -1)
    LEFT = (True, -1)
    RIGHT = (True, 1)


@dataclass(frozen=True)
class Span:
    """A distance to be dimensioned, in mm of the real thing.

    Attributes:
        start: first feature (u, v).
        end: second feature (u, v).
        text: what is printed; `<>` is the number.
    """

    start: Point
    end: Point
    text: str = "<>"


@dataclass(frozen=True)
class _Place:
    """One dimension along its axis on paper."""

    low: float
    high: float
    words_low: float
    words_high: float
    outside: bool

    @property
    def reach(self) -> tuple[float, float]:
        """All of the line, text included."""
        tail = TAIL_MM if self.outside else 0.0
        return min(self.low - tail, self.words_low), max(self.high + tail, self.words_high)


def _places(low: float, high: float, width: float) -> list[_Place]:
    """Where the number may stand, best first: between the arrows, or outside on either side."""
    found = []
    spare = (high - low - width - _AIR) / 2.0
    if spare >= 0.0:
        outside = spare < ARROW_MM
        for share in (0.0, -0.5, 0.5, -1.0, 1.0):
            start = (low + high - width) / 2.0 + share * max(0.0, spare - ARROW_MM)
            found.append(_Place(low, high, start, start + width, outside))
    for step in range(_SLIDES):
        off = ARROW_MM + _AIR + step * _SLIDE_MM
        found.append(_Place(low, high, high + off, high + off + width, True))
        found.append(_Place(low, high, low - off - width, low - off, True))
    return found


def _apart(a: tuple[float, float], b: tuple[float, float], air: float) -> bool:
    return a[1] + air <= b[0] or b[1] + air <= a[0]


@dataclass
class _Tier:
    places: list[_Place]

    def takes(self, place: _Place) -> bool:
        """Whether a dimension fits on this line; two of them may share an end."""
        for other in self.places:
            words, others = (
                (place.words_low, place.words_high),
                (other.words_low, other.words_high),
            )
            if not _apart((place.low, place.high), (other.low, other.high), -0.05):
                return False
            if not (
                _apart(words, others, _AIR)
                and _apart(words, (other.low, other.high), -0.05)
                and _apart(others, (place.low, place.high), -0.05)
            ):
                return False
            if (place.outside or other.outside) and not _apart(place.reach, other.reach, 0.0):
                return False
        return True


def tiered(
    spans: Iterable[Span], side: Side, edge: float, scale: int, unit: Unit, skipped: int = 0
) -> tuple[Dimension, ...]:
    """Dimensions of the spans on one side of a view.

    Args:
        spans: what is to be dimensioned; spans of no length are left out.
        side: which side of the view.
        edge: where the view ends on that side, mm of the real thing.
        scale: n of 1:n.
        unit: unit of the numbers.
        skipped: how many lines next to the view are taken already.
    """
    upright, way = side.value
    i = 1 if upright else 0
    listed = [s for s in spans if abs(s.end[i] - s.start[i]) > 1e-6]
    listed.sort(key=lambda s: round(abs(s.end[i] - s.start[i]), 3))
    tiers = [_Tier([]) for _ in range(len(listed))]
    found = []
    for k, span in enumerate(listed):
        low, high = sorted((span.start[i] / scale, span.end[i] / scale))
        number = format_setting(abs(span.end[i] - span.start[i]), unit)
        width = text_width(span.text.replace("<>", number), LETTER_MM)
        outer = [s.start[i] / scale for s in listed[k + 1 :]]
        outer += [s.end[i] / scale for s in listed[k + 1 :]]
        tier, place = _first(tiers, _places(low, high, width), outer)
        if tier == len(tiers):
            tiers.append(_Tier([]))
        tiers[tier].places.append(place)
        out = FIRST_MM + STEP_MM * (tier + skipped)
        found.append(
            Dimension(
                span.start,
                span.end,
                upright,
                edge + way * out * scale,
                span.text,
                number,
                (place.words_low + place.words_high) / 2.0 * scale,
                place.outside,
            )
        )
    return tuple(found)


def _first(
    tiers: Sequence[_Tier], places: Sequence[_Place], outer: Sequence[float]
) -> tuple[int, _Place]:
    """The innermost line that takes the dimension, its number clear of outer extension lines.

    Where nothing is clear of every line, lines may cross numbers, but numbers never meet.
    """
    clear = [
        p for p in places if not any(p.words_low - 0.4 < c < p.words_high + 0.4 for c in outer)
    ]
    for wanted, crossing in ((clear, False), (places, False), (clear, True), (places, True)):
        for number, tier in enumerate(tiers):
            for place in wanted:
                if tier.takes(place) and (crossing or _through(tiers[:number], place)):
                    return number, place
    return len(tiers), places[0]


def _through(inner: Sequence[_Tier], place: _Place) -> bool:
    """Whether the extension lines miss the numbers on the lines inside."""
    words = [(p.words_low, p.words_high) for tier in inner for p in tier.places]
    return not any(
        low - 0.3 < end < high + 0.3 for end in (place.low, place.high) for low, high in words
    )


def grouped(spans: Sequence[Span], upright: bool) -> tuple[Span, ...]:
    """Spans of the same length shown once, with how many there are."""
    i = 1 if upright else 0
    groups: dict[float, list[Span]] = {}
    for span in spans:
        groups.setdefault(round(abs(span.end[i] - span.start[i]), 1), []).append(span)
    return tuple(
        Span(
            same[0].start,
            same[0].end,
            f"{len(same)}× {same[0].text}" if len(same) > 1 else same[0].text,
        )
        for same in groups.values()
    )


def spread(wanted: Sequence[float], gap: float) -> list[float]:
    """Places in the order of `wanted`, at least `gap` apart and no farther off than need be.

    Args:
        wanted: ascending places.
        gap: least distance between neighbours.
    """
    blocks: list[list[float]] = []  # sum of (wanted - offset), count
    for k, place in enumerate(wanted):
        blocks.append([place - k * gap, 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            total, count = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += count
    base = [total / count for total, count in blocks for _ in range(int(count))]
    return [start + k * gap for k, start in enumerate(base)]


def ring_rows(count: int, room: float) -> int:
    """How many rows of numbered rings it takes to keep within a width, mm on paper."""
    return max(1, math.ceil(count * RING_MM / room))


def rings(
    targets: Sequence[Point], line: float, way: int, room: float, scale: int
) -> tuple[Balloon, ...]:
    """Numbered rings, from 1, beside a view and pointing at what they number.

    Args:
        targets: what is numbered (u, v), ascending along u, mm of the real thing.
        line: v of the row of rings next to the view, mm of the real thing.
        way: 1 if further rows stand over it, -1 if under it.
        room: width to keep within, mm on paper.
        scale: n of 1:n.
    """
    rows = ring_rows(len(targets), room)
    gap = RING_MM / rows if rows == 1 else (RING_MM + 1.2) / rows
    places = spread([u / scale for u, _ in targets], gap)
    return tuple(
        Balloon(str(k + 1), (place * scale, line + way * (k % rows) * STEP_MM * scale), target)
        for k, (place, target) in enumerate(zip(places, targets, strict=True))
    )


def ordinates(
    features: Iterable[Point],
    origin: Point,
    side: Side,
    edge: float,
    scale: int,
    unit: Unit,
    room: float,
) -> tuple[Ordinate, ...]:
    """Running dimensions of features along u from a common zero, above or below a view.

    Args:
        features: what is to be dimensioned (u, v), mm of the real thing.
        origin: the common zero.
        side: ABOVE or BELOW.
        edge: where the view ends on that side, mm of the real thing.
        scale: n of 1:n.
        unit: unit of the numbers.
        room: width to keep within, mm on paper; where it cannot take all, some are left out.
    """
    way = side.value[1]
    listed = sorted(set(features))
    listed = listed[:: math.ceil(max(len(listed), 1) * _CLOSE_MM / room)]
    gap = min(_WIDE_MM, room / max(len(listed), 1))
    feet = spread([u / scale for u, _ in listed], gap)
    return tuple(
        Ordinate(
            feature,
            origin,
            (edge + way * 1.5 * scale, edge + way * 5.0 * scale),
            (foot * scale, edge + way * 7.0 * scale),
            format_setting(abs(feature[0] - origin[0]), unit),
        )
        for feature, foot in zip(listed, feet, strict=True)
    )
