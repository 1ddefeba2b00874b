"""What there is to choose from: for each row, strip and track, exactly one option."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.patterns import Pattern, Segment
from rigmodel.advise.suggest.pieces import Piece, Set
from rigmodel.advise.suggest.variants import Variant


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
            counts.update(dict(piece.variant.parts))
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
            Objective.BEHIND: sum(p.variant.behind_kg for p in self.pieces),
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
    """A row, a strip or a track, and all options for it."""

    name: str
    options: tuple[Option, ...] = field(repr=False)


def row_group(row: int, y_mm: float, wheels: Sequence[Variant]) -> Group:
    """A crop row with every pair of wheels that could stand there."""
    options = tuple(Option((Piece(v, Set.ROW, False, y_mm),)) for v in wheels)
    return Group(f"row{row + 1}", options)


def track_group(name: str, y_mm: float, points: Sequence[Variant]) -> Group:
    """A wheel track with every point that could loosen it."""
    options = tuple(Option((Piece(v, Set.TRACK, False, y_mm),)) for v in points)
    return Group(name, options)


def strip_group(segment: Segment, patterns: Sequence[Pattern]) -> Group:
    """A strip with every row of hoes that could work it."""
    return Group(segment.name, tuple(Option(p.hoes, p.missed, p.doubled) for p in patterns))
