"""One thing hung on the bar: a pair of wheels at a row, one hoe, or a point in a wheel track."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.units import Fitted, Kind
from rigmodel.advise.suggest.variants import Variant
from rigmodel.clearance.checks.bar_space import HEAD_OVER_FLATS
from rigmodel.coverage import Strip

REACH_MM = 1e-3


class Set(StrEnum):
    """How a place is written in the scene."""

    ROW = "at its row"
    CENTRE = "centre of the gap"
    LEFT_ROW = "at the band of the row on the left"
    RIGHT_ROW = "at the band of the row on the right"
    OUTSIDE = "outside, at the outer row's band"
    MEASURED = "measured from the bar's centre"
    TRACK = "in the wheel track"


class Key(NamedTuple):
    """What tells one hung thing from another in a clash.

    Attributes:
        fitted: what hangs there.
        mirrored: whether it is mirrored; a pair of wheels is its own mirror image.
        centre: its middle, or its row or track, mm left of the tractor's centre, to a hundredth.
    """

    fitted: Fitted
    mirrored: bool
    centre: float


class Clamp(NamedTuple):
    """A clamp on the bar: middle left of the tractor's centre, width, spanner, nut inset; mm."""

    centre: float
    width: float
    spanner: float
    nut_inset: float

    @property
    def head(self) -> float:
        """How far a spanner's head sticks out past the clamp, mm; negative if it does not."""
        return self.spanner * HEAD_OVER_FLATS / 2.0 - self.nut_inset


@dataclass(frozen=True)
class Piece:
    """One station's worth of steel.

    Attributes:
        variant: what it is.
        how: how its place is written.
        mirrored: whether it is mirrored.
        centre: its middle, or its row or track, mm left of the tractor's centre.
    """

    variant: Variant
    how: Set
    mirrored: bool
    centre: float

    @cached_property
    def key(self) -> Key:
        """What a clash knows it by."""
        return Key(self.variant.fitted, self.mirrored, round(self.centre, 2))

    @cached_property
    def clamps(self) -> tuple[Clamp, ...]:
        """What it takes up on the bar."""
        v = self.variant
        sign = -1.0 if self.mirrored else 1.0
        return tuple(
            Clamp(self.centre + sign * out, v.clamp_width, v.spanner, v.nut_inset)
            for out in v.clamps_at
        )

    @property
    def strip(self) -> Strip:
        """The strip of soil a hoe works."""
        half = self.variant.width / 2.0
        return self.centre - half, self.centre + half

    @property
    def is_pair(self) -> bool:
        """Whether it is a pair of wheels."""
        return self.variant.fitted.kind is Kind.WHEELS


def too_near(one: Clamp, other: Clamp, clamp_gap: float) -> bool:
    """Whether two clamps leave no room for each other or for a spanner (`bar-space`)."""
    gap = abs(one.centre - other.centre) - (one.width + other.width) / 2.0
    return gap < max(clamp_gap, one.head, other.head) - REACH_MM


def fit_together(clamps: Sequence[Clamp], clamp_gap: float) -> bool:
    """Whether some clamps leave each other room; the nearest of a row decide."""
    ordered = sorted(clamps)
    return not any(too_near(one, other, clamp_gap) for one, other in pairwise(ordered))


def on_the_bar(request: Request, clamps: Iterable[Clamp]) -> bool:
    """Whether clamps stay on the bar and off what is kept free."""
    bar = request.scene.spec.toolbar
    for low, high in _reaches(clamps, bar.offset):
        if max(-low, high) > bar.length / 2.0 + REACH_MM:
            return False
        for stretch in bar.no_clamp:
            over = min(high, stretch.high) - max(low, stretch.low)
            if stretch.face != "front" and over > REACH_MM:
                return False
    return True


def _reaches(clamps: Iterable[Clamp], middle: float) -> Iterator[tuple[float, float]]:
    for clamp in clamps:
        at = clamp.centre - middle
        yield at - clamp.width / 2.0, at + clamp.width / 2.0
