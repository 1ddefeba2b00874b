"""Keeps sessions in files of their own, so that a reload or a restart loses nothing."""

from __future__ import annotations

import json
import os
import re
import secrets
import threading
from dataclasses import asdict
from pathlib import Path

from rigmodel.errors import RigmodelError
from rigmodel.files import write_whole
from rigmodel.page.session import Record, Session, digest

_ID = re.compile(r"[A-Za-z0-9_-]{22}")
_RECORD, _FILES = "session.json", "files"
_STEM = re.compile(r"[^\w.-]+")
MOST_OPEN = 32


class StoreError(RigmodelError):
    """There is no such session, or it cannot be kept."""


def usual_folder() -> Path:
    """Where sessions are kept if nothing else is said."""
    base = os.environ.get("XDG_STATE_HOME", "")
    return (Path(base) if base else Path.home() / ".local" / "state") / "rigmodel" / "page"


class Store:
    """All sessions of one server.

    Args:
        folder: where they are kept; made if it is not there, readable to its owner only.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise StoreError(f"cannot keep sessions in {folder}: {error.strerror}") from None
        self._open: dict[str, Session] = {}
        self._lock = threading.Lock()

    def create(
        self, text: str, name: str, origin: Path | None = None, home: Path | None = None
    ) -> Session:
        """A new session for a scene.

        Args:
            text: the scene.
            name: its file name; only its last part is taken.
            origin: the file it was read from and may be saved to.
            home: folder of the scene's own catalogue and mesh files.
        """
        record = Record(file_name(name), text, home="" if home is None else str(home.resolve()))
        if origin is not None:
            record.origin = str(origin.resolve())
            record.saved = digest(origin.read_bytes())
        return self._add(secrets.token_urlsafe(16), record)

    def for_file(self, path: Path, text: str) -> Session:
        """The session that was last opened for a file, if it still starts from what is there.

        A session with unsaved work on a file that has changed since is left alone; a new one is
        made, so that neither is lost.
        """
        origin, now = str(path.resolve()), digest(path.read_bytes())
        for id in sorted(p.name for p in self.folder.iterdir() if _ID.fullmatch(p.name)):
            record = self._record(id)
            if record is not None and record.origin == origin and record.saved == now:
                return self.get(id)
        return self.create(text, path.name, path, path.parent)

    def get(self, id: str) -> Session:
        """The session of that id, from memory or from disk.

        Raises:
            StoreError: there is none.
        """
        with self._lock:
            if id in self._open:
                return self._open[id]
            record = self._record(id)
            if record is None:
                raise StoreError("there is no such session here")
            return self._opened(id, record)

    def _add(self, id: str, record: Record) -> Session:
        with self._lock:
            (self.folder / id / _FILES).mkdir(mode=0o700, parents=True)
            self._write(id, record)
            return self._opened(id, record)

    def _opened(self, id: str, record: Record) -> Session:
        home = Path(record.home) if record.home else self.folder / id / _FILES
        session = Session(id, record, home, lambda kept: self._write(id, kept))
        while len(self._open) >= MOST_OPEN:  # the one opened first; it is on disk
            del self._open[next(iter(self._open))]
        self._open[id] = session
        return session

    def _write(self, id: str, record: Record) -> None:
        data = json.dumps(asdict(record)).encode()
        write_whole(self.folder / id / _RECORD, data, replace=True)

    def _record(self, id: str) -> Record | None:
        if not _ID.fullmatch(id):
            return None
        try:
            told = json.loads((self.folder / id / _RECORD).read_bytes())
            return Record(**told)
        except (OSError, ValueError, TypeError):
            return None


def file_name(name: str) -> str:
    """A file name that is safe everywhere, made of the last part of what was given."""
    last = re.split(r"[/\\]", name)[-1]
    clean = _STEM.sub("-", last).strip(".-")[:60] or "scene"
    stem = re.sub(r"\.ya?ml$", "", clean, flags=re.IGNORECASE) or "scene"
    return f"{stem}.yaml"
