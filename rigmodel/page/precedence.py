"""Lets what a fitter waits for go before what nobody waits for, within one process."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_PATIENCE = 0.5  # seconds that one step of the rest is held up for at most, so that it ends too


class Precedence:
    """Who goes first. Work that can wait asks between its steps, and stands still meanwhile.

    Looking for garbage is such work too: of several open rigs it takes longer than an answer.
    """

    def __init__(self) -> None:
        self._first = 0
        self._change = threading.Condition()
        self._collects = False

    @contextmanager
    def first(self) -> Iterator[None]:
        """While this is held, somebody waits for an answer."""
        with self._change:
            if self._first == 0:
                self._collects = gc.isenabled()
                gc.disable()
            self._first += 1
        try:
            yield
        finally:
            with self._change:
                self._first -= 1
                if self._first == 0 and self._collects:
                    gc.enable()
                self._change.notify_all()

    def give_way(self) -> None:
        """Returns when nobody waits for an answer, or after a while."""
        with self._change:
            self._change.wait_for(lambda: self._first == 0, _PATIENCE)
