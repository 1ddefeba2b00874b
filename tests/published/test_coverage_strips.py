"""Strips of soil: worked figures of the trade and an independent geometry library (shapely)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString
from shapely.ops import unary_union

from rigmodel.coverage import SLIVER_MM, Strip, cover, field_strip, merged, twice, width, without

INCH = 25.4


def on_centres(centres: list[float], tool: float) -> list[Strip]:
    return [((c - tool / 2) * INCH, (c + tool / 2) * INCH) for c in centres]


def test_narrow_points_on_wide_centres_miss_soil() -> None:
    # Arithmetic: points 2 3/4 in wide on 6 in centres leave 6 - 2 3/4 = 3 1/4 in.
    tools = on_centres([0.0, 6.0, 12.0], 2.75)
    found = cover((0.0, 12.0 * INCH), [], tools)
    assert [round((b - a) / INCH, 9) for a, b in found.missed] == [3.25, 3.25]


def test_wide_points_on_the_same_centres_overlap() -> None:
    # Arithmetic: 7 in tools on 6 in centres lie 1 in over each other.
    found = cover((0.0, 12.0 * INCH), [], on_centres([0.0, 6.0, 12.0], 7.0))
    assert found.missed == ()
    assert [round((b - a) / INCH, 9) for a, b in found.doubled] == [1.0, 1.0]


def test_two_blades_overlapped_cover_what_they_should() -> None:
    # Arithmetic: two 6 in blades overlapped by 1 in cover 11 in.
    tools = on_centres([3.0, 8.0], 6.0)
    assert width(merged(tools)) / INCH == pytest.approx(11.0, abs=1e-12)
    assert width(twice(tools)) / INCH == pytest.approx(1.0, abs=1e-12)


def test_field_reaches_half_a_spacing_past_the_outer_rows() -> None:
    assert field_strip([-381.0, 0.0, 381.0], None, []) == (-571.5, 571.5)
    assert field_strip([-381.0, 0.0, 381.0], 600.0, []) == (-600.0, 600.0)
    assert field_strip([10.0], None, [(-90.0, -5.0), (20.0, 100.0)]) == (-90.0, 100.0)


places = st.integers(-2000, 2000).map(float)
strips = st.lists(st.tuples(places, places).map(lambda p: (min(p), max(p))), max_size=12)


def lines(found: list[Strip] | tuple[Strip, ...]) -> LineString:
    return unary_union([LineString([(a, 0.0), (b, 0.0)]) for a, b in found if b > a])


@given(strips, strips)
def test_strips_against_shapely(one: list[Strip], other: list[Strip]) -> None:
    union = lines(one)
    assert width(merged(one)) == pytest.approx(union.length, abs=1e-9)
    assert width(without(one, other)) == pytest.approx(
        union.difference(lines(other)).length, abs=1e-9
    )


@given(strips)
def test_twice_against_shapely(tools: list[Strip]) -> None:
    pairs = [
        lines([a]).intersection(lines([b]))
        for i, a in enumerate(tools)
        for b in tools[i + 1 :]
        if a[1] > a[0] and b[1] > b[0]
    ]
    assert width(twice(tools)) == pytest.approx(unary_union(pairs).length, abs=1e-9)


@given(strips, strips)
def test_every_strip_of_the_field_is_accounted_for(bands: list[Strip], tools: list[Strip]) -> None:
    found = cover((-2000.0, 2000.0), bands, tools)
    told = width(merged([*found.bands, *found.worked, *found.missed]))
    inside = width(merged([*bands, *tools, (-2000.0, 2000.0)]))
    assert inside - told <= SLIVER_MM * (len(bands) + len(tools) + 1)


@given(strips, st.integers(-500, 500))
def test_moving_everything_moves_the_answer(tools: list[Strip], by: int) -> None:
    moved = [(a + by, b + by) for a, b in tools]
    assert twice(moved) == tuple((a + by, b + by) for a, b in twice(tools))


@given(strips)
def test_mirrored_tools_give_mirrored_strips(tools: list[Strip]) -> None:
    mirrored = [(-b, -a) for a, b in tools]
    assert twice(mirrored) == tuple((-b, -a) for a, b in reversed(twice(tools)))
