"""Cuts pieces from stock lengths so that the least stock is bought. All lengths mm.

One-dimensional cutting stock by patterns: every way to fill one length of stock that leaves no
room for another piece is a column, and an exact integer program (HiGHS through
`scipy.optimize.milp`) takes the columns whose stock adds up to the least.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

MAX_PATTERNS = 20_000
MAX_TRIES = 200_000
TIME_LIMIT_S = 20.0
_SLACK = 1e-6

Counts = tuple[int, ...]


@dataclass(frozen=True)
class Piece:
    """Pieces of one length.

    Attributes:
        length: of each.
        lead: from its end to its first hole, for perforated stock, else 0.
        labels: one for each piece.
    """

    length: float
    lead: float
    labels: tuple[str, ...]


@dataclass(frozen=True)
class Stock:
    """What pieces are cut from.

    Attributes:
        lengths: lengths it is sold in, as many of each as wanted.
        kerf: width of a saw cut.
        pitch: hole to hole, or 0 for plain stock.
        lead: from a stock length's end to its first hole.
    """

    lengths: tuple[float, ...]
    kerf: float
    pitch: float = 0.0
    lead: float = 0.0


@dataclass(frozen=True)
class Cut:
    """One piece on a length of stock; `start` is measured from that stock's end."""

    label: str
    start: float
    length: float


@dataclass(frozen=True)
class Stick:
    """One length of stock.

    Attributes:
        length: of the stock.
        cuts: pieces in the order they are cut.
        remnant: what is left at its end after the last cut.
    """

    length: float
    cuts: tuple[Cut, ...]
    remnant: float


@dataclass(frozen=True)
class Nesting:
    """All pieces on their stock.

    Attributes:
        sticks: the lengths to buy, longest first.
        too_long: labels of pieces that no stock length holds.
        least: whether no other plan takes less stock; False where there were too many patterns to
            try them all.
    """

    sticks: tuple[Stick, ...]
    too_long: tuple[str, ...]
    least: bool

    @property
    def bought(self) -> float:
        """Length of all stock."""
        return sum(stick.length for stick in self.sticks)


def nest(pieces: Sequence[Piece], stock: Stock) -> Nesting:
    """The plan that takes the least stock, and among those the fewest lengths of it.

    Raises:
        ValueError: a length is not above 0, the kerf is below 0, or no stock length is given.
    """
    _check(pieces, stock)
    longest = max(stock.lengths)
    short = [p for p in pieces if p.labels and _room(stock, [p], (1,)) <= longest + _SLACK]
    short.sort(key=lambda p: (-p.length, p.lead))
    too_long = tuple(label for p in pieces if p not in short for label in p.labels)
    if not short:
        return Nesting((), too_long, least=True)
    columns = _columns(short, stock)
    plan = None if columns is None else _least(short, columns)
    if plan is None:
        return Nesting(_laid(short, stock, _first_fit(short, stock)), too_long, least=False)
    return Nesting(_laid(short, stock, plan), too_long, least=True)


def _check(pieces: Sequence[Piece], stock: Stock) -> None:
    if not stock.lengths:
        raise ValueError("at least one stock length is needed")
    for value in (*stock.lengths, *(piece.length for piece in pieces)):
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"a length must be above 0, not {value!r}")
    if not (math.isfinite(stock.kerf) and stock.kerf >= 0.0):
        raise ValueError(f"the kerf must not be below 0, not {stock.kerf!r}")


def _shift(stock: Stock, piece: Piece) -> float:
    """How far into its first pitch a piece begins, so that its holes are the stock's."""
    return (stock.lead - piece.lead) % stock.pitch if stock.pitch else 0.0


def _step(stock: Stock, piece: Piece) -> float:
    """Stock from where a piece may begin to where the next may; whole pitches if it has holes."""
    taken = _shift(stock, piece) + piece.length + stock.kerf
    if not stock.pitch:
        return taken
    return math.ceil(taken / stock.pitch - _SLACK) * stock.pitch


def _tail(stock: Stock, piece: Piece) -> float:
    """What a piece does not need of its step when it is the last on its stock."""
    return _step(stock, piece) - _shift(stock, piece) - piece.length


def _room(stock: Stock, pieces: Sequence[Piece], counts: Counts) -> float:
    """Length of stock that some pieces need, with the one that saves most at the end."""
    used = [(p, n) for p, n in zip(pieces, counts, strict=True) if n]
    tail = max((_tail(stock, p) for p, _ in used), default=0.0)
    return sum(n * _step(stock, p) for p, n in used) - tail


