"""The letters of the drawings: the font's file, how wide a text is, and texts that fit.

The letters are DejaVu Sans, whose file comes with matplotlib. It has the Latin, Greek, Cyrillic,
Armenian, Georgian, Hebrew and Arabic scripts and the signs of the shop. A letter of another script
is shown as □ on paper; nothing turns the order of letters for scripts written from the right.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFont

from rigmodel.errors import RigmodelError
from rigmodel.lines import bound

FAMILY = "DejaVu Sans"
CAPITAL = 0.729  # height of a capital over the size of the font, read off its file
DEEP = 0.236  # depth of a g over the size of the font, likewise
MISSING = "□"
_PLACE = Path("mpl-data", "fonts", "ttf", "DejaVuSans.ttf")


class FontError(RigmodelError):
    """The font's file is not there."""


def font_file() -> Path:
    """The font's file, found without importing the package that brings it.

    Raises:
        FontError: the package is not installed.
    """
    spec = find_spec("matplotlib")
    for folder in (spec.submodule_search_locations or ()) if spec else ():
        if (Path(folder) / _PLACE).is_file():
            return Path(folder) / _PLACE
    raise FontError("the font of the drawings is missing; install matplotlib")


@cache
def font() -> TTFont:
    """The font, read once."""
    return TTFont("DejaVuSans", str(font_file()))


@cache
def _widths() -> tuple[Mapping[int, float], Mapping[int, int]]:
    face = font().face
    return face.charWidths, face.charToGlyph


def size_of(height_mm: float) -> float:
    """Size of the font, mm, for capitals of that height."""
    return height_mm / CAPITAL


@lru_cache(maxsize=4096)
def text_width(text: str, height_mm: float) -> float:
    """Width in mm of one line of text with capitals of that height."""
    widths, _ = _widths()
    units = sum(widths.get(ord(letter), 600.0) for letter in text)
    return units / 1000.0 * size_of(height_mm)


def on_paper(text: str) -> str:
    """The text on one line, with □ for letters the font does not have."""
    _, known = _widths()
    line = " ".join(text.split())
    return "".join(c if ord(c) in known else MISSING for c in line if c.isprintable())


def shortened(text: str, height_mm: float, room_mm: float) -> str:
    """The text, cut with … where it is wider than there is room."""
    if text_width(text, height_mm) <= room_mm:
        return text
    while text and text_width(text + "…", height_mm) > room_mm:
        text = text[:-1]
    return text.rstrip() + "…"


def wrapped(text: str, height_mm: float, room_mm: float) -> tuple[str, ...]:
    """The text in lines no wider than there is room."""
    lines: list[str] = []
    for word in bound(" ".join(text.split())).split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, height_mm) <= room_mm:
            lines[-1] = joined
            continue
        if text_width(word, height_mm) <= room_mm:
            lines.append(word)
            continue
        letters = max(1, int(room_mm / text_width("M", height_mm)))
        lines.extend(textwrap.wrap(word, letters) or [word])
    return tuple(line.replace("\u00a0", " ") for line in lines)
