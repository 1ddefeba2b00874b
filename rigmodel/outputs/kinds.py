"""The kinds of output but pictures: what each is called, and how its bytes are made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rigmodel import __version__
from rigmodel.outputs.made import Made
from rigmodel.report.cautions import CAUTIONS


@dataclass(frozen=True)
class Output:
    """One file that can be made of a checked rig.

    Attributes:
        words: what it is.
        ending: of its name, behind the scene's own.
        media: its media type.
        make: makes its bytes.
    """

    words: str
    ending: str
    media: str
    make: Callable[[Made], bytes]


def _report(made: Made) -> bytes:
    from rigmodel.report.html import html_report  # noqa: PLC0415

    return html_report(made.assembly, made.findings, __version__).encode()


def _findings_text(made: Made) -> bytes:
    from rigmodel.report.terminal import findings_text  # noqa: PLC0415

    return findings_text(made.findings, made.assembly.scene.unit).encode()


def _findings_json(made: Made) -> bytes:
    from rigmodel.report.as_json import findings_json  # noqa: PLC0415
    from rigmodel.report.loads_json import loads_object  # noqa: PLC0415

    loads = loads_object(made.assembly, made.account)
    return findings_json(made.findings, loads).encode()


def _drawings(form: str) -> Callable[[Made], bytes]:
    def make(made: Made) -> bytes:
        from rigmodel.drawing.write import FORMATS  # noqa: PLC0415

        (data,) = FORMATS[form](made.drawings).values()
        return data

    return make


def _parts_book(made: Made) -> bytes:
    from rigmodel.shop.files import parts_xlsx  # noqa: PLC0415

    return parts_xlsx(made.listing, CAUTIONS)


def _parts_csv(made: Made) -> bytes:
    from rigmodel.shop.files import parts_csv  # noqa: PLC0415

    return parts_csv(made.listing)


def _model(kind: str) -> Callable[[Made], bytes]:
    def make(made: Made) -> bytes:
        from rigmodel.export.write import ExportFormat, model_bytes  # noqa: PLC0415

        return model_bytes(made.assembly, made.findings, ExportFormat(kind))

    return make


_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
OUTPUTS: Mapping[str, Output] = MappingProxyType(
    {
        "findings": Output("Findings (text)", "-findings.txt", "text/plain", _findings_text),
        "json": Output("Findings (JSON)", "-findings.json", "application/json", _findings_json),
        "report": Output("Report (HTML)", ".html", "text/html", _report),
        "drawings": Output("Drawings (PDF)", "-drawings.pdf", "application/pdf", _drawings("pdf")),
        "dxf": Output("Drawings (DXF)", "-drawings.dxf", "image/vnd.dxf", _drawings("dxf")),
        "list": Output("Parts, fasteners, cuts (XLSX)", "-list.xlsx", _XLSX, _parts_book),
        "parts": Output("Parts list (CSV)", "-parts.csv", "text/csv", _parts_csv),
        "glb": Output("3D file (GLB)", ".glb", "model/gltf-binary", _model("glb")),
        "stl": Output("3D file (STL)", ".stl", "model/stl", _model("stl")),
        "3mf": Output("3D file (3MF)", ".3mf", "model/3mf", _model("3mf")),
        "sheet": Output(
            "Setup sheet (PDF)", "-sheet.pdf", "application/pdf", lambda made: made.setup_sheet[0]
        ),
        "sheet-html": Output(
            "Setup sheet (HTML)", "-sheet.html", "text/html", lambda made: made.setup_sheet[1]
        ),
    }
)


def drawing_pages(made: Made) -> Mapping[str, bytes]:
    """The drawings as SVG, a file for each sheet, by the ending of its name."""
    from rigmodel.drawing.write import FORMATS  # noqa: PLC0415

    return {f"-drawings{ending}": data for ending, data in FORMATS["svg"](made.drawings).items()}
