"""The cutting plan against brute force, a published example, and a saw's own geometry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import product
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.shop import cutting
from rigmodel.shop.cutting import Nesting, Piece, Stock, nest


def pieces_of(lengths: Sequence[float], lead: float = 0.0) -> list[Piece]:
    """Pieces of given lengths, equal ones together."""
    counts = Counter(lengths)
    return [
        Piece(length, lead, tuple(f"{length:g}#{i}" for i in range(n)))
        for length, n in counts.items()
    ]


def least_by_force(lengths: Sequence[float], stock: Sequence[float], kerf: float) -> float:
    """Least stock over every way to share pieces out: each piece joins a stick or begins one."""
    longest = max(stock)

    def cost(loads: list[float]) -> float:
        return sum(min(s for s in stock if s >= load - 1e-9) for load in loads)

    def best(i: int, loads: list[float]) -> float:
        if i == len(lengths):
            return cost(loads)
        found = best(i + 1, [*loads, lengths[i]])
        for j, load in enumerate(loads):
            more = load + kerf + lengths[i]
            if more <= longest + 1e-9:
                found = min(found, best(i + 1, [*loads[:j], more, *loads[j + 1 :]]))
        return found

    return best(0, [])


def assert_sawn(nesting: Nesting, pieces: Sequence[Piece], stock: Stock) -> None:
    """Every piece is cut once, none overlap by less than a kerf, and none leaves its stock."""
    cut = [c.label for stick in nesting.sticks for c in stick.cuts]
    wanted = [label for piece in pieces for label in piece.labels]
    assert Counter([*cut, *nesting.too_long]) == Counter(wanted)
    lengths = {label: piece.length for piece in pieces for label in piece.labels}
    for stick in nesting.sticks:
        assert stick.length in stock.lengths
        at = 0.0
        for c in stick.cuts:
            assert c.length == lengths[c.label]
            assert c.start >= at - 1e-6
            at = c.start + c.length + stock.kerf
        end = at - stock.kerf
        assert end <= stick.length + 1e-6
        assert stick.remnant == pytest.approx(max(stick.length - at, 0.0), abs=1e-6)


@settings(max_examples=40)
@given(
    lengths=st.lists(st.sampled_from([300, 410, 508, 700, 1000.5, 1490]), min_size=1, max_size=7),
    stock=st.lists(st.sampled_from([1500, 2000, 3100]), min_size=1, max_size=3, unique=True),
    kerf=st.sampled_from([0.0, 2.0, 12.0]),
)
def test_the_plan_takes_the_least_stock(
    lengths: list[float], stock: list[float], kerf: float
) -> None:
    of, pieces = Stock(tuple(stock), kerf), pieces_of(lengths)
    found = nest(pieces, of)
    assert_sawn(found, pieces, of)
    assert found.least
    assert found.bought == pytest.approx(least_by_force(lengths, stock, kerf))


# Rolls cut from a 5600 mm master: the worked example of the article "Cutting stock problem" in
# Wikipedia (copy: graphsearch.epfl.ch/en/concept/826868), which counts 308 patterns and gives 73
# rolls with 0.401 % waste as the best answer.
ROLLS = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
    2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def test_published_example() -> None:
    lengths = [float(length) for length, n in ROLLS.items() for _ in range(n)]
    assert sum(lengths) == 407_160.0
    stock, pieces = Stock((5600.0,), 0.0), pieces_of(lengths)
    columns = cutting._columns(pieces, stock)
    assert columns is not None
    held = {sub for _, counts in columns for sub in product(*(range(n + 1) for n in counts))}
    assert len(held - {(0,) * len(pieces)}) == 308
    found = nest(pieces, stock)
    assert_sawn(found, pieces, stock)
    assert found.least
    assert len(found.sticks) == 73
    assert 1.0 - sum(lengths) / found.bought == pytest.approx(0.00401, abs=5e-6)


@settings(max_examples=40)
@given(
    lengths=st.lists(st.sampled_from([290.0, 308.0, 410.0, 1000.0]), min_size=1, max_size=8),
    bar=st.sampled_from([0.0, 1700.0, 1725.0]),
    kerf=st.sampled_from([0.0, 2.0, 3.2]),
)
def test_holes_of_every_piece_are_holes_of_its_stock(
    lengths: list[float], bar: float, kerf: float
) -> None:
    """Stock with a hole each 50 mm from 25 mm on; a bar has one of them at its own middle."""
    stock = Stock((6000.0, 2000.0), kerf, 50.0, 25.0)
    pieces = pieces_of(lengths, 25.0)
    if bar:
        pieces.append(Piece(bar, (bar / 2.0) % 50.0, ("bar",)))
    found = nest(pieces, stock)
    assert_sawn(found, pieces, stock)
    assert not found.too_long
    leads = {label: piece.lead for piece in pieces for label in piece.labels}
    for stick in found.sticks:
        for c in stick.cuts:
            off = (c.start + leads[c.label] - 25.0) % 50.0
            assert min(off, 50.0 - off) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("kerf", [0.0, 2.0])
def test_a_piece_as_long_as_its_stock_needs_no_cut(kerf: float) -> None:
    for pitch in (0.0, 50.0):
        pieces = [Piece(6000.0, pitch / 2.0, ("bar",))]
        found = nest(pieces, Stock((6000.0,), kerf, pitch, pitch / 2.0))
        assert [(s.length, s.remnant) for s in found.sticks] == [(6000.0, 0.0)]


def test_pieces_longer_than_all_stock_are_named() -> None:
    pieces = pieces_of([6000.1, 500.0])
    found = nest(pieces, Stock((6000.0,), 2.0))
    assert found.too_long == ("6000.1#0",)
    assert [c.label for s in found.sticks for c in s.cuts] == ["500#0"]
    assert nest(pieces_of([7000.0]), Stock((6000.0,), 2.0)).sticks == ()


def test_the_fewest_lengths_are_bought_where_the_stock_is_the_same() -> None:
    found = nest(pieces_of([1000.0] * 6), Stock((6000.0, 3000.0), 0.0))
    assert [stick.length for stick in found.sticks] == [6000.0]


def test_too_many_patterns_still_make_a_plan() -> None:
    lengths = [300.0 + 7.0 * i for i in range(12)] * 3
    stock, pieces = Stock((6000.0, 2000.0), 2.0), pieces_of(lengths)
    with patch.object(cutting, "MAX_TRIES", 50):
        found = nest(pieces, stock)
    assert not found.least
    assert_sawn(found, pieces, stock)


@pytest.mark.parametrize(
    ("lengths", "stock", "kerf"),
    [
        ([100.0], (), 2.0),
        ([0.0], (6000.0,), 2.0),
        ([1.0], (float("nan"),), 2.0),
        ([1.0], (6.0,), -1.0),
    ],
)
def test_sizes_that_cannot_be_are_refused(
    lengths: list[float], stock: tuple[float, ...], kerf: float
) -> None:
    with pytest.raises(ValueError, match=r"must|needed"):
        nest(pieces_of(lengths), Stock(stock, kerf))
