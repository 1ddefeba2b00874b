"""Lengths, angles and numbers: what is read, what is refused, and that both ways agree."""

from __future__ import annotations

import contextlib
import math
import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.errors import ReadingError
from rigmodel.units import (
    AngleError,
    LengthError,
    NumberError,
    Unit,
    format_length,
    format_setting,
    parse_angle,
    parse_count,
    parse_length,
    parse_number,
    to_unit,
)

# Expected values follow from 1 in = 25.4 mm and 1 ft = 0.3048 m, both exact
# (NIST SP 811, appendix B.8; from memory).
LENGTHS = [
    ("2 1/2 in", 63.5),
    ('2-1/2"', 63.5),
    ("2½ in", 63.5),
    ("2 ½ in", 63.5),
    ("2-½″", 63.5),
    ("½ in", 12.7),
    ("1⁄2 in", 12.7),
    ("3/4 in", 19.05),
    ("5/2 in", 63.5),
    ("1/3 in", 25.4 / 3.0),
    ("⅔ in", 50.8 / 3.0),
    ("-14 9/16 in", -369.8875),
    ("−3 1/2 in", -88.9),
    ("7' 3\"", 2209.8),
    ("7' 3 1/2\"", 2222.5),
    ("7'3\"", 2209.8),
    ("7'-3½″", 2222.5),
    ("7’ 3 1/2”", 2222.5),
    ("7′ 3″", 2209.8),
    ("-7' 3\"", -2209.8),
    ("6 ft 9 in", 2057.4),
    ("6ft 9in", 2057.4),
    ("6 feet 9 inches", 2057.4),
    ("0 ft 9 in", 228.6),
    ("1 foot", 304.8),
    ("4'", 1219.2),
    ("1.5 ft", 457.2),
    ("63.5 mm", 63.5),
    ("63.5mm", 63.5),
    ("63.5 MM", 63.5),
    ("  63.5 mm  ", 63.5),
    ("63.5\u00a0mm", 63.5),
    ("63.5 millimetres", 63.5),
    ("1 millimeter", 1.0),
    ("4.5 cm", 45.0),
    ("4.5 centimetres", 45.0),
    ("1.5 m", 1500.0),
    ("1.5 meters", 1500.0),
    ("2 Metres", 2000.0),
    ("1.5e2 mm", 150.0),
    ("1.5E+2 mm", 150.0),
    ("2.2 cm", 22.0),
    ("5 in.", 127.0),
    ("5 Inches", 127.0),
    ("1 inch", 25.4),
    (".5 in", 12.7),
    ("0.5 in", 12.7),
    ("0 mm", 0.0),
    ("-0 mm", 0.0),
    ("100 1/64 in", 2540.396875),
]

BARE = [
    ("2.5", Fraction(5, 2)),
    ("-15", Fraction(-15)),
    ("+3", Fraction(3)),
    ("1/2", Fraction(1, 2)),
    ("2 1/2", Fraction(5, 2)),
    ("2-1/2", Fraction(5, 2)),
    ("¾", Fraction(3, 4)),
    ("0", Fraction(0)),
]
SIZES = {
    Unit.MM: Fraction(1),
    Unit.CM: Fraction(10),
    Unit.M: Fraction(1000),
    Unit.IN: Fraction(254, 10),
    Unit.FT: Fraction(3048, 10),
}

