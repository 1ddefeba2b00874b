"""What does not go together in a scene, with its place there."""

from __future__ import annotations

from dataclasses import dataclass

Loc = tuple[str | int, ...]


@dataclass(frozen=True)
class Problem:
    """Something in a scene that the catalogue or another part of the scene contradicts."""

    loc: Loc
    message: str
    expected: str = ""
    hint: str = ""
