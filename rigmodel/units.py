"""Lengths, angles and numbers as people write them, read strictly, and lengths written back.

Inside rigmodel every length is millimetres and every angle degrees. A text is either read in full
or refused with a message that says what was read and what is expected; nothing is guessed.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from rigmodel.errors import ReadingError, shown

LENGTH_EXPECTED = "a length such as 15, 2 1/2 in or 380 mm"
ANGLE_EXPECTED = "an angle in degrees such as 15, -12.5 or 5 deg"
NUMBER_EXPECTED = "a number such as 3 or 0.25"
COUNT_EXPECTED = "a whole number such as 3"


class Unit(StrEnum):
    """A unit of length a scene may be written in."""

    MM = "mm"
    CM = "cm"
    M = "m"
    IN = "in"
    FT = "ft"


class LengthError(ReadingError):
    """A text that is not a length."""


class AngleError(ReadingError):
    """A text that is not an angle in degrees."""


class NumberError(ReadingError):
    """A text that is not a plain finite number, or not a whole one where one is needed."""


# 1 in = 25.4 mm and 1 ft = 12 in, both exact (NIST SP 811, appendix B.8; from memory).
_SIZE_MM: dict[Unit, Fraction] = {
    Unit.MM: Fraction(1),
    Unit.CM: Fraction(10),
    Unit.M: Fraction(1000),
    Unit.IN: Fraction(254, 10),
    Unit.FT: Fraction(3048, 10),
}
_NAMES: dict[Unit, tuple[str, ...]] = {
    Unit.MM: ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    Unit.CM: ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    Unit.M: ("m", "metre", "metres", "meter", "meters"),
    Unit.IN: ("in", "in.", "inch", "inches", '"', "″", "”", "“"),
    Unit.FT: ("ft", "ft.", "foot", "feet", "'", "′", "’", "‘"),
}
_UNIT_OF: dict[str, Unit] = {name: unit for unit, names in _NAMES.items() for name in names}
_DEGREE_NAMES = frozenset(("", "deg", "deg.", "degree", "degrees", "°"))
_UNITS_EXPECTED = "mm, cm, m, in or ft"

_VULGAR: dict[str, str] = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6",
    "⅚": "5/6", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_VULGAR_SIGNS = "".join(_VULGAR)
_SPACES = "\u00a0\u2009\u202f\u2007"
_LONGEST_TEXT = 64
_LONGEST_EXPONENT = 4
_FINEST = 16
_REMARK_FROM = 1.0 / 64.0

_AMOUNT = re.compile(
    r"(?:(?P<whole>\d+)(?: +|-))?(?P<num>\d+)/(?P<den>\d+)"
    r"|(?P<decimal>(?:\d+(?:\.\d+)?|\.\d+)(?:e[+-]?(?P<exponent>\d+))?)",
    re.ASCII | re.IGNORECASE,
)
_FEET_AND = re.compile(r"(\d+) *(?:ft|ft\.(?= )|foot|feet|['′’‘])(?:-| *)(?=\d)", re.ASCII | re.I)
_NOT_FINITE = re.compile(r"[+-]?\.?(?:nan|inf|infinity)", re.IGNORECASE)
_WORD = re.compile(r"[^\W\d_]+\.?|[°%$€£\"″”“'′’‘]+")
_LEADING_ZERO = re.compile(r"(?<![\d.])0+(?=\d)", re.ASCII)
_COMMA = re.compile(r"([+-]?\d+),(\d+)(\D*)", re.ASCII)


class _RefusalError(Exception):
    """Why a text cannot be read; the public functions turn it into their own error."""

    def __init__(self, problem: str, hint: str = "", expected: str = "") -> None:
        self.problem = problem
        self.hint = hint
        self.expected = expected
        super().__init__(problem)


def parse_length(text: str, unit: Unit) -> float:
    """Read a length.

    Args:
        text: such as ``2 1/2 in``, ``2-1/2"``, ``2½ in``, ``7' 3 1/2"``, ``63.5 mm`` or ``-15``.
        unit: the unit of a bare number.

    Returns:
        The length in mm, the float nearest to the exact value.

    Raises:
        LengthError: the text is not a length.
    """
    try:
        return _length(text, unit)
    except _RefusalError as refusal:
        expected = refusal.expected or LENGTH_EXPECTED
        raise LengthError(text, refusal.problem, expected, refusal.hint) from None


def parse_angle(text: str) -> float:
    """Read an angle such as ``15``, ``5 deg``, ``5°`` or ``-12.5 degrees``; in degrees.

    Raises:
        AngleError: the text is not an angle in degrees.
    """
    try:
        return _angle(text)
    except _RefusalError as refusal:
        raise AngleError(text, refusal.problem, ANGLE_EXPECTED, refusal.hint) from None


def parse_number(text: str) -> float:
    """Read a plain decimal number: no unit, no fraction, no exponent.

    Raises:
        NumberError: the text is not such a number.
    """
    try:
        return _number(text)
    except _RefusalError as refusal:
        raise NumberError(text, refusal.problem, NUMBER_EXPECTED, refusal.hint) from None


def parse_count(text: str) -> int:
    """Read a whole number, 0 or more, of at most nine digits.

    Raises:
        NumberError: the text is not such a number.
    """
    try:
        return _count(text)
    except _RefusalError as refusal:
        raise NumberError(text, refusal.problem, COUNT_EXPECTED, refusal.hint) from None


def to_unit(mm: float, unit: Unit) -> float:
    """A length of `mm` millimetres as a number of `unit`."""
    return mm / float(_SIZE_MM[unit])


@lru_cache(maxsize=8192)  # of two checks of a rig most lengths are the same
def format_length(mm: float, unit: Unit) -> str:
    """A length for people to read.

    Metric units show tenths of a millimetre at most: ``63.5 mm``, ``6.35 cm``, ``1.5 m``. Inches
    show a whole number and a fraction to the nearest 1/16, as on a tape: ``2 1/2 in``. Feet show
    feet and inches: ``7 ft 3 1/2 in``. When the length lies more than 1/64 in away from that
    sixteenth, the inches follow in brackets with two decimals: ``12 5/16 in (12.29)``.

    Raises:
        ValueError: `mm` is not finite.
    """
    text = format_setting(mm, unit)
    if unit not in (Unit.IN, Unit.FT):
        return text
    inches = to_unit(mm, Unit.IN)
    if abs(inches - round(inches * _FINEST) / _FINEST) <= _REMARK_FROM + 1e-9:
        return text
    return f"{text} ({inches:.2f})" if unit is Unit.IN else f"{text} ({inches:.2f} in)"


def format_setting(mm: float, unit: Unit) -> str:
    """As `format_length` without the brackets: a text that `parse_length` reads again.

    Read again it is within 0.05 mm in a metric unit and within 1/32 in otherwise.

    Raises:
        ValueError: `mm` is not finite.
    """
    if not math.isfinite(mm):
        raise ValueError(f"a length to write must be finite, not {mm}")
    if unit is Unit.IN:
        return _inches_text(round(to_unit(mm, Unit.IN) * _FINEST))
    if unit is Unit.FT:
        return _feet_text(round(to_unit(mm, Unit.IN) * _FINEST))
    decimals = {Unit.MM: 1, Unit.CM: 2, Unit.M: 4}[unit]
    digits = f"{to_unit(mm, unit):.{decimals}f}".rstrip("0").rstrip(".")
    return f"{'0' if digits == '-0' else digits} {unit.value}"


@lru_cache(maxsize=4096)  # a catalogue writes the same sizes again and again
def _length(text: str, unit: Unit) -> float:
    clean = _cleaned(text)
    sign, rest = _signed(clean)
    feet = _FEET_AND.match(rest)
    if feet is not None:
        return _finite(sign * _feet_and_inches(text, feet, rest[feet.end() :]), text)
    amount, name = _amount(text, rest, "a length")
    found = _UNIT_OF.get(name.lower()) if name else unit
    if found is None:
        raise _not_a_unit(text, name, clean)
    return _finite(sign * amount * _SIZE_MM[found], text)


def _feet_and_inches(text: str, feet: re.Match[str], rest: str) -> Fraction:
    """Exact mm of whole feet and the inches in `rest`."""
    _refuse_leading_zero(text, feet.group(1))
    inches, name = _amount(text, rest, "a length")
    if not name:
        raise _RefusalError(f"{shown(text)} has no inch mark at its end", "write it like 7' 3\"")
    if _UNIT_OF.get(name.lower()) is not Unit.IN:
        raise _RefusalError(f"{shown(text)} is not a length", "after feet only inches can follow")
    if inches >= 12:
        raise _RefusalError(f"{shown(text)} has 12 or more inches after the feet")
    return int(feet.group(1)) * _SIZE_MM[Unit.FT] + inches * _SIZE_MM[Unit.IN]


def _not_a_unit(text: str, name: str, clean: str) -> _RefusalError:
    if _WORD.fullmatch(name):
        problem = f"{shown(name)} in {shown(text)} is not a unit of length"
        return _RefusalError(problem, expected=_UNITS_EXPECTED)
    hint = "the fraction follows after a space or a dash, as in 2 1/2 or 2-1/2"
    return _RefusalError(f"{shown(text)} is not a length", hint if "/" in clean else "")


def _angle(text: str) -> float:
    sign, rest = _signed(_cleaned(text))
    amount, name = _amount(text, rest, "an angle")
    if name.lower() in _DEGREE_NAMES:
        return _finite(sign * amount, text)
    if _WORD.fullmatch(name):
        raise _RefusalError(f"{shown(name)} in {shown(text)} is not degrees")
    raise _RefusalError(f"{shown(text)} is not an angle")


def _number(text: str) -> float:
    sign, rest = _signed(_cleaned(text))
    amount, name = _amount(text, rest, "a number")
    if name:
        raise _RefusalError(f"{shown(text)} is not a plain number")
    if "/" in rest:
        raise _RefusalError(f"{shown(text)} is a fraction", "write it with a decimal point")
    if "e" in rest.lower():
        raise _RefusalError(f"{shown(text)} has an exponent", "write the number out")
    return _finite(sign * amount, text)


def _count(text: str) -> int:
    clean = _cleaned(text)
    if not re.fullmatch(r"\+?\d+", clean, re.ASCII):
        raise _RefusalError(f"{shown(text)} is not a whole number, 0 or more")
    _refuse_leading_zero(text, clean.lstrip("+"))
    if len(clean) > 9:
        raise _RefusalError(f"{shown(text)} is too large")
    return int(clean)


def _cleaned(text: str) -> str:
    """`text` in plain characters: ASCII spaces, minus and fractions; or a refusal."""
    if any(ord(c) < 32 or 127 <= ord(c) < 160 for c in text):
        raise _RefusalError(f"{shown(text)} holds a control character")
    if not text.strip():
        raise _RefusalError("nothing is written here")
    if len(text) > _LONGEST_TEXT:
        raise _RefusalError(f"{shown(text)} is too long")
    if text.isascii():
        return text.strip(" ")
    clean = re.sub(f"[{_SPACES}]", " ", text).strip(" ").replace("−", "-")
    if re.search(f"[{_VULGAR_SIGNS}][\\d./⁄]", clean):
        raise _RefusalError(f"{shown(text)} has something after its fraction that cannot be there")
    clean = re.sub(f"(?<=[0-9.{_VULGAR_SIGNS}])([{_VULGAR_SIGNS}])", r" \1", clean)
    clean = re.sub(f"[{_VULGAR_SIGNS}]", lambda match: _VULGAR[match.group()], clean)
    return clean.replace("⁄", "/")


def _signed(clean: str) -> tuple[int, str]:
    if clean[0] in "+-":
        return (-1 if clean[0] == "-" else 1), clean[1:]
    return 1, clean


def _amount(text: str, rest: str, wanted: str) -> tuple[Fraction, str]:
    """The exact amount `rest` begins with, and the unit's name that follows it (may be empty)."""
    if _NOT_FINITE.fullmatch(rest):
        raise _RefusalError(f"{shown(text)} is not a finite number")
    if "," in rest:
        raise _comma(text)
    match = _AMOUNT.match(rest)
    if match is None:
        raise _RefusalError(f"{shown(text)} is not {wanted}")
    name = rest[match.end() :].strip(" ")
    if re.match(r"[\d./]", name, re.ASCII):
        raise _RefusalError(f"{shown(text)} is not {wanted}")
    if match.group("decimal"):
        return _decimal(text, match), name
    return _fraction(text, match), name