NO_LENGTHS = [
    ("", "nothing is written"),
    ("   ", "nothing is written"),
    ("12,5 mm", "write 12.5 mm"),
    ("12,5", "write 12.5"),
    ("-0,5 in", "write -0.5 in"),
    ("1,500 mm", "or 1500 mm"),
    ("1,2,3", "has a comma"),
    ("2 1/0 in", "divides by zero"),
    ("0/0", "divides by zero"),
    ("1e400", "too large"),
    ("1e99999999", "too large"),
    ("1e307 m", "too large"),
    ("1e-400", "too small"),
    (".inf", "not a finite number"),
    ("-.INF", "not a finite number"),
    ("inf", "not a finite number"),
    ("nan", "not a finite number"),
    (".nan", "not a finite number"),
    ("12:30", "is not a length"),
    ("on", "is not a length"),
    ("true", "is not a length"),
    ("null", "is not a length"),
    ("010", "write 10"),
    ("-007.5 mm", "write -7.5 mm"),
    ("00", "write 0"),
    ("02 1/2 in", "write 2 1/2 in"),
    ("1/02 in", "write 1/2 in"),
    ("07' 3\"", "write 7' 3\""),
    ("0x10", "is not a length"),
    ("0o17", "is not a length"),
    ("1_000", "is not a length"),
    ("5 lb", "'lb' in '5 lb' is not a unit of length; expected mm, cm, m, in or ft"),
    ("3 deg", "not a unit of length"),
    ("5°", "not a unit of length"),
    ("5 km", "not a unit of length"),
    ("5 mils", "not a unit of length"),
    ("50 %", "not a unit of length"),
    ("2 in 3 ft", "is not a length"),
    ("6 in 3 mm", "is not a length"),
    ("6 ft 3 mm", "only inches can follow"),
    ("1 m 20 cm", "is not a length"),
    ("7' 3", "no inch mark"),
    ("7' 12\"", "12 or more inches"),
    ("6.5' 3\"", "is not a length"),
    ("7' -3\"", "is not a length"),
    ("1 2 in", "is not a length"),
    ("1/2/3", "is not a length"),
    ("2 -1/2 in", "2 1/2 or 2-1/2"),
    ("2 - 1/2 in", "2 1/2 or 2-1/2"),
    ("2 3/2 in", "not less than 1"),
    ("1.5 1/2 in", "is not a length"),
    ("1.5/2 in", "is not a length"),
    ("1 / 2 in", "is not a length"),
    ("2½½", "is not a length"),
    ("1½2 in", "something after its fraction"),
    ("½/3", "something after its fraction"),
    ("1/½", "is not a length"),
    ("1.2.3", "is not a length"),
    ("5.", "is not a length"),
    ("--5", "is not a length"),
    ("- 5", "is not a length"),
    ("+-5", "is not a length"),
    ("1+1", "is not a length"),
    ("5*2", "is not a length"),
    ("in", "is not a length"),
    ("mm 5", "is not a length"),
    ("5 mm mm", "is not a length"),
    ("5 mm (approx)", "is not a length"),
    ("about 5 mm", "is not a length"),
    ("5\tmm", "control character"),
    ("5 mm\n", "control character"),
    ("5\x00", "control character"),
    ("5\x85", "control character"),
    ("１２ mm", "is not a length"),
    ("٣ mm", "is not a length"),
    ("9" * 65, "too long"),
    ("1" * 100_000, "too long"),
]


@pytest.mark.parametrize(("text", "mm"), LENGTHS)
@pytest.mark.parametrize("unit", list(Unit))
def test_length_with_its_own_unit_is_the_same_in_any_scene(
    text: str, mm: float, unit: Unit
) -> None:
    assert parse_length(text, unit) == pytest.approx(mm, rel=1e-15, abs=0.0)


@pytest.mark.parametrize(("text", "amount"), BARE)
@pytest.mark.parametrize("unit", list(Unit))
def test_bare_number_takes_the_scenes_unit_exactly(text: str, amount: Fraction, unit: Unit) -> None:
    assert parse_length(text, unit) == float(amount * SIZES[unit])


@pytest.mark.parametrize(("text", "words"), NO_LENGTHS)
@pytest.mark.parametrize("unit", [Unit.MM, Unit.IN])
def test_what_is_no_length_is_refused_with_what_was_read(text: str, words: str, unit: Unit) -> None:
    with pytest.raises(LengthError, match=re.escape(words)) as caught:
        parse_length(text, unit)
    assert caught.value.read == text
    assert "expected" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_minus_zero_reads_as_zero() -> None:
    assert math.copysign(1.0, parse_length("-0", Unit.MM)) == 1.0


