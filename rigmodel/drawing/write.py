"""Writes sheets to files, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from rigmodel.drawing.sheet import Sheet
from rigmodel.files import check_target, write_whole

Write = Callable[[Sequence[Sheet], Path, bool], tuple[Path, ...]]


def write_pdf(sheets: Sequence[Sheet], target: Path, replace: bool = False) -> tuple[Path, ...]:
    """Writes all sheets into one PDF.

    Args:
        sheets: what `drawings` returned.
        target: the file.
        replace: whether a file that is there may be written over.

    Returns:
        The files written.

    Raises:
        FileError: the file is there and may not be replaced, or cannot be written.
    """
    from rigmodel.drawing.pdf import pdf_bytes  # noqa: PLC0415

    check_target(target, replace)
    write_whole(target, pdf_bytes(sheets), replace)
    return (target,)


def write_svg(sheets: Sequence[Sheet], target: Path, replace: bool = False) -> tuple[Path, ...]:
    """Writes each sheet into an SVG of its own: `name.svg` becomes `name-1.svg` and so on.

    Args, returns and raises as `write_pdf`; no file is written if one of them may not be.
    """
    from rigmodel.drawing.svg import svg_text  # noqa: PLC0415

    named = [target.with_name(f"{target.stem}-{sheet.number}.svg") for sheet in sheets]
    for path in named:
        check_target(path, replace)
    for path, sheet in zip(named, sheets, strict=True):
        write_whole(path, svg_text(sheet).encode("utf-8"), replace)
    return tuple(named)


def write_dxf(sheets: Sequence[Sheet], target: Path, replace: bool = False) -> tuple[Path, ...]:
    """Writes all sheets into one DXF: views at 1:1 in model space, a layout for each sheet.

    Args, returns and raises as `write_pdf`.
    """
    from rigmodel.drawing.dxf import dxf_text  # noqa: PLC0415

    check_target(target, replace)
    write_whole(target, dxf_text(sheets).encode("utf-8"), replace)
    return (target,)


WRITERS: Mapping[str, Write] = MappingProxyType(
    {"pdf": write_pdf, "svg": write_svg, "dxf": write_dxf}
)
