"""Sheets as files, all of them or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from rigmodel.drawing.sheet import Sheet
from rigmodel.files import write_all

Files = Callable[[Sequence[Sheet]], Mapping[str, bytes]]


def _pdf(sheets: Sequence[Sheet]) -> Mapping[str, bytes]:
    from rigmodel.drawing.pdf import pdf_bytes  # noqa: PLC0415

    return {".pdf": pdf_bytes(sheets)}


def _svg(sheets: Sequence[Sheet]) -> Mapping[str, bytes]:
    from rigmodel.drawing.svg import svg_text  # noqa: PLC0415

    return {f"-{sheet.number}.svg": svg_text(sheet).encode("utf-8") for sheet in sheets}


def _dxf(sheets: Sequence[Sheet]) -> Mapping[str, bytes]:
    from rigmodel.drawing.dxf import dxf_text  # noqa: PLC0415

    return {".dxf": dxf_text(sheets).encode("utf-8")}


# The bytes of each file by the ending of its name. All sheets go into one PDF, and into one DXF
# with views at 1:1 in model space and a layout for each sheet; each sheet is an SVG of its own.
FORMATS: Mapping[str, Files] = MappingProxyType({"pdf": _pdf, "svg": _svg, "dxf": _dxf})


def write_drawings(
    sheets: Sequence[Sheet], form: str, stem: Path, replace: bool = False
) -> tuple[Path, ...]:
    """Writes sheets into one file, or into one for each sheet.

    Args:
        sheets: what `drawings` returned.
        form: ``pdf``, ``svg`` or ``dxf``.
        stem: folder and first part of the names; ``a/rig`` gives ``a/rig.pdf``, or
            ``a/rig-1.svg`` and so on.
        replace: whether files that are there may be written over.

    Returns:
        The files written.

    Raises:
        FileError: a file is there and may not be replaced, or cannot be written.
    """
    made = FORMATS[form](sheets)
    files = {stem.with_name(stem.name + ending): data for ending, data in made.items()}
    write_all(files, replace)
    return tuple(files)