@given(st.text(max_size=80))
@settings(max_examples=150)
def test_any_text_is_a_finite_length_or_refused(text: str) -> None:
    for unit in (Unit.MM, Unit.IN):
        with contextlib.suppress(LengthError):
            assert math.isfinite(parse_length(text, unit))


@given(st.text(alphabet="0123456789 ./-+'\"½¾eE,inftmc°⁄", max_size=14))
@settings(max_examples=400)
def test_any_likely_text_is_read_or_refused(text: str) -> None:
    for read in (parse_angle, parse_number, parse_count):
        with contextlib.suppress(ReadingError):
            assert math.isfinite(read(text))
    with contextlib.suppress(LengthError):
        assert math.isfinite(parse_length(text, Unit.IN))


@given(
    whole=st.integers(0, 5000),
    top=st.integers(1, 63),
    bottom=st.integers(64, 128),
    sign=st.sampled_from(["", "-"]),
    joint=st.sampled_from([" ", "-", "  "]),
    unit=st.sampled_from([("in", Unit.IN), ('"', Unit.IN), ("ft", Unit.FT), ("mm", Unit.MM)]),
)
@settings(max_examples=60)
def test_mixed_numbers_of_any_size(
    whole: int, top: int, bottom: int, sign: str, joint: str, unit: tuple[str, Unit]
) -> None:
    exact = (whole + Fraction(top, bottom)) * SIZES[unit[1]] * (-1 if sign else 1)
    assert parse_length(f"{sign}{whole}{joint}{top}/{bottom} {unit[0]}", Unit.CM) == float(exact)


@given(feet=st.integers(0, 99), inches=st.integers(0, 11), sixteenth=st.integers(1, 15))
@settings(max_examples=40)
def test_feet_and_inches_of_any_size(feet: int, inches: int, sixteenth: int) -> None:
    exact = float((12 * feet + inches + Fraction(sixteenth, 16)) * SIZES[Unit.IN])
    for text in (
        f"{feet}' {inches} {sixteenth}/16\"",
        f"{feet} ft {inches} {sixteenth}/16 in",
        f"{feet}'-{inches} {sixteenth}/16\"",
    ):
        assert parse_length(text, Unit.MM) == exact


SANE = st.floats(-50_000.0, 50_000.0)


@given(mm=SANE, unit=st.sampled_from(list(Unit)))
@settings(max_examples=200)
def test_written_and_read_again(mm: float, unit: Unit) -> None:
    text = format_setting(mm, unit)
    slack = 25.4 / 32.0 if unit in (Unit.IN, Unit.FT) else 0.05
    for scene in Unit:
        assert abs(parse_length(text, scene) - mm) <= slack + 1e-9


@given(mm=SANE, unit=st.sampled_from(list(Unit)))
@settings(max_examples=100)
def test_length_begins_with_the_setting_and_the_rest_is_exact(mm: float, unit: Unit) -> None:
    text, setting = format_length(mm, unit), format_setting(mm, unit)
    assert text.startswith(setting)
    rest = re.fullmatch(r" \((-?\d+\.\d\d)(?: in)?\)", text.removeprefix(setting))
    off_the_tape = abs(parse_length(setting, unit) - mm) > 25.4 / 64.0 + 1e-6
    if unit in (Unit.IN, Unit.FT) and off_the_tape:
        assert rest is not None
        assert abs(float(rest[1]) * 25.4 - mm) <= 0.005 * 25.4 + 1e-9
    elif unit not in (Unit.IN, Unit.FT):
        assert text == setting


