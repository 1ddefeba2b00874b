"""A table of answers that forgets those not asked for lately."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Generic, TypeVar

_Key = TypeVar("_Key", bound=Hashable)
_Value = TypeVar("_Value")


class Recent(Generic[_Key, _Value]):
    """Answers by key, at most about twice `most` of them.

    New and found answers go into a young table. When that is full it becomes the old one, and
    what was in the old one and not asked for since is forgotten.

    Args:
        most: entries at which the young table is full.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._young: dict[_Key, _Value] = {}
        self._old: dict[_Key, _Value] = {}

    def __len__(self) -> int:
        return len(self._young.keys() | self._old.keys())

    def get(self, key: _Key) -> _Value | None:
        """The answer kept under a key, or None."""
        found = self._young.get(key)
        if found is None and self._old:
            found = self._old.get(key)
            if found is not None:
                self.keep(key, found)
        return found

    def keep(self, key: _Key, value: _Value) -> _Value:
        """Keeps an answer and returns it."""
        if len(self._young) >= self._most and key not in self._young:
            self._old, self._young = self._young, {}
        self._young[key] = value
        return value
