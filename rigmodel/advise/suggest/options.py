"""What there is to choose from: for each row and each strip, exactly one option."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.patterns import Hung, Pattern, Segment, Set
from rigmodel.advise.suggest.variants import Fitted, Kind, Variant


class Key(NamedTuple):
    """What tells one hung thing from another in a clash.

    Attributes:
        fitted: what hangs there.
        mirrored: whether it is mirrored; a pair of wheels is its own mirror image.
        centre: its middle, mm left of the tractor's centre, to a hundredth.
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


@dataclass(frozen=True)
class Piece:
    """One station's worth of steel: a pair of wheels at a row, or one hoe.

    Attributes:
        variant: what it is.
        how: how its place is written; None for wheels at their row.
        mirrored: whether it is mirrored.
        centre: its middle, or its row, mm left of the tractor's centre.
    """

    variant: Variant
    how: Set | None
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
        if v.fitted.kind is Kind.WHEELS:
            out = v.tool_at + v.clamp_at
            middles: tuple[float, ...] = (self.centre + out, self.centre - out)
        else:
            middles = (self.centre + (-1.0 if self.mirrored else 1.0) * v.clamp_at,)
        return tuple(Clamp(m, v.clamp_width, v.spanner, v.nut_inset) for m in middles)

    @property
    def count(self) -> int:
        """How many of its variant it takes."""
        return 2 if self.variant.fitted.kind is Kind.WHEELS else 1


@dataclass(frozen=True)
class Option:
    """One way to fill one group.

    Attributes:
        pieces: what it hangs on the bar.
        missed: soil missed, mm in all.
        doubled: soil worked twice, mm in all.
    """

    pieces: tuple[Piece, ...]
    missed: float = 0.0
    doubled: float = 0.0

    @cached_property
    def parts(self) -> Mapping[str, int]:
        """Catalogue parts it takes, counted."""
        counts: Counter[str] = Counter()
        for piece in self.pieces:
            for part, count in piece.variant.parts:
                counts[part] += count * piece.count
        return counts

    @property
    def ranks(self) -> frozenset[float]:
        """Ranks it stands on."""
        return frozenset(piece.variant.fitted.rank for piece in self.pieces)

    @cached_property
    def costs(self) -> Mapping[Objective, float]:
        """What it adds to each objective that adds up: mm, pieces, kg."""
        return {
            Objective.MISSED: self.missed,
            Objective.PARTS: float(sum(self.parts.values())),
            Objective.BEHIND: sum(p.variant.behind_kg * p.count for p in self.pieces),
        }

    @cached_property
    def form(self) -> tuple[tuple[str, tuple[tuple[str, str], ...], float], ...]:
        """Its tools and ranks, whatever their hands and places."""
        return tuple(
            sorted(
                (p.variant.fitted.use, p.variant.fitted.swap, p.variant.fitted.rank)
                for p in self.pieces
            )
        )


@dataclass(frozen=True)
class Group:
    """A row or a strip, and all options for it."""

    name: str
    options: tuple[Option, ...] = field(repr=False)


def row_group(row: int, y_mm: float, wheels: Sequence[Variant]) -> Group:
    """A crop row with every pair of wheels that could stand there."""
    options = tuple(Option((Piece(v, None, False, y_mm),)) for v in wheels)
    return Group(f"row{row + 1}", options)


def strip_group(segment: Segment, patterns: Sequence[Pattern]) -> Group:
    """A strip with every row of hoes that could work it."""
    return Group(
        segment.name,
        tuple(Option(tuple(_piece(h) for h in p.hoes), p.missed, p.doubled) for p in patterns),
    )


def _piece(hung: Hung) -> Piece:
    return Piece(hung.variant, hung.how, hung.mirrored, hung.centre)
