"""Text in lines that a measure, a part's name or a dash never falls apart over.

Broken after its whole number, ``1 1/4 in`` reads as a quarter inch on the next line.
"""

from __future__ import annotations

import re
import textwrap

_SPACE, _BOUND = " ", "\u00a0"
_MEASURE = re.compile(
    r"(?<![\w.,/])[±+-]?"
    r"(?:\d+ ft )?"  # feet before inches,
    r"(?:(?:\d+ )?\d+/\d+|\d[\d.,]*)"  # a fraction, with a whole number or without, or decimals,
    r"(?: (?:mm|cm|m|in|ft|°|%|kg|lbf ft|lbf|lb|N m|Nm|N|kN|MPa|ksi|kW|hp|km/h|mph)(?!\w))?"
)


def bound(text: str) -> str:
    """The text with spaces inside measures made spaces that no line breaks at (U+00A0)."""
    return _MEASURE.sub(lambda found: found.group().replace(_SPACE, _BOUND), text)


def wrapped(text: str, width: int, rest: int = 0) -> list[str]:
    """Lines of so many columns, broken between words only; one at least.

    Args:
        text: to be broken; spaces before it stay before the first line.
        width: columns; a longer word stands over it.
        rest: spaces before all lines but the first.
    """
    lines = textwrap.wrap(
        bound(text),
        width,
        subsequent_indent=_SPACE * rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_BOUND, _SPACE) for line in lines] or [""]
