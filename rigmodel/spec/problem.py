"""What does not go together in a scene, with its place there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rigmodel.catalog.store import nearest

Loc = tuple[str | int, ...]


@dataclass(frozen=True)
class Problem:
    """Something in a scene that the catalogue or another part of the scene contradicts."""

    loc: Loc
    message: str
    expected: str = ""
    hint: str = ""


def unknown(loc: Loc, word: str, what: str, choices: Iterable[str]) -> Problem:
    """An id that the catalogue does not hold, with those it holds."""
    names = sorted(choices)
    near = nearest(word, names)
    return Problem(
        loc,
        f"no {what} called '{word}' in the catalogue",
        f"one of {', '.join(names[:8])}{' …' if len(names) > 8 else ''}",
        near,
    )
