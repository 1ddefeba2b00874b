"""What is kept of a session, and the file it is kept in, which several servers may share."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from filelock import FileLock, Timeout
from pydantic import Field, TypeAdapter, ValidationError

from rigmodel.errors import RigmodelError
from rigmodel.files import FileError, write_whole

MOST_STEPS = 200
MOST_KEPT = 4 * 1024 * 1024  # characters of history
_PATIENCE = 10.0  # seconds that another server may hold a file for


class ConflictError(RigmodelError):
    """The scene has been changed in another tab, or by another server, since it was last read."""


class DamagedError(RigmodelError):
    """The file of a session is there and cannot be read."""


@dataclass(frozen=True)
class Record:
    """What is kept on disk of a session.

    Attributes:
        name: file name of the scene, shown in faults and taken for downloads.
        text: the scene as it stands.
        version: counts the changes.
        unit: unit to answer in; empty for the scene's own.
        undo: earlier texts, oldest first.
        redo: texts undone, last undone at the end.
        origin: file the scene was opened from and can be saved to, or an empty string.
        saved: SHA-256 of the origin's bytes when it was last read or written.
        home: folder of the scene's own catalogue and mesh files; its session's own if empty.
    """

    name: str
    text: str
    version: Annotated[int, Field(ge=1)] = 1
    unit: str = ""
    undo: tuple[str, ...] = ()
    redo: tuple[str, ...] = ()
    origin: str = ""
    saved: str = ""
    home: str = ""


_RECORD = TypeAdapter(Record)


class RecordFile:
    """The file of one session's record.

    Args:
        path: the file; its folder must be there.
        locks: folder of the locks that servers hold while they write.
    """

    def __init__(self, path: Path, locks: Path) -> None:
        self.path = path
        self._locks = locks
        self._seen: tuple[int, int, int] | None = None

    @property
    def changed(self) -> bool:
        """Whether something else has written the file since it was last read or written here."""
        return self._stat() != self._seen

    def read(self) -> Record | None:
        """The record; None where there is no file.

        Raises:
            DamagedError: the file cannot be read as one.
        """
        # What is written in between is taken for changed once too often, never too seldom.
        seen = self._stat()
        record = self._there()
        if record is not None:
            self._seen = seen
        return record

    def _there(self) -> Record | None:
        try:
            return _RECORD.validate_json(self.path.read_bytes())
        except FileNotFoundError:
            return None
        except OSError as error:
            raise DamagedError(f"cannot read {self.path}: {error.strerror}") from None
        except ValidationError:
            raise DamagedError(
                f"{self.path} is damaged and cannot be read as a session. It was left as it is: "
                'the scene\'s text stands in it after "text"'
            ) from None

    def write(self, record: Record, after: int) -> None:
        """Writes the record in place of the version it was made from.

        Args:
            record: what to keep.
            after: version that must stand in the file; 0 where there must be no file.

        Raises:
            ConflictError: another version stands there; nothing is written.
            DamagedError: what stands there is gone or cannot be read; nothing is written.
            FileError: the file cannot be written; what stood there still does.
        """
        with locked(self._locks, str(self.path)):
            if after == 0 or self.changed:
                there = self._there()
                if there is None and after:
                    raise DamagedError(f"{self.path} is gone; nothing was written")
                if there is not None and there.version != after:
                    raise ConflictError(
                        "this scene has been changed by another server; the newest state is shown "
                        "now, and your last change was not made"
                    )
            write_whole(self.path, _RECORD.dump_json(record), replace=True)
            self._seen = self._stat()

    def _stat(self) -> tuple[int, int, int] | None:
        try:
            found = self.path.stat()
        except OSError:
            return None
        return found.st_ino, found.st_mtime_ns, found.st_size


@contextmanager
def locked(folder: Path, what: str) -> Iterator[None]:
    """Keeps other servers on the same folder from doing the same thing at the same time.

    Args:
        folder: where locks lie; made if it is not there.
        what: the thing, any text.

    Raises:
        FileError: the lock cannot be had.
    """
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        lock = FileLock(folder / digest(os.fsencode(what))[:32], timeout=_PATIENCE)
        lock.acquire()
    except Timeout:
        raise FileError(f"{what} has been held by another server for too long") from None
    except OSError as error:
        raise FileError(f"cannot write in {folder}: {error.strerror}") from None
    try:
        yield
    finally:
        lock.release()


def digest(data: bytes) -> str:
    """SHA-256 of some bytes."""
    return hashlib.sha256(data).hexdigest()


def history(texts: tuple[str, ...]) -> tuple[str, ...]:
    """The newest texts that fit into what is kept."""
    found: list[str] = []
    room = MOST_KEPT
    for text in reversed(texts[-MOST_STEPS:]):
        room -= len(text)
        if room < 0:
            break
        found.append(text)
    return tuple(found[::-1])
