"""Files are written whole or not at all, never over another one unasked, under names safe anywhere.

Several files that belong together are written all or not at all.
"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from rigmodel.errors import RigmodelError

# What Windows refuses in a file's name (from memory of Microsoft's "Naming Files, Paths, and
# Namespaces"): these characters, a dot or space at the end, and the names of devices.
_REFUSED = re.compile('[<>:"/\\\\|?*\x00-\x1f\x7f\ud800-\udfff]')
_DEVICE = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])\s*(\..*)?", re.I)
_LONGEST_STEM = 150  # bytes of UTF-8; file systems hold 255, and endings and temporary names join


class FileError(RigmodelError):
    """A file could not be written."""


def safe_stem(name: str) -> str:
    """`name` as the first part of a file's name that every system takes; the same where it is safe.

    What cannot stand in a name becomes a hyphen; a device's name gets one behind it.
    """
    stem = _REFUSED.sub("-", name)
    while len(stem.encode("utf-8")) > _LONGEST_STEM:
        stem = stem[:-1]
    stem = stem.rstrip(". ") or "rig"
    device = _DEVICE.fullmatch(stem)
    return f"{device[1]}-{stem[len(device[1]) :]}" if device else stem


def write_whole(path: Path, data: bytes, replace: bool = False) -> None:
    """Writes `data` to `path`, whole or not at all.

    Args:
        path: the file; its folder must be there.
        data: all of its bytes.
        replace: whether a file that is already there may be written over.

    Raises:
        FileError: a file is there and may not be replaced, or the folder cannot be written to.
    """
    write_all({path: data}, replace)


def write_all(contents: Mapping[Path, bytes], replace: bool = False) -> None:
    """Writes files that belong together: each whole, and all of them or none.

    Every file is first written under another name beside its place. Where one then cannot be put
    into its place, those that were are taken back, and what they replaced is there again.

    Args:
        contents: all bytes of each file; the folders must be there.
        replace: whether files that are already there may be written over.

    Raises:
        FileError: a file is there and may not be replaced, or a folder cannot be written to.
    """
    check_targets(contents, replace)
    staged: dict[Path, Path] = {}
    try:
        for path, data in contents.items():
            staged[path] = _beside(path)
            _fill(staged[path], data)
        _put(staged)
    except OSError as error:
        at = next((p for p, s in staged.items() if error.filename in (str(s), s, str(p), p)), None)
        raise FileError(f"cannot write {at or path}: {error.strerror}") from None
    finally:
        for left in staged.values():
            left.unlink(missing_ok=True)


def check_targets(paths: Iterable[Path], replace: bool = False) -> None:
    """Refuses targets that cannot be written, before any work is done for them.

    Raises:
        FileError: as `check_target`; where several files are there already, it says how many.
    """
    paths = list(paths)
    there = [path for path in paths if path.exists() and not path.is_dir()]
    if len(there) > 1 and not replace:
        names = f"{there[0]} and {len(there) - 1} more of its files are"
        raise FileError(f"{names} there already; give --force to write over them")
    for path in paths:
        check_target(path, replace)


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


def _beside(path: Path) -> Path:
    """A new, empty file in the same folder."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent or Path())
    except OSError as error:
        raise FileError(f"cannot write {path}: {error.strerror}") from None
    os.close(handle)
    return Path(name)


def _fill(path: Path, data: bytes) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


def _put(staged: Mapping[Path, Path]) -> None:
    """Moves each file into its place, or none."""
    kept: dict[Path, Path | None] = {}
    try:
        for path, new in staged.items():
            old = _set_aside(path) if len(staged) > 1 and path.exists() else None
            try:
                os.replace(new, path)
            except OSError:
                if old is not None:
                    old.unlink()
                raise
            kept[path] = old
    except OSError:
        for path, old in kept.items():
            if old is None:
                path.unlink()
            else:
                os.replace(old, path)
        kept.clear()
        raise
    finally:
        for old in kept.values():
            if old is not None:
                old.unlink()


def _set_aside(path: Path) -> Path:
    """What is at `path` under another name too, so that it can be brought back."""
    old = _beside(path)
    old.unlink()
    try:
        os.link(path, old)
    except OSError:  # a file system without links
        shutil.copy2(path, old)
    return old
