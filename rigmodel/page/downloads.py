"""Files to take away, made from the same assembly and findings as the page."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from types import MappingProxyType

from rigmodel import __version__
from rigmodel.page.checking import Checked
from rigmodel.report.cautions import CAUTIONS


@dataclass(frozen=True)
class Download:
    """One file that can be taken away.

    Attributes:
        words: what it is.
        ending: of its name, behind the scene's own.
        media: its media type.
        make: makes its bytes.
    """

    words: str
    ending: str
    media: str
    make: Callable[[Checked], bytes]


def _report(checked: Checked) -> bytes:
    from rigmodel.report.html import html_report  # noqa: PLC0415

    return html_report(checked.assembly, checked.findings, __version__).encode()


def _sheet_pdf(checked: Checked) -> bytes:
    return _sheet(checked, 0)


def _sheet_page(checked: Checked) -> bytes:
    return _sheet(checked, 1)


def _sheet(checked: Checked, which: int) -> bytes:
    from rigmodel.sheet.write import write_sheet  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        made = write_sheet(checked.assembly, checked.findings, Path(folder), "rig", False)
        return made[which].read_bytes()


def _drawings(checked: Checked) -> bytes:
    from rigmodel.drawing.draw import drawings  # noqa: PLC0415
    from rigmodel.drawing.pdf import pdf_bytes  # noqa: PLC0415

    return pdf_bytes(drawings(checked.assembly))


def _parts_csv(checked: Checked) -> bytes:
    from rigmodel.shop.files import write_parts_csv  # noqa: PLC0415
    from rigmodel.shop.listing import shop_list  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "parts.csv"
        write_parts_csv(shop_list(checked.assembly), path)
        return path.read_bytes()


def _parts_book(checked: Checked) -> bytes:
    from rigmodel.shop.files import write_parts_xlsx  # noqa: PLC0415
    from rigmodel.shop.listing import shop_list  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "list.xlsx"
        write_parts_xlsx(shop_list(checked.assembly), path, CAUTIONS)
        return path.read_bytes()


def _model(kind: str) -> Callable[[Checked], bytes]:
    def make(checked: Checked) -> bytes:
        from rigmodel.export import ExportFormat  # noqa: PLC0415
        from rigmodel.export.write import model_bytes  # noqa: PLC0415

        return model_bytes(checked.assembly, checked.findings, ExportFormat(kind))

    return make


_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
DOWNLOADS: Mapping[str, Download] = MappingProxyType(
    {
        "report": Download("Report (HTML)", ".html", "text/html", _report),
        "sheet": Download("Setup sheet (PDF)", "-sheet.pdf", "application/pdf", _sheet_pdf),
        "sheet-html": Download("Setup sheet (HTML)", "-sheet.html", "text/html", _sheet_page),
        "drawings": Download("Drawings (PDF)", "-drawings.pdf", "application/pdf", _drawings),
        "list": Download("Parts, fasteners, cuts (XLSX)", "-list.xlsx", _XLSX, _parts_book),
        "parts": Download("Parts list (CSV)", "-parts.csv", "text/csv", _parts_csv),
        "glb": Download("3D file (GLB)", ".glb", "model/gltf-binary", _model("glb")),
        "stl": Download("3D file (STL)", ".stl", "model/stl", _model("stl")),
        "3mf": Download("3D file (3MF)", ".3mf", "model/3mf", _model("3mf")),
    }
)


def offered() -> Mapping[str, Download]:
    """What can be made here; drawings only where what draws them is installed."""
    drawn = find_spec("rigmodel.drawing") is not None and find_spec("reportlab") is not None
    return {name: d for name, d in DOWNLOADS.items() if drawn or name != "drawings"}
