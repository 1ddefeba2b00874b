"""The lateral choice of `suggest`, against every combination and another interval cover."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import pairwise, product
from pathlib import Path

import pytest
from shapely.geometry import LineString, MultiLineString
from shapely.ops import unary_union

from rigmodel.advise.suggest.choice import Chooser, Leave
from rigmodel.advise.suggest.conflicts import Conflicts
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.options import Group, Option
from rigmodel.advise.suggest.patterns import Pattern, Segment, Side, segments
from rigmodel.advise.suggest.pieces import Piece, Set
from rigmodel.advise.suggest.reading import load_field
from rigmodel.advise.suggest.request import Request, request_for
from rigmodel.advise.suggest.search import LEVELS, Searcher
from rigmodel.advise.suggest.tiling import PatternMaker
from rigmodel.advise.suggest.units import Fitted, Kind
from rigmodel.advise.suggest.variants import Variant
from rigmodel.clearance.finding import Finding, Verdict

SCENES = Path(__file__).parent.parent.parent / "scenes"
INCH = 25.4


@cache
def request_of(name: str) -> Request:
    return request_for(load_field(SCENES / f"{name}.yaml")[0])


def hoe(width: float, rank: float = 0.0, use: str = "hoe", clamp_at: float = 0.0) -> Variant:
    """A hoe of a made-up form: one of each of two parts."""
    blade = f"blade-{width:g}"
    fitted = Fitted(Kind.HOE, use, (("blade", blade),), blade, rank)
    parts = ((blade, 1), ("clamp", 1))
    return Variant(fitted, width, (clamp_at,), 70.0, 14.0, 14.0, parts, 3.0 + width / 1000.0)


HOES = [hoe(w * INCH, rank) for w in (4, 5, 6, 7, 8, 9, 10) for rank in (0.0, -228.6)]


def missed_by_shapely(segment: Segment, pattern: Pattern) -> list[float]:
    """Lengths of what the hoes leave of the strip."""
    soil = LineString([(segment.low, 0), (segment.high, 0)])
    worked = unary_union([LineString([(h.strip[0], 0), (h.strip[1], 0)]) for h in pattern.hoes])
    left = soil.difference(worked)
    lines = left.geoms if isinstance(left, MultiLineString) else [left]
    return [line.length for line in lines if line.length > 0.5]


@pytest.mark.parametrize("name", ["three-rows-belly", "raised-bed-furrow", "irregular-bed"])
def test_patterns_work_their_strip_within_the_limits(name: str) -> None:
    request = request_of(name)
    maker = PatternMaker(request, HOES)
    seen = 0
    for segment in segments(request.scene.spec):
        for pattern in maker.patterns(segment, 1):
            holes = missed_by_shapely(segment, pattern)
            assert sum(holes) == pytest.approx(pattern.missed, abs=0.6)
            assert max(holes, default=0.0) <= request.scene.spec.limits.missed + 1e-6
            for hung in pattern.hoes:  # no hoe may reach into a band
                assert segment.side is Side.LEFT or hung.strip[1] <= segment.high + 1e-6
                assert segment.side is Side.RIGHT or hung.strip[0] >= segment.low - 1e-6
            seen += 1
    assert seen > 20


@pytest.mark.parametrize("width_in", [4.0, 4.2, 5.7, 9.5, 10.0, 10.4, 12.0, 14.3, 17.0])
def test_fewest_hoes_of_a_gap_by_trying_every_set_of_widths(width_in: float) -> None:
    # A gap of L is worked by hoes of W in all, in n pieces, exactly when n + 1 equal holes are
    # narrow enough, (L - W) / (n + 1) <= m, and one hoe alone is no wider than the gap.
    request = request_of("three-rows-belly")
    missed = request.scene.spec.limits.missed
    gap = width_in * INCH
    segment = Segment("gap1", Side.GAP, 1, -gap / 2.0, gap / 2.0)
    widths = {h.width for h in HOES}

    def works(chosen: tuple[float, ...]) -> bool:
        total = sum(chosen)
        if len(chosen) == 1 and total > gap + 1e-6:
            return False
        return gap - total <= (len(chosen) + 1) * missed + 1e-6

    expected = next(n for n in (1, 2, 3) if any(works(c) for c in product(widths, repeat=n)))
    assert PatternMaker(request, HOES).fewest(segment) == expected


def test_strips_and_bands_fill_the_field() -> None:
    for name in ("three-rows-belly", "irregular-bed", "offset-rows"):
        spec = request_of(name).scene.spec
        strips = segments(spec)
        gaps = [(a.low - b.high) for a, b in pairwise(strips)]
        assert gaps == pytest.approx([2.0 * spec.rows.keep_out] * len(spec.rows.places))


def small_groups() -> tuple[Group, ...]:
    """Three strips with a few hoes each, some of them too near to their neighbours' clamps."""
    groups = []
    for number, middle in enumerate((160.0, 0.0, -160.0)):
        options = []
        for width in (100.0, 120.0, 140.0):
            for rank in (0.0, -200.0):
                for mirrored in (False, True):
                    variant = hoe(width, rank, clamp_at=45.0)
                    piece = Piece(variant, Set.CENTRE, mirrored, middle)
                    options.append(Option((piece,), missed=140.0 - width))
        groups.append(Group(f"gap{number + 1}", tuple(options)))
    return tuple(groups)


