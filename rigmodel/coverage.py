"""Which strips of soil are worked, missed or worked twice. All positions are mm, left positive."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Strip = tuple[float, float]
SLIVER_MM = 0.5  # strips thinner than this are rounding, not soil


def merged(strips: Iterable[Strip]) -> tuple[Strip, ...]:
    """The union of strips as disjoint strips, from right to left across (rising y)."""
    found: list[list[float]] = []
    for low, high in sorted(strips):
        if high <= low:
            continue
        if found and low <= found[-1][1]:
            found[-1][1] = max(found[-1][1], high)
        else:
            found.append([low, high])
    return tuple((low, high) for low, high in found)


def without(strips: Iterable[Strip], taken: Iterable[Strip]) -> tuple[Strip, ...]:
    """What is left of strips when others are taken out of them."""
    left = list(merged(strips))
    for low, high in merged(taken):
        cut: list[Strip] = []
        for a, b in left:
            if high <= a or low >= b:
                cut.append((a, b))
                continue
            if a < low:
                cut.append((a, low))
            if high < b:
                cut.append((high, b))
        left = cut
    return tuple(left)


def twice(strips: Sequence[Strip]) -> tuple[Strip, ...]:
    """Where two or more of the strips lie over each other."""
    events = sorted(
        [(low, 1) for low, high in strips if high > low]
        + [(high, -1) for low, high in strips if high > low]
    )
    found: list[Strip] = []
    depth, start = 0, 0.0
    for place, step in events:
        if depth >= 2 and place > start:
            found.append((start, place))
        depth += step
        start = place
    return merged(found)


def width(strips: Iterable[Strip]) -> float:
    """Total width of disjoint strips, mm."""
    return sum(high - low for low, high in strips)


@dataclass(frozen=True)
class Coverage:
    """Strips across the bed, each list disjoint and of rising y.

    Attributes:
        field: the strip that the pass is meant to work.
        bands: the keep-out bands of the rows.
        worked: worked by hoes.
        missed: inside the field, outside the bands, not worked.
        doubled: worked by two hoes or more.
    """

    field: Strip
    bands: tuple[Strip, ...]
    worked: tuple[Strip, ...]
    missed: tuple[Strip, ...]
    doubled: tuple[Strip, ...]

    @property
    def widest_missed(self) -> float:
        """Width of the widest missed strip, mm."""
        return max((high - low for low, high in self.missed), default=0.0)

    @property
    def widest_doubled(self) -> float:
        """Width of the widest strip worked twice, mm."""
        return max((high - low for low, high in self.doubled), default=0.0)


def cover(field: Strip, bands: Sequence[Strip], tools: Sequence[Strip]) -> Coverage:
    """Strips of a field with keep-out bands, worked by tools of given strips."""
    return Coverage(
        field=field,
        bands=merged(bands),
        worked=merged(tools),
        missed=tuple(
            strip for strip in without([field], [*bands, *tools]) if strip[1] - strip[0] > SLIVER_MM
        ),
        doubled=tuple(s for s in twice(tools) if s[1] - s[0] > SLIVER_MM),
    )


def field_strip(rows: Sequence[float], bed_half: float | None, tools: Sequence[Strip]) -> Strip:
    """The strip one pass is meant to work.

    The bed's top where there is a bed; else half a row spacing beyond the outer rows, where the
    next pass takes over; for a single row on the flat, as far as the tools reach.

    Args:
        rows: row positions.
        bed_half: half-width of the bed's top, or None on the flat.
        tools: strips the tools work.
    """
    low, high = min(rows), max(rows)
    if bed_half is not None:
        middle = (low + high) / 2.0
        return (middle - bed_half, middle + bed_half)
    if len(rows) > 1:
        ordered = sorted(rows)
        return (low - (ordered[1] - low) / 2.0, high + (high - ordered[-2]) / 2.0)
    return (min([low, *(t[0] for t in tools)]), max([high, *(t[1] for t in tools)]))
