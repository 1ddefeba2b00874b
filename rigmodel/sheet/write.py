"""`write_sheet`: the setup sheet of a checked rig as PDF and HTML."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.files import check_targets, write_all
from rigmodel.sheet.content import NO_ORDER, Sheet, sheet_content
from rigmodel.sheet.page import sheet_html
from rigmodel.sheet.typeset import pdf
from rigmodel.view.describe import describe
from rigmodel.view.options import PictureError, PictureOptions, View
from rigmodel.view.render import png_of

MOST_PAGES = 3
# It is printed a hand wide: its letters are to be read at arm's length all the same.
SHEET_PICTURE = PictureOptions(View.THREE_QUARTER, 1040, 800, letters=2.0)
_PAGE = re.compile(rb"/Type\s*/Page\b(?!s)")
_FILE = "picture.png"


def sheet_picture(assembly: Assembly, findings: Findings) -> tuple[bytes, str]:
    """The picture on the sheet as a PNG, and an empty text; or no bytes and why there is none."""
    try:
        return png_of(describe(assembly, findings, SHEET_PICTURE)), ""
    except PictureError as error:
        return b"", str(error)


def sheet_pdf(sheet: Sheet, picture: bytes, no_picture: str = "") -> bytes:
    """The sheet as a PDF: three pages, with a smaller picture where that is needed for it.

    A rig with more than some two dozen clamps needs more pages; marks are not printed smaller.

    Args:
        sheet: what stands on it.
        picture: a PNG; empty for none.
        no_picture: why there is no picture.

    Raises:
        SheetError: PDFs cannot be made here.
    """
    made = b""
    for tight in range(3):
        data = {
            "sheet": asdict(sheet),
            "picture": _FILE if picture else "",
            "no_picture": no_picture,
            "no_order": NO_ORDER,
            "tight": tight,
        }
        made = pdf("sheet.typ", data, {_FILE: picture} if picture else {})
        if page_count(made) <= MOST_PAGES:
            break
    return made


def page_count(made: bytes) -> int:
    """How many pages a PDF from our own typesetter has."""
    return len(_PAGE.findall(made))


def write_sheet(
    assembly: Assembly, findings: Findings, folder: Path, stem: str, replace: bool
) -> tuple[Path, Path]:
    """Writes the setup sheet of a checked rig as ``STEM-sheet.pdf`` and ``STEM-sheet.html``.

    Where no picture can be drawn, the sheet says so and why.

    Args:
        assembly: the rig.
        findings: what `check` found.
        folder: where to; it must be there.
        stem: first part of the files' names.
        replace: whether files that are there may be written over.

    Returns:
        The PDF and the HTML file.

    Raises:
        SheetError: PDFs cannot be made here.
        FileError: a file is there already or cannot be written.
    """
    targets = (folder / f"{stem}-sheet.pdf", folder / f"{stem}-sheet.html")
    check_targets(targets, replace)
    with ThreadPoolExecutor(1) as drawing:  # another process draws while this one writes
        drawn = drawing.submit(sheet_picture, assembly, findings)
        sheet = sheet_content(assembly, findings)
        picture, no_picture = drawn.result()
    pages = sheet_pages(sheet, picture, no_picture)
    write_all(dict(zip(targets, pages, strict=True)), replace)
    return targets


def sheet_pages(sheet: Sheet, picture: bytes, no_picture: str = "") -> tuple[bytes, bytes]:
    """The sheet as PDF and as HTML; arguments and errors as of `sheet_pdf`."""
    return (
        sheet_pdf(sheet, picture, no_picture),
        sheet_html(sheet, picture, no_picture).encode(),
    )
