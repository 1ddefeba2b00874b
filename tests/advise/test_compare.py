"""From one rig to another with the fewest clamps loosened."""

from __future__ import annotations

import itertools
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.advise.compare import ClampStep, Comparison, Deed, Other, compare
from rigmodel.advise.compare_text import comparison_json, comparison_text
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.spec.load import scene_from_text
from rigmodel.units import Unit

INCH = 25.4
SECTIONS = {
    "name": "a rig",
    "units": "in",
    "rows": "{count: 1, keep_out: 2 1/2}",
    "tractor": "{use: small-belly}",
    "toolbar": "{tube: tube-2x1-4, length: 72, height: 20}",
}
FINGERS = "{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2%s}"
OUTSIDE = "{use: blade-spring, at: outside, depth: 1}"
NEAR = "{use: blade-spring, at: [%g, -%g], depth: 1, hand: [right, left]}"
MIDDLE = "{name: middle, use: blade-rigid, at: [0], depth: 1, rank: -8, swap: {blade: blade-6}}"


def rig(stations: list[str], **sections: str) -> Assembly:
    told = {**SECTIONS, **sections, "stations": f"[{', '.join(stations)}]"}
    return assemble(scene_from_text("\n".join(f"{key}: {value}" for key, value in told.items())))


def rows(count: int, spacing: float) -> str:
    return f"{{count: {count}, spacing: {spacing}, keep_out: 2 1/2}}"


@pytest.fixture(scope="module")
def three() -> Assembly:
    """Three rows 15 in apart; the middle pair stands 8 in behind."""
    stations = [FINGERS % ", rank: [0, -8]", NEAR % (7.5, 7.5), OUTSIDE]
    return rig(stations, rows=rows(3, 15))


def marks_of(steps: tuple[ClampStep, ...]) -> list[float]:
    return [
        round((step.to_mm if step.from_mm is None else step.from_mm) or 0.0, 1) for step in steps
    ]


def test_the_same_rig_moves_nothing(three: Assembly) -> None:
    found = compare(three, three)
    assert found.loosened == 0
    assert found.nothing_moves
    assert {step.deed for step in found.steps} == {Deed.STAY}
    assert "nothing on the bar is touched" in comparison_text(found, Unit.IN)


# A rig for three rows 15 in apart: its outer rows are 30 in apart, so two rows at 30 in lie under
# its outer tools. Plain arithmetic: 2 x 15 = 30.
def test_three_rows_at_15_serve_two_rows_at_30_with_no_clamp_moved(three: Assembly) -> None:
    two = rig([FINGERS % "", NEAR % (7.5, 7.5), OUTSIDE, MIDDLE], rows=rows(2, 30))
    found = compare(three, two)
    assert found.nothing_moves
    assert not found.of(Deed.SLIDE, Deed.REHANG)
    assert [step.tools for step in found.of(Deed.PUT_ON)] == ["blade-6"]
    taken = found.of(Deed.TAKE_OFF)
    assert {step.before for step in taken} == {"row2.left", "row2.right"}
    assert found.loosened == 2
    told = comparison_text(found, Unit.IN)
    assert "serves 3 rows and 2 rows without moving anything" in told.replace("\n     ", " ")


def test_three_rows_serve_one_row_with_no_clamp_moved(three: Assembly) -> None:
    one = rig([FINGERS % ", rank: [-8]", NEAR % (7.5, 7.5)])
    found = compare(three, one)
    assert found.nothing_moves
    assert not found.of(Deed.PUT_ON)
    assert len(found.of(Deed.STAY)) == 4  # the middle pair and the blade on each side of it
    assert len(found.of(Deed.TAKE_OFF)) == 6


def test_a_rig_that_serves_the_rows_as_it_stands_is_told_whatever_the_second_file_hangs(
    three: Assembly,
) -> None:
    """The one row is written with blades of the other hand: to build that, clamps would move."""
    one = rig([FINGERS % ", rank: [-8]", OUTSIDE])
    found = compare(three, one)
    assert found.loosened > 0
    assert found.stands is not None
    assert found.stands.rows == (("row1", "row2"),)
    assert set(found.stands.idle) == {"row1.left", "row1.right", "row3.left", "row3.right"}
    assert not found.stands.unworked
    assert found.stands_back is None  # one row's tools do not serve three
    told = " ".join(comparison_text(found, Unit.IN).split())
    assert "no clamp moved, the first rig serves the second's 1 row too: row1 by its row2." in told
    assert compare(one, three).stands_back == found.stands


