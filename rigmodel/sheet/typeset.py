"""Typesets a page template with data: a PDF with the same bytes for the same data.

What a user wrote goes into the data as text; a template never reads it as markup.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from rigmodel.errors import RigmodelError
from rigmodel.lines import bound

TEMPLATES = Path(__file__).parent / "data"
_LETTERS = "font_source_sans_pro"


class SheetError(RigmodelError):
    """A sheet could not be made; the message is one line."""


def pdf(template: str, data: Mapping[str, Any], pictures: Mapping[str, bytes]) -> bytes:
    """A page template filled with data.

    Args:
        template: its name, such as ``sheet.typ``.
        data: plain values; the template reads them from ``data.json``.
        pictures: files the template may show, by name.

    Raises:
        SheetError: the typesetter or its letters are not installed, or it refused the template.
    """
    if find_spec("typst") is None:
        raise SheetError("cannot make a PDF: the Python package typst is not installed")
    import typst  # noqa: PLC0415 - only sheets need it

    with tempfile.TemporaryDirectory(prefix="rigmodel-") as name:
        folder = Path(name)
        for page in TEMPLATES.glob("*.typ"):
            (folder / page.name).write_bytes(page.read_bytes())
        (folder / "data.json").write_text(json.dumps(_unbroken(data)), encoding="utf-8")
        for file, content in pictures.items():
            (folder / file).write_bytes(content)
        try:
            made = typst.compile(
                folder / template,
                root=folder,
                font_paths=[letters()],
                ignore_system_fonts=True,
                format="pdf",
            )
        except typst.TypstError as error:
            raise SheetError(f"cannot make a PDF: {error}") from None
    return bytes(made)


def _unbroken(value: Any) -> Any:
    """The same data, its measures kept on one line each."""
    if isinstance(value, str):
        return bound(value)
    if isinstance(value, Mapping):
        return {key: _unbroken(inner) for key, inner in value.items()}
    return [_unbroken(inner) for inner in value] if isinstance(value, list | tuple) else value


def letters() -> Path:
    """Folder of the fonts that pages are set in.

    Raises:
        SheetError: the package that holds them is not installed.
    """
    found = find_spec(_LETTERS)
    if found is None or not found.submodule_search_locations:
        raise SheetError("cannot make a PDF: the Python package font-source-sans-pro is missing")
    return Path(found.submodule_search_locations[0]) / "files"
