"""Lengths and sides as they stand on a sheet: what a tape can show, and which way to go."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable

from rigmodel.sides import way
from rigmodel.units import Unit, format_setting

_SIXTEENTH = 25.4 / 16.0
_LONGEST_RUN = 32  # letters without a space that still fit a narrow column
_BREAK = "\u200b"
_KEPT_FORMATS = frozenset("\u200c\u200d")  # some scripts join their letters by these
# Scripts that the fonts of the PDF have, and the last of the signs they have; tests hold samples.
_SCRIPTS = ("LATIN", "GREEK", "CYRILLIC", "ARMENIAN", "HEBREW", "ARABIC", "GEORGIAN", "COMBINING")
_LAST_SURE, _LAST_SIGN = 0x17F, 0x2265
_SAME_MM = 0.8  # nearer than half a sixteenth a tape shows no difference


def tape(mm: float, unit: Unit) -> str:
    """A length as a tape shows it: to 1/16 in, or to a whole millimetre in a metric unit."""
    if unit in (Unit.IN, Unit.FT):
        return format_setting(mm, Unit.IN)
    return f"{round(mm) + 0} mm"


def tape_down(mm: float, unit: Unit) -> str:
    """Like `tape` for what may not be passed: never more than `mm` is."""
    step = _SIXTEENTH if unit in (Unit.IN, Unit.FT) else 1.0
    return tape(math.floor(mm / step + 1e-6) * step, unit)


def sided(mm: float, unit: Unit) -> str:
    """A place across the bar, mm left of its centre: ``14 1/2 in LEFT``, or ``CENTRE``."""
    length = tape(abs(mm), unit)
    if length == tape(0.0, unit):
        return "CENTRE"
    return f"{length} {way(mm).upper()}"


def differs(one_mm: float, other_mm: float) -> bool:
    """Whether a tape can tell two places apart."""
    return abs(one_mm - other_mm) > _SAME_MM


def counted(count: int, one: str, many: str = "") -> str:
    """A count with its noun: ``1 nut``, ``4 nuts``."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def ordinal(number: int) -> str:
    """A counting word in figures: ``1st``, ``2nd``, ``13th``."""
    last = number % 10 if number % 100 not in (11, 12, 13) else 0
    return f"{number}{({1: 'st', 2: 'nd', 3: 'rd'}).get(last, 'th')}"


def runs(numbers: Iterable[int]) -> str:
    """Rising numbers, three and more in a row shortened: ``1, 3, 5 to 8``."""
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][-1] + 1:
            found[-1].append(number)
        else:
            found.append([number])
    told = [f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(map(str, r)) for r in found]
    return ", ".join(told)


def joined(items: list[str]) -> str:
    """Words with commas and a last 'and'."""
    return " and ".join(part for part in (", ".join(items[:-1]), *items[-1:]) if part)


def printable(text: str) -> str:
    """A user's text on one line, without signs that turn or hide letters.

    A long run of letters may be broken after every 32 of them, so that no word leaves its column.
    """
    shown = (
        " " if c.isspace() else c
        for c in text
        if c.isspace() or c in _KEPT_FORMATS or unicodedata.category(c) not in ("Cc", "Cf", "Cs")
    )
    words = "".join(shown).split()
    return " ".join(_breakable(word) for word in words)


def prints(text: str) -> bool:
    """Whether the fonts of the PDF have every letter of a text."""
    return all(_prints(letter) for letter in text if letter not in (_BREAK, *_KEPT_FORMATS))


def _prints(letter: str) -> bool:
    if ord(letter) <= _LAST_SURE:
        return True
    if unicodedata.category(letter)[0] in "LM":
        return unicodedata.name(letter, "").startswith(_SCRIPTS)
    return ord(letter) <= _LAST_SIGN


def _breakable(word: str) -> str:
    runs = [word[i : i + _LONGEST_RUN] for i in range(0, len(word), _LONGEST_RUN)]
    return _BREAK.join(runs)