def _columns(pieces: Sequence[Piece], stock: Stock) -> list[tuple[float, Counts]] | None:
    """Every pattern that leaves no room for one more piece; None if there are too many."""
    found: list[tuple[float, Counts]] = []
    most = [len(piece.labels) for piece in pieces]
    for length in dict.fromkeys(sorted(stock.lengths, reverse=True)):
        patterns = _patterns(pieces, stock, length, most)
        if patterns is None or len(found) + len(patterns) > MAX_PATTERNS:
            return None
        found += [(length, counts) for counts in patterns]
    return found


def _patterns(
    pieces: Sequence[Piece], stock: Stock, length: float, most: Sequence[int]
) -> list[Counts] | None:
    """The full patterns of one stock length, by depth-first search; None if there are too many."""
    found: list[Counts] = []
    counts = [0] * len(pieces)
    tries = 0

    def fits() -> bool:
        nonlocal tries
        tries += 1
        return _room(stock, pieces, tuple(counts)) <= length + _SLACK

    def is_full() -> bool:
        for i, limit in enumerate(most):
            if counts[i] < limit:
                counts[i] += 1
                room = fits()
                counts[i] -= 1
                if room:
                    return False
        return True

    def fill(i: int) -> None:
        if tries > MAX_TRIES:
            return
        if i == len(pieces):
            if any(counts) and is_full():
                found.append(tuple(counts))
            return
        top = 0
        while top < most[i]:
            counts[i] = top + 1
            if not fits():
                break
            top += 1
        for n in range(top, -1, -1):
            counts[i] = n
            fill(i + 1)
        counts[i] = 0

    fill(0)
    return None if tries > MAX_TRIES else found


def _least(
    pieces: Sequence[Piece], columns: Sequence[tuple[float, Counts]]
) -> list[tuple[float, Counts]] | None:
    """The columns, each as often as it is taken, whose stock is least; None if not proven so."""
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415

    lengths = np.array([length for length, _ in columns]) / 1000.0
    made = np.array([counts for _, counts in columns], dtype=float).T
    wanted = np.array([len(piece.labels) for piece in pieces], dtype=float)
    enough = LinearConstraint(made, wanted, np.inf)
    whole, bounds = np.ones(len(columns)), Bounds(0.0, float(wanted.sum()))
    options = {"mip_rel_gap": 0.0, "time_limit": TIME_LIMIT_S}
    first = milp(lengths, integrality=whole, bounds=bounds, constraints=[enough], options=options)
    if first.status != 0 or first.x is None:
        return None
    least = LinearConstraint(lengths[np.newaxis, :], 0.0, lengths @ np.round(first.x) + 1e-6)
    fewest = milp(
        np.ones(len(columns)),
        integrality=whole,
        bounds=bounds,
        constraints=[enough, least],
        options=options,
    )
    taken = first.x if fewest.x is None else fewest.x
    return [
        column
        for column, n in zip(columns, np.round(taken).astype(int), strict=True)
        for _ in range(n)
    ]


def _first_fit(pieces: Sequence[Piece], stock: Stock) -> list[tuple[float, Counts]]:
    """A plan by putting each piece, longest first, where there is room; not always the least."""
    longest, bins = max(stock.lengths), list[list[int]]()
    for i, piece in enumerate(pieces):
        for _ in piece.labels:
            for counts in bins:
                counts[i] += 1
                if _room(stock, pieces, tuple(counts)) <= longest + _SLACK:
                    break
                counts[i] -= 1
            else:
                counts = [0] * len(pieces)
                counts[i] = 1
                bins.append(counts)
    plan = []
    for counts in bins:
        room = _room(stock, pieces, tuple(counts))
        plan.append((min(s for s in stock.lengths if s >= room - _SLACK), tuple(counts)))
    return plan


def _laid(
    pieces: Sequence[Piece], stock: Stock, plan: Sequence[tuple[float, Counts]]
) -> tuple[Stick, ...]:
    """Gives every piece its place; a plan that makes too many of one leaves the rest uncut."""
    waiting = [list(piece.labels) for piece in pieces]
    full = Counter(plan)
    sticks = []
    for length, counts in sorted(full.elements(), key=lambda entry: (-entry[0], entry[1])):
        chosen = []
        for i, n in enumerate(counts):
            chosen += [(pieces[i], label) for label in waiting[i][:n]]
            del waiting[i][:n]
        if chosen:
            sticks.append(_stick(stock, length, chosen))
    return tuple(sticks)


def _stick(stock: Stock, length: float, chosen: list[tuple[Piece, str]]) -> Stick:
    last = max(range(len(chosen)), key=lambda i: (round(_tail(stock, chosen[i][0]), 6), i))
    ordered = [*chosen[:last], *chosen[last + 1 :], chosen[last]]
    cuts, at = [], 0.0
    for piece, label in ordered:
        cuts.append(Cut(label, at + _shift(stock, piece), piece.length))
        at += _step(stock, piece)
    end = cuts[-1].start + cuts[-1].length
    return Stick(length, tuple(cuts), max(length - end - stock.kerf, 0.0))