# The gap blades are 10 in wide at 7 1/2 in, so they reach to 2 1/2 in of the middle: 5 in is left.
def test_only_a_tool_for_the_empty_middle_is_wanting(three: Assembly) -> None:
    two = rig([FINGERS % "", NEAR % (7.5, 7.5), OUTSIDE, MIDDLE], rows=rows(2, 30))
    found = compare(three, two).stands
    assert found is not None
    assert found.rows == (("row1", "row1"), ("row2", "row3"))
    ((low, high),) = found.unworked
    assert (low, high) == pytest.approx((-2.5 * INCH, 2.5 * INCH))


def test_rows_under_no_tools_or_with_a_wider_band_are_not_served(three: Assembly) -> None:
    assert compare(three, rig([FINGERS % "", OUTSIDE], rows=rows(2, 24))).stands is None
    wide = rig(
        ["{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}"],
        rows="{count: 1, keep_out: 4}",
    )
    assert compare(three, wide).stands is None


# Half of 30 - 24 in on each side is 3 in.
def test_two_rows_at_24_instead_of_30_move_each_outer_tool_by_3_in() -> None:
    wide = rig([FINGERS % "", OUTSIDE], rows=rows(2, 30))
    found = compare(wide, rig([FINGERS % "", OUTSIDE], rows=rows(2, 24)))
    assert found.loosened == 6
    moves = [round(step.by_mm / INCH, 4) for step in found.of(Deed.SLIDE)]
    assert sorted(moves) == [-3.0, -3.0, -3.0, 3.0, 3.0, 3.0]


# 72 - 64 = 8 in, 4 in a side. Tyres 9 1/2 in wide: tracks of 73 1/2 and 81 1/2 in.
def test_a_bed_of_72_instead_of_64_in_between_the_tyres_is_4_in_a_side() -> None:
    def with_track(track: str) -> Assembly:
        axle = f"{{track: {track}, tracks: [{track}], tyre_width: 9 1/2, tyre_diameter: 41 1/2}}"
        return rig([OUTSIDE], tractor=f"{{use: small-belly, rear: {axle}}}")

    found = compare(with_track("73 1/2"), with_track("81 1/2"))
    bed = next(other for other in found.others if other.what == "between the rear tyres")
    assert isinstance(bed, Other)
    assert (bed.before, bed.after) == pytest.approx((64 * INCH, 72 * INCH))
    told = comparison_text(found, Unit.IN)
    assert "between the rear tyres: 64 in → 72 in (+8 in, 4 in a side)" in told
    assert found.loosened == 0


def plain(places: list[float], blade: str = "blade-4", **sections: str) -> Assembly:
    at = ", ".join(f"{place:g}" for place in places)
    station = f"{{use: blade-rigid, at: [{at}], depth: 1, swap: {{blade: {blade}}}}}"
    return rig([station], **sections)


def mixed(fours: list[float], sixes: list[float]) -> Assembly:
    made = []
    for name, places, blade in (("four", fours, "blade-4"), ("six", sixes, "blade-6")):
        at = ", ".join(f"{place:g}" for place in places)
        swap = f"swap: {{blade: {blade}}}"
        made.append(f"{{name: {name}, use: blade-rigid, at: [{at}], depth: 1, {swap}}}")
    return rig(made)


places = st.lists(st.integers(-6, 6), min_size=1, max_size=4, unique=True).map(
    lambda found: [4.0 * place for place in sorted(found)]
)


@settings(max_examples=12)
@given(places, places)
def test_no_way_loosens_fewer_clamps_or_moves_them_less(old: list[float], new: list[float]) -> None:
    """Against every assignment there is, one by one."""
    found = compare(plain(old), plain(new))
    few, many = sorted((old, new), key=len)
    best = min(
        (len(old) - sum(a == b for a, b in zip(few, chosen, strict=True)), apart)
        for chosen in itertools.permutations(many, len(few))
        for apart in [sum(abs(a - b) for a, b in zip(few, chosen, strict=True))]
    )
    moved = sum(abs(step.by_mm) for step in found.steps) / INCH
    assert found.loosened == best[0]
    assert moved == pytest.approx(best[1], abs=1e-6)
    assert len(found.of(Deed.TAKE_OFF)) == max(0, len(old) - len(new))
    assert len(found.of(Deed.PUT_ON)) == max(0, len(new) - len(old))


