"""Files are written whole or not at all, and never over another one unasked."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from rigmodel.errors import RigmodelError


class FileError(RigmodelError):
    """A file could not be written."""


def write_whole(path: Path, data: bytes, replace: bool = False) -> None:
    """Writes `data` to `path`, whole or not at all.

    Args:
        path: the file; its folder must be there.
        data: all of its bytes.
        replace: whether a file that is already there may be written over.

    Raises:
        FileError: a file is there and may not be replaced, or the folder cannot be written to.
    """
    check_target(path, replace)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent or Path())
    except OSError as error:
        raise FileError(f"cannot write {path}: {error.strerror}") from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, path)
    except OSError as error:
        os.unlink(name)
        raise FileError(f"cannot write {path}: {error.strerror}") from None


def check_target(path: Path, replace: bool = False) -> None:
    """Refuses a target that cannot be written, before any work is done for it.

    Raises:
        FileError: a file is there and may not be replaced, the target is a folder, or its folder
            is not there.
    """
    if path.is_dir():
        raise FileError(f"cannot write {path}: it is a folder")
    if path.exists() and not replace:
        raise FileError(f"{path} is there already; give --force to write over it")
    if not (path.parent or Path()).is_dir():
        raise FileError(f"cannot write {path}: there is no folder {path.parent}")