@given(number=st.decimals(-900, 900, places=3), unit=st.sampled_from(list(Unit)))
@settings(max_examples=100)
def test_change_of_unit_keeps_the_length(number: object, unit: Unit) -> None:
    mm = parse_length(f"{number} {unit.value}", Unit.MM)
    assert parse_length(f"{number}", unit) == mm
    for other in Unit:
        same = parse_length(f"{to_unit(mm, other):.12f}", other)
        assert same == pytest.approx(mm, rel=1e-9, abs=1e-6)


WRITTEN = [
    (63.5, Unit.MM, "63.5 mm"),
    (63.0, Unit.MM, "63 mm"),
    (63.04, Unit.MM, "63 mm"),
    (-0.01, Unit.MM, "0 mm"),
    (63.5, Unit.CM, "6.35 cm"),
    (1500.0, Unit.M, "1.5 m"),
    (63.5, Unit.IN, "2 1/2 in"),
    (-369.8875, Unit.IN, "-14 9/16 in"),
    (-14.2875, Unit.IN, "-9/16 in"),
    (0.0, Unit.IN, "0 in"),
    (-0.1, Unit.IN, "0 in"),
    (0.7, Unit.IN, "0 in (0.03)"),
    (312.3, Unit.IN, "12 5/16 in (12.30)"),
    (25.4, Unit.IN, "1 in"),
    (25.39, Unit.IN, "1 in"),
    (2209.8, Unit.FT, "7 ft 3 in"),
    (2222.5, Unit.FT, "7 ft 3 1/2 in"),
    (-2222.5, Unit.FT, "-7 ft 3 1/2 in"),
    (304.8, Unit.FT, "1 ft"),
    (63.5, Unit.FT, "2 1/2 in"),
    (0.0, Unit.FT, "0 ft"),
    (312.3, Unit.FT, "1 ft 5/16 in (12.30 in)"),
]


@pytest.mark.parametrize(("mm", "unit", "text"), WRITTEN)
def test_lengths_as_people_read_them(mm: float, unit: Unit, text: str) -> None:
    assert format_length(mm, unit) == text


@pytest.mark.parametrize("mm", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("unit", list(Unit))
def test_what_is_not_finite_is_not_written(mm: float, unit: Unit) -> None:
    with pytest.raises(ValueError, match="finite"):
        format_length(mm, unit)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("15", 15.0),
        ("5 deg", 5.0),
        ("5deg", 5.0),
        ("5°", 5.0),
        ("5 °", 5.0),
        ("-12.5 degrees", -12.5),
        ("1 Degree", 1.0),
        ("−3", -3.0),
        ("22 1/2 deg", 22.5),
        ("0", 0.0),
    ],
)
def test_angles(text: str, degrees: float) -> None:
    assert parse_angle(text) == degrees


@pytest.mark.parametrize(
    "text",
    ["", "1 rad", "0.5 radians", "5 mm", "5 in", "5'", "5°30'", "5,5", "on", "nan", "1e400", "010"],
)
def test_what_is_no_angle(text: str) -> None:
    with pytest.raises(AngleError, match="degrees"):
        parse_angle(text)


@pytest.mark.parametrize(("text", "number"), [("3", 3.0), ("-0.25", -0.25), ("+1.5", 1.5)])
def test_numbers(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize(
    "text",
    ["", "1/2", "1 1/2", "½", "1e3", "nan", "inf", "5 mm", "5%", "1,5", "0x1", "01", "1_0", "yes"],
)
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(NumberError, match="a number such as"):
        parse_number(text)


@pytest.mark.parametrize(("text", "count"), [("0", 0), ("3", 3), ("+4", 4), (" 12 ", 12)])
def test_counts(text: str, count: int) -> None:
    assert parse_count(text) == count


@pytest.mark.parametrize(
    "text", ["", "-1", "3.0", "1e2", "two", "3 rows", "03", "1" * 10, "1" * 5000, "½", "٣"]
)
def test_what_is_no_count(text: str) -> None:
    with pytest.raises(NumberError, match="a whole number"):
        parse_count(text)
