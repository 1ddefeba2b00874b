"""Dimensions beside a view: they measure right, and no number meets another."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.drawing.paint import Letters, Onto, paint
from rigmodel.drawing.sheet import Box
from rigmodel.drawing.tiers import Side, Span, grouped, ordinates, spread, tiered
from rigmodel.units import Unit, format_setting

_places = st.floats(-2000.0, 2000.0, allow_nan=False)


def _numbers(items: object, scale: int) -> list[Box]:
    onto = Onto(1.0 / scale, (0.0, 0.0))
    marks = [mark for item in items for mark in paint(item, onto)]  # type: ignore[attr-defined]
    return [mark.box for mark in marks if isinstance(mark, Letters)]


@given(
    st.lists(st.tuples(_places, _places), max_size=12),
    st.sampled_from(list(Side)),
    st.sampled_from([2, 10, 50]),
)
def test_numbers_never_meet_and_measure_their_span(
    ends: list[tuple[float, float]], side: Side, scale: int
) -> None:
    upright = side.value[0]
    spans = [Span((0.0, a), (0.0, b)) if upright else Span((a, 0.0), (b, 0.0)) for a, b in ends]
    found = tiered(spans, side, 0.0, scale, Unit.MM)
    asked = sorted(abs(b - a) for a, b in ends if abs(b - a) > 1e-6)
    assert sorted(d.measured_mm for d in found) == pytest.approx(asked)
    for dimension in found:
        assert dimension.printed == format_setting(dimension.measured_mm, Unit.MM)
    for one, other in combinations(_numbers(found, scale), 2):
        assert not one.overlaps(other)


@pytest.mark.parametrize("side", list(Side))
def test_dimension_lines_stand_outside_the_view(side: Side) -> None:
    upright, way = side.value
    ends = ((0.0, 0.0), (0.0, 300.0) if upright else (300.0, 0.0))
    (found,) = tiered([Span(*ends)], side, way * 40.0, 5, Unit.MM)
    assert found.line * way > 40.0
    assert found.upright is upright


def test_a_chain_stands_on_one_line_and_the_whole_outside_it() -> None:
    spans = [Span((a, 0.0), (b, 0.0)) for a, b in ((0.0, 300.0), (300.0, 600.0), (0.0, 600.0))]
    one, two, whole = tiered(spans, Side.BELOW, 0.0, 10, Unit.MM)
    assert one.line == two.line
    assert whole.line < one.line


def test_equal_spans_are_shown_once_with_their_number() -> None:
    spans = [Span((k * 10.0, 0.0), (k * 10.0 + 5.0, 0.0), "gap <>") for k in range(3)]
    spans.append(Span((0.0, 0.0), (8.0, 0.0)))
    assert [span.text for span in grouped(spans, upright=False)] == ["3× gap <>", "<>"]


@given(st.lists(_places, min_size=1, max_size=20).map(sorted), st.floats(0.1, 50.0))
def test_spread_keeps_order_and_gap(wanted: list[float], gap: float) -> None:
    found = spread(wanted, gap)
    assert all(b - a >= gap - 1e-6 for a, b in pairwise(found))
    assert sum(found) == pytest.approx(sum(wanted), abs=1e-5)  # least squares leaves the middle
    if all(b - a >= gap for a, b in pairwise(wanted)):
        assert found == pytest.approx(wanted)


@given(st.lists(_places, min_size=1, max_size=20), st.sampled_from([Side.ABOVE, Side.BELOW]))
def test_ordinates_measure_from_their_zero_and_do_not_meet(us: list[float], side: Side) -> None:
    zero = (100.0, 0.0)
    found = ordinates([(u, 0.0) for u in us], zero, side, 0.0, 10, Unit.IN, 300.0)
    assert {o.feature[0] for o in found} == set(us)
    for ordinate in found:
        assert ordinate.measured_mm == abs(ordinate.feature[0] - 100.0)
        assert ordinate.number == format_setting(ordinate.measured_mm, Unit.IN)
    for one, other in combinations(_numbers(found, 10), 2):
        assert not one.overlaps(other)
