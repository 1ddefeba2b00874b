"""The strips of soil to be worked, and rows of hoes that work them.

Positions are mm left of the tractor's centre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations_with_replacement, pairwise

from rigmodel.advise.suggest.pieces import Piece
from rigmodel.coverage import field_strip
from rigmodel.spec.scene import SceneSpec


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
        rows: indices of the rows beside it, from the left.
    """

    name: str
    side: Side
    number: int
    low: float
    high: float
    rows: tuple[int, ...] = ()

    @property
    def width(self) -> float:
        """Width of the strip, mm."""
        return self.high - self.low


@dataclass(frozen=True)
class Pattern:
    """Hoes that work one strip, from left to right.

    Attributes:
        hoes: the hoes; none where the strip is so narrow that it may be left.
        missed: soil missed in the strip, mm in all.
        doubled: soil worked twice, mm in all.
    """

    hoes: tuple[Piece, ...]
    missed: float
    doubled: float


def segments(spec: SceneSpec) -> tuple[Segment, ...]:
    """The strips to be worked, from left to right."""
    rows, keep = spec.rows.places, spec.rows.keep_out
    half = spec.soil.top_width / 2.0 if spec.soil.top_width is not None else None
    low, high = field_strip(rows, half, ())
    edge, last = rows[0] + keep, len(rows) - 1
    found = [Segment("outside.left", Side.LEFT, 0, edge, max(high, edge), (0,))]
    for i, (left, right) in enumerate(pairwise(rows)):
        name = f"gap{i + 1}"
        found.append(Segment(name, Side.GAP, i + 1, right + keep, left - keep, (i, i + 1)))
    edge = rows[-1] - keep
    found.append(Segment("outside.right", Side.RIGHT, 0, min(low, edge), edge, (last,)))
    return tuple(found)


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
