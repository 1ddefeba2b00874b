"""Keeps sessions in files of their own, so that a reload or a restart loses nothing."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from rigmodel.errors import RigmodelError
from rigmodel.files import safe_stem, write_whole
from rigmodel.page.record import DamagedError, Record, RecordFile, digest

_ID = re.compile(r"[A-Za-z0-9_-]{22}")
_RECORD, _FILES, _LOCKS = "session.json", "files", "locks"
_STEM = re.compile(r"[^\w.-]+")


class StoreError(RigmodelError):
    """There is no such session, or it cannot be kept."""


class Shelf:
    """Where sessions lie. Several servers may work on the same folder.

    Args:
        folder: where they are kept; made if it is not there, readable to its owner only.

    Raises:
        StoreError: the folder cannot be made.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as error:
            raise StoreError(f"cannot keep sessions in {folder}: {error.strerror}") from None

    @property
    def locks(self) -> Path:
        """Folder of the locks that servers hold while they write."""
        return self.folder / _LOCKS

    def keep(
        self,
        text: str,
        name: str,
        origin: Path | None = None,
        home: Path | None = None,
        files: Mapping[str, bytes] = MappingProxyType({}),
    ) -> str:
        """Keeps a new session for a scene, without reading the scene yet; its id.

        Args:
            text: the scene.
            name: its file name; only its last part is taken.
            origin: the file it was read from and may be saved to.
            home: folder of the scene's own catalogue and mesh files; one of the session's own if
                not given.
            files: such files to lay into that folder of its own, by safe path below it.

        Raises:
            FileError: it cannot be kept.
            StoreError: the same, where not even its folder can be made.
        """
        record = Record(
            file_name(name),
            text,
            home="" if home is None else str(home.resolve()),
            origin="" if origin is None else str(origin.resolve()),
            saved="" if origin is None else digest(origin.read_bytes()),
        )
        id = secrets.token_urlsafe(16)
        try:
            self.files(id).mkdir(mode=0o700, parents=True)
        except OSError as error:
            raise StoreError(f"cannot keep sessions in {self.folder}: {error.strerror}") from None
        for path, data in files.items():
            target = self.files(id) / path
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_whole(target, data)
        self.file(id).write(record, after=0)
        return id

    def kept_for(self, path: Path, text: str) -> str:
        """Id of the session last worked on for a file, if it still starts from what is there.

        A session with unsaved work on a file that has changed since is left alone; a new one is
        made, so that neither is lost.
        """
        origin, now = str(path.resolve()), digest(path.read_bytes())
        found = []
        for id in (p.name for p in self.folder.iterdir() if _ID.fullmatch(p.name)):
            file = self.file(id)
            try:
                record = file.read()
            except DamagedError:
                continue
            if record is not None and record.origin == origin and record.saved == now:
                found.append((file.path.stat().st_mtime_ns, id))
        return max(found)[1] if found else self.keep(text, path.name, path, path.parent)

    def files(self, id: str) -> Path:
        """Folder of a session's own catalogue and mesh files."""
        return self.folder / id / _FILES

    def file(self, id: str) -> RecordFile:
        """The file of a session's record.

        Raises:
            StoreError: there cannot be a session of that id.
        """
        if not _ID.fullmatch(id):
            raise StoreError("there is no such session here")
        return RecordFile(self.folder / id / _RECORD, self.locks)


def file_name(name: str) -> str:
    """A file name that is safe everywhere, made of the last part of what was given."""
    last = re.split(r"[/\\]", name)[-1]
    stem = re.sub(r"\.ya?ml$", "", last, flags=re.IGNORECASE)
    return safe_stem(_STEM.sub("-", stem).strip(".-")[:60] or "scene") + ".yaml"
