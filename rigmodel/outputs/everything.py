"""`write_everything`: every output of one rig, from one load and one check, all or none."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.files import FileError, check_targets, write_all
from rigmodel.outputs.kinds import OUTPUTS, drawing_pages
from rigmodel.outputs.made import Made
from rigmodel.outputs.pictures import ENDINGS, Pictures


@dataclass(frozen=True)
class Written:
    """What was written.

    Attributes:
        files: all files, in order of their names.
        no_pictures: why there are no pictures, or an empty string.
        left: drawings of an earlier run that are still there and no longer belong to the rig.
    """

    files: tuple[Path, ...]
    no_pictures: str
    left: tuple[Path, ...]


def write_everything(
    read: Callable[[], tuple[Assembly, Findings]],
    folder: Path,
    stem: str,
    replace: bool = False,
    told: Callable[[str], None] = lambda _: None,
) -> tuple[Findings, Written]:
    """Writes every output of a rig into one folder, which is made if it is not there.

    Where no picture can be drawn on this machine, everything else is written and says so.

    Args:
        read: gives the rig and what was found in it; called once, when drawing has been started.
        folder: where to; the folder it lies in must be there.
        stem: first part of the files' names.
        replace: whether files that are there may be written over.
        told: called with what is being made.

    Returns:
        What was found, and what was written.

    Raises:
        FileError: a file is there already or cannot be written; nothing is left behind.
        SheetError: PDFs cannot be made here; nothing is left behind.
    """
    known = (*(output.ending for output in OUTPUTS.values()), *ENDINGS)
    if folder.exists() and not folder.is_dir():
        raise FileError(f"cannot write into {folder}: it is a file")
    if folder.is_dir():
        check_targets([folder / f"{stem}{ending}" for ending in known], replace)
    elif not (folder.parent or Path()).is_dir():
        raise FileError(f"cannot make the folder {folder}: there is no folder {folder.parent}")
    with Pictures() as pictures:
        assembly, findings = read()
        pictures.begin(assembly, findings, told)
        made = Made(assembly, findings, pictures.of_sheet)
        contents = {}
        for output in OUTPUTS.values():
            told(output.words)
            contents[output.ending] = output.make(made)
        told("Drawings (SVG)")
        contents |= drawing_pages(made)
        contents |= pictures.of_views()
    files = {folder / f"{stem}{ending}": data for ending, data in sorted(contents.items())}
    told(f"writing {len(files)} files")
    _write(folder, files, replace)
    page = re.compile(re.escape(stem) + r"-drawings-\d+\.svg")
    left = (p for p in sorted(folder.iterdir()) if page.fullmatch(p.name) and p not in files)
    return findings, Written(tuple(files), pictures.why_not, tuple(left))


def _write(folder: Path, files: dict[Path, bytes], replace: bool) -> None:
    new = not folder.is_dir()
    if new:
        try:
            folder.mkdir()
        except OSError as error:
            raise FileError(f"cannot make the folder {folder}: {error.strerror}") from None
    try:
        write_all(files, replace)
    except FileError:
        if new:
            folder.rmdir()
        raise
