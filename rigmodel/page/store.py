"""The sessions of one server: read from where they are kept when they are first wanted."""

from __future__ import annotations

import threading
from collections import OrderedDict
from pathlib import Path

from rigmodel.page.precedence import Precedence
from rigmodel.page.record import RecordFile
from rigmodel.page.session import Session
from rigmodel.page.shelf import Shelf, StoreError

MOST_OPEN = 32


class Store(Shelf):
    """A shelf whose sessions can be opened.

    Args:
        folder: where they are kept.

    Attributes:
        precedence: who goes first in this process.
    """

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.precedence = Precedence()
        self._open: OrderedDict[str, Session] = OrderedDict()
        self._opening: dict[str, threading.Lock] = {}
        self._lock = threading.Lock()

    def get(self, id: str) -> Session:
        """The session of that id, from memory or from disk.

        Raises:
            StoreError: there is none.
            DamagedError: there is one that cannot be read.
        """
        file = self.file(id)
        with self._lock:
            opening = self._opening.setdefault(id, threading.Lock())
        with opening:  # reading a scene takes a while, and holds up nobody else's
            try:
                session = self._used(id) or self._opened(id, file)
            finally:
                with self._lock:
                    self._opening.pop(id, None)
        session.refresh()
        return session

    def _used(self, id: str) -> Session | None:
        with self._lock:
            session = self._open.get(id)
            if session is not None:
                self._open.move_to_end(id)
            return session

    def _opened(self, id: str, file: RecordFile) -> Session:
        record = file.read()
        if record is None:
            raise StoreError("there is no such session here")
        home = Path(record.home) if record.home else self.files(id)
        session = Session(id, record, home, file, self.locks, self.precedence)
        with self._lock:
            self._open[id] = session
            while len(self._open) > MOST_OPEN:  # the one longest unused; it is on disk
                self._open.popitem(last=False)
        return session