def _decimal(text: str, match: re.Match[str]) -> Fraction:
    digits = match.group("decimal")
    _refuse_leading_zero(text, digits)
    if len(match.group("exponent") or "") > _LONGEST_EXPONENT:
        raise _RefusalError(f"{shown(text)} has an exponent that is too large")
    return Fraction(digits)


def _fraction(text: str, match: re.Match[str]) -> Fraction:
    whole, top, bottom = match.group("whole", "num", "den")
    for digits in (whole or "0", top, bottom):
        _refuse_leading_zero(text, digits)
    if int(bottom) == 0:
        raise _RefusalError(f"{shown(text)} divides by zero")
    part = Fraction(int(top), int(bottom))
    if whole is None:
        return part
    if part >= 1:
        raise _RefusalError(f"{shown(text)} has a fraction that is not less than 1")
    return int(whole) + part


def _refuse_leading_zero(text: str, digits: str) -> None:
    if re.match(r"0\d", digits, re.ASCII):
        better = _LEADING_ZERO.sub("", text.strip())
        raise _RefusalError(f"{shown(text)} has a leading zero", f"write {better}")


def _comma(text: str) -> _RefusalError:
    match = _COMMA.fullmatch(text.strip())
    if match is None:
        return _RefusalError(f"{shown(text)} has a comma", "write decimals with a point")
    whole, after, name = match.groups()
    hint = f"write {whole}.{after}{name}"
    if len(after) == 3:
        hint += f", or {whole}{after}{name} if the comma parts thousands"
    return _RefusalError(f"{shown(text)} has a decimal comma", hint)


def _finite(exact: Fraction, text: str) -> float:
    try:
        value = float(exact)
    except OverflowError:
        raise _RefusalError(f"{shown(text)} is too large to be a finite number") from None
    if exact and not value:
        raise _RefusalError(f"{shown(text)} is too small to be told from 0")
    return value + 0.0  # a written -0 is 0


def _inches_text(sixteenths: int) -> str:
    whole, part = divmod(abs(sixteenths), _FINEST)
    fraction = Fraction(part, _FINEST)
    words = [str(whole)] if whole or not part else []
    words += [f"{fraction.numerator}/{fraction.denominator}"] if part else []
    return ("-" if sixteenths < 0 else "") + " ".join(words) + " in"


def _feet_text(sixteenths: int) -> str:
    feet, rest = divmod(abs(sixteenths), 12 * _FINEST)
    sign = "-" if sixteenths < 0 else ""
    if not feet:
        return _inches_text(sixteenths) if rest else "0 ft"
    return f"{sign}{feet} ft" + (f" {_inches_text(rest)}" if rest else "")
