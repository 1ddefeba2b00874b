"""Lengths, sides and words as they stand on a sheet."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.sheet.words import (
    counted,
    joined,
    ordinal,
    printable,
    prints,
    runs,
    sided,
    tape,
    tape_down,
)
from rigmodel.units import Unit, parse_length

INCH = 25.4


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        (14.1875 * INCH, Unit.IN, "14 3/16 in"),
        (14.2 * INCH, Unit.IN, "14 3/16 in"),
        (14.1875 * INCH, Unit.FT, "14 3/16 in"),
        (360.4, Unit.MM, "360 mm"),
        (360.4, Unit.CM, "360 mm"),
        (-0.2, Unit.MM, "0 mm"),
    ],
)
def test_tape(mm: float, unit: Unit, text: str) -> None:
    assert tape(mm, unit) == text


@given(st.floats(0.0, 5000.0), st.sampled_from(list(Unit)))
def test_tape_is_within_half_a_mark_and_tape_down_never_over(mm: float, unit: Unit) -> None:
    half = INCH / 32.0 if unit in (Unit.IN, Unit.FT) else 0.5
    assert parse_length(tape(mm, unit), unit) == pytest.approx(mm, abs=half + 1e-9)
    down = parse_length(tape_down(mm, unit), unit)
    assert mm - 2.0 * half - 1e-6 <= down <= mm + 1e-5


@given(st.floats(-3000.0, 3000.0), st.sampled_from([Unit.IN, Unit.MM]))
def test_left_and_right_mirror(mm: float, unit: Unit) -> None:
    swapped = {"LEFT": "RIGHT", "RIGHT": "LEFT"}
    length, _, side = sided(mm, unit).rpartition(" ")
    assert sided(-mm, unit) == (f"{length} {swapped[side]}" if length else "CENTRE")
    if length:
        assert (side == "LEFT") is (mm > 0.0)


def test_small_words() -> None:
    assert [ordinal(n) for n in (1, 2, 3, 4, 11, 12, 13, 21, 102, 111)] == [
        "1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "102nd", "111th",
    ]  # fmt: skip
    assert joined([]) == ""
    assert joined(["a"]) == "a"
    assert joined(["a", "b", "c"]) == "a, b and c"
    assert counted(1, "nut") == "1 nut"
    assert counted(0, "nut") == "0 nuts"
    assert runs([]) == ""
    assert runs([1, 2, 4, 7, 8, 9, 11]) == "1, 2, 4, 7 to 9, 11"


@given(st.text(max_size=200))
def test_printable_is_one_line_that_keeps_every_plain_letter(text: str) -> None:
    shown = printable(text)
    assert "\n" not in shown
    assert not any(c in shown for c in "\u202e\u2066\x00\x1b")
    kept = shown.replace("\u200b", "")
    assert [c for c in kept if c.isalnum()] == [c for c in text if c.isalnum()]
    assert all(len(run) <= 32 for word in shown.split() for run in word.split("\u200b"))


def test_letters_the_fonts_have() -> None:
    assert prints("Żółty ½″ ±1 ≥ ø – „x“ … עברית ქართ հայ")
    assert not prints("中文")
    assert not prints("😀")