@settings(max_examples=12)
@given(places, places, places, places)
def test_the_order_of_doing_never_lets_clamps_meet(
    fours: list[float], sixes: list[float], new_fours: list[float], new_sixes: list[float]
) -> None:
    """Plays the steps on a bar: whoever slides meets nobody on the way."""
    old = mixed(fours, [place + 2.0 for place in sixes])
    found = compare(old, mixed(new_fours, [place + 2.0 for place in new_sixes]))
    bar = {step.before: step.from_mm or 0.0 for step in found.steps if step.before}
    apart = 2.0 * INCH - 1.0  # each mark is 2 in from the next, or more
    laid_by: set[str] = set()
    for step in found.steps:
        to = step.to_mm or 0.0
        if step.deed in (Deed.TAKE_OFF, Deed.LAY_BY):
            del bar[step.before]
            laid_by |= {step.before} if step.deed is Deed.LAY_BY else set()
        elif step.deed is Deed.SLIDE:
            low, high = sorted((bar.pop(step.before), to))
            assert not [p for p in bar.values() if low - apart < p < high + apart]
            bar[step.before] = to
        elif step.deed in (Deed.REHANG, Deed.PUT_ON):
            assert step.deed is Deed.PUT_ON or step.before in laid_by
            assert not [p for p in bar.values() if abs(p - to) < apart]
            bar[step.before or f"new {step.after}"] = to
    assert len(bar) == len(new_fours) + len(new_sixes)


def test_clamps_that_must_pass_each_other_are_hung_anew() -> None:
    found = compare(mixed([-8], [8]), mixed([8], [-8]))
    assert found.loosened == 2
    assert len(found.of(Deed.SLIDE)) == 1
    assert len(found.of(Deed.REHANG)) == 1
    told = comparison_text(found, Unit.IN)
    assert "and lay it by" in told
    assert "on again" in told


def test_a_clamp_that_stays_is_never_taken_off_to_let_others_pass() -> None:
    found = compare(mixed([-8, -16], [0]), mixed([8, 16], [0]))
    assert [step.tools for step in found.of(Deed.STAY)] == ["blade-6"]
    assert len(found.of(Deed.REHANG)) == 2


def test_only_equal_steel_stands_in_for_one_another() -> None:
    found = compare(plain([-8.0, 8.0]), plain([-8.0, 8.0], blade="blade-6"))
    assert len(found.of(Deed.TAKE_OFF)) == len(found.of(Deed.PUT_ON)) == 2


def test_a_left_hand_wheel_is_no_right_hand_wheel() -> None:
    left = rig(["{use: finger-pair, at: rows, sides: left, pair_gap: 1 1/2, depth: 1/2}"])
    right = rig(["{use: finger-pair, at: rows, sides: right, pair_gap: 1 1/2, depth: 1/2}"])
    found = compare(left, right)
    assert [step.deed for step in found.steps] == [Deed.TAKE_OFF, Deed.PUT_ON]


def test_another_depth_is_set_at_the_shank_and_loosens_no_clamp() -> None:
    old = rig(["{use: blade-rigid, at: [0], depth: 1}"])
    found = compare(old, rig(["{use: blade-rigid, at: [0], depth: 2}"]))
    (step,) = found.steps
    assert found.loosened == 0
    assert not found.nothing_moves
    (reset,) = step.resets
    assert reset.from_mm - reset.to_mm == pytest.approx(INCH)  # 1 in deeper, 1 in less shows
    assert "shows above its holder" in comparison_text(found, Unit.IN).replace("\n     ", " ")


def test_another_rank_loosens_the_clamp() -> None:
    old = rig(["{use: blade-rigid, at: [0], depth: 1, rank: -8}"])
    found = compare(old, rig(["{use: blade-rigid, at: [0], depth: 1, rank: -10}"]))
    assert found.loosened == 1
    assert [reset.what for reset in found.steps[0].resets] == ["rank"]


def test_on_another_bar_every_clamp_is_hung_anew() -> None:
    longer = "{tube: tube-2x1-4, length: 80, height: 20}"
    found = compare(plain([-8.0, 8.0]), plain([-8.0, 8.0], toolbar=longer))
    assert not found.same_bar
    assert found.loosened == 2
    assert not found.of(Deed.STAY, Deed.SLIDE)
    told = comparison_text(found, Unit.IN)
    assert "The bars differ" in told
    assert "on again" in told


def test_the_way_back_is_as_long(three: Assembly) -> None:
    two = rig([FINGERS % "", OUTSIDE], rows=rows(2, 24))
    there, back = compare(three, two), compare(two, three)
    assert len(there.of(Deed.TAKE_OFF)) == len(back.of(Deed.PUT_ON))
    assert len(there.of(Deed.SLIDE)) == len(back.of(Deed.SLIDE))


def test_json_says_the_same(three: Assembly) -> None:
    found: Comparison = compare(three, rig([FINGERS % "", OUTSIDE], rows=rows(2, 24)))
    told = json.loads(comparison_json(found))
    assert told["clamps_loosened"] == found.loosened
    assert len(told["steps"]) == len(found.steps)