def every_choice(request: Request, groups: tuple[Group, ...], gap: float) -> Iterator[list[Option]]:
    """All combinations whose clamps stand `gap` apart and whose parts are in stock."""
    for chosen in product(*(group.options for group in groups)):
        clamps = sorted(c for option in chosen for p in option.pieces for c in p.clamps)
        if any(b.centre - a.centre < 70.0 + gap for a, b in pairwise(clamps)):
            continue
        used: dict[str, int] = {}
        for option in chosen:
            for part, count in option.parts.items():
                used[part] = used.get(part, 0) + count
        stock = request.stock
        short = stock is not None and any(used[p] > stock.get(p, 0) for p in used)
        if not (short and not request.may_buy):
            yield list(chosen)


STOCKS = [
    None,
    {"blade-140": 3, "clamp": 3},
    {"blade-140": 1, "blade-100": 5, "clamp": 3},
    {"blade-120": 2, "blade-100": 1, "clamp": 9},
    {"blade-120": 1, "clamp": 3},
]


@pytest.mark.parametrize("stock", STOCKS)
@pytest.mark.parametrize("objective", [Objective.MISSED, Objective.RANKS, Objective.BEHIND])
def test_the_choice_is_as_good_as_the_best_of_all_combinations(
    stock: dict[str, int] | None, objective: Objective
) -> None:
    scene = request_of("three-rows-belly").scene
    request = Request(scene, stock=stock, may_buy=False)
    groups = small_groups()
    chooser = Chooser(request, groups, Conflicts(flat=True))
    chosen = chooser.choose(objective)

    def score(options: list[Option]) -> float:
        if objective is Objective.RANKS:
            return float(len({rank for option in options for rank in option.ranks}))
        return sum(option.costs[objective] for option in options)

    # The gap is the limit clamp_gap: a spanner of 14 mm does not stick out past a nut inset 14 mm.
    gap = scene.spec.limits.clamp_gap
    scores = [score(options) for options in every_choice(request, groups, gap)]
    assert (chosen is None) == (not scores)
    if chosen is not None:
        found = score(list(chooser.chosen_options(chosen)))
        assert found == pytest.approx(min(scores), abs=1e-3)


def test_fewest_bought_is_what_every_combination_says() -> None:
    scene = request_of("three-rows-belly").scene
    stock = {"blade-120": 1, "blade-100": 1, "clamp": 2}
    request = Request(scene, stock=stock)
    groups = small_groups()
    chooser = Chooser(request, groups, Conflicts(flat=True))
    chosen = chooser.choose(Objective.BOUGHT)
    assert chosen is not None

    def bought(options: list[Option]) -> int:
        used: dict[str, int] = {}
        for option in options:
            for part, count in option.parts.items():
                used[part] = used.get(part, 0) + count
        return sum(max(0, count - stock.get(part, 0)) for part, count in used.items())

    gap = scene.spec.limits.clamp_gap
    least = min(bought(options) for options in every_choice(request, groups, gap))
    assert bought(list(chooser.chosen_options(chosen))) == least == 2


def test_what_is_learned_forbids_the_same_thing_elsewhere_and_mirrored() -> None:
    one = Piece(hoe(120.0), Set.CENTRE, False, 100.0).key
    other = Piece(hoe(100.0), Set.CENTRE, True, 40.0).key
    conflicts = Conflicts(flat=True)
    conflicts.forbid_pair(one, other)

    def moved(by: float, turned: bool) -> bool:
        sign = -1.0 if turned else 1.0
        a = Piece(hoe(120.0), Set.CENTRE, turned, sign * 100.0 + by).key
        b = Piece(hoe(100.0), Set.CENTRE, not turned, sign * 40.0 + by).key
        assert conflicts.clash(a, b) == conflicts.clash(b, a)
        return conflicts.clash(a, b) and list(conflicts.between([a], [b])) == [(a, b)]

    for by, turned in ((0.0, False), (311.0, False), (0.0, True), (-55.5, True)):
        assert moved(by, turned)
    nearer = Piece(hoe(100.0), Set.CENTRE, True, 41.0).key
    assert not conflicts.clash(one, nearer)
    assert list(conflicts.between([one], [nearer])) == []
    bed = Conflicts(flat=False)
    bed.forbid_pair(one, other)
    assert bed.clash(other, one)
    assert not bed.clash(one, other._replace(centre=41.0))


def test_missed_soil_is_held_against_the_choice_and_not_against_the_scene() -> None:
    conflicts = Conflicts(flat=True)
    missed = Finding("coverage", Verdict.FAIL, 12.0, 6.0, "mm", "Soil is missed.")
    tyre = Finding("tyre-fit", Verdict.FAIL, -9.0, 0.0, "mm", "A tyre runs over row1.")
    assert not conflicts.learn([missed], {})
    assert not conflicts.whole
    conflicts.learn([tyre], {})
    assert set(conflicts.whole) == {"tyre-fit"}


def test_leaving_a_requirement_out_can_only_widen_the_choice() -> None:
    request = Request(request_of("three-rows-belly").scene, stock={"clamp": 1}, may_buy=False)
    chooser = Chooser(request, small_groups(), Conflicts(flat=True))
    assert chooser.choose(Objective.PARTS) is None
    assert chooser.choose(Objective.PARTS, leave=Leave(stock=True)) is not None


def test_every_option_of_a_real_scene_was_measured_on_an_assembly() -> None:
    # The 10 in blade between rows 15 in apart with bands of 2 1/2 in each side: 15 - 5 = 10.
    groups = Searcher(request_of("three-rows-belly")).groups(LEVELS[0])
    gap = next(group for group in groups if group.name == "gap1")
    widths = {round(p.variant.width / INCH, 6) for option in gap.options for p in option.pieces}
    assert widths == {10.0}
    assert [g.name for g in groups] == [
        *("row1", "row2", "row3", "outside.left", "gap1", "gap2", "outside.right"),
    ]
