"""Room that a text takes up, and texts the drawing's letters can show."""

from __future__ import annotations

# Advance of a letter over the body's height. Read off the letters the drawing uses and rounded
# up, so that a box made from them holds the text; `tests/view` holds them against the real ones.
_ADVANCE = (
    (0.34, " !',.:;Iijlfrt·"),
    (0.46, '"()-/*`[]{}s¦'),
    (0.56, "1JTLFEZzx0"),
    (0.78, "ABCDHNUVXacdegobpqwv&×"),
    (0.97, "MWm%@GOQ—…½¼¾"),
)
_OTHER = 0.64
_ACCENTED = 1.08  # any other letter beyond plain ASCII
_WIDTH = {letter: width for width, letters in _ADVANCE for letter in letters}
_LAST_LATIN = 0x17F
_EXTRA = frozenset("–—−…“”‘’≥≤•")
_OVERHANG = 0.12


def text_width(text: str, size: float) -> float:
    """Room in pixels, never too small, of one line of text of that size."""
    return (sum(_width(letter) for letter in text) + _OVERHANG) * size


def _width(letter: str) -> float:
    return _WIDTH.get(letter, _OTHER if letter.isascii() else _ACCENTED)


def drawable(text: str) -> str:
    """The text on one line with `?` for what the letters cannot show."""
    return "".join(_drawable(letter) for letter in " ".join(text.split()))


def _drawable(letter: str) -> str:
    if letter == "|":  # it would start a new column
        return "¦"
    known = letter in _EXTRA or (letter.isprintable() and ord(letter) <= _LAST_LATIN)
    return letter if known else "?"


def shortened(text: str, size: float, room: float) -> str:
    """The text, cut with `…` where it is wider than `room` pixels."""
    if text_width(text, size) <= room:
        return text
    while text and text_width(text + "…", size) > room:
        text = text[:-1]
    return text.rstrip() + "…"
