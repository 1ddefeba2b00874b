"""3MF: one named object for each part, mm, z up.

Written after the 3MF Core Specification 1.3 (from memory): a ZIP package with the content types,
one relationship to the model, and the model as XML.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from meshes_generic.mesh import Mesh
from rigmodel.assembly.rig import Assembly
from rigmodel.export.bodies import chief_material, in_world
from rigmodel.export.looks import MATERIALS
from rigmodel.report.cautions import CAUTIONS

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
_MODEL_LINK = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_MODEL = "3D/3dmodel.model"
_XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
_TYPES = (
    f'{_XML}<Types xmlns="{_PACKAGE}/content-types">'
    '<Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Default Extension="model" ContentType="{_MODEL_TYPE}"/></Types>'
)
_LINKS = (
    f'{_XML}<Relationships xmlns="{_PACKAGE}/relationships">'
    f'<Relationship Target="/{_MODEL}" Id="rel0" Type="{_MODEL_LINK}"/></Relationships>'
)
_WHEN = (1980, 1, 1, 0, 0, 0)  # equal scenes give equal bytes, whenever they are written
_PALETTE_ID = 1


def threemf_bytes(assembly: Assembly) -> bytes:
    """All parts at work as a 3MF package."""
    model = _XML + "\n".join(_model(assembly)) + "\n"
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as package:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _LINKS)):
            _add(package, name, text)
        _add(package, _MODEL, model)
    return packed.getvalue()


def _add(package: zipfile.ZipFile, name: str, text: str) -> None:
    entry = zipfile.ZipInfo(name, _WHEN)
    entry.compress_type = zipfile.ZIP_DEFLATED
    package.writestr(entry, text.encode("utf-8"))


def _model(assembly: Assembly) -> Iterator[str]:
    yield f'<model unit="millimeter" xml:lang="en" xmlns="{_CORE}">'
    for name, text in (
        ("Title", assembly.scene.spec.name),
        ("Application", "rigmodel"),
        ("Description", " ".join(CAUTIONS)),
    ):
        yield f'<metadata name="{name}">{escape(text)}</metadata>'
    yield "<resources>"
    yield f'<basematerials id="{_PALETTE_ID}">'
    for material, colour in MATERIALS.items():
        yield f'<base name="{material.value}" displaycolor="{colour.upper()}"/>'
    yield "</basematerials>"
    places = {material: i for i, material in enumerate(MATERIALS)}
    items = []
    for number, (part, mesh) in enumerate(in_world(assembly), start=_PALETTE_ID + 1):
        yield (
            f'<object id="{number}" type="model" name={quoteattr(part.name)} '
            f'pid="{_PALETTE_ID}" pindex="{places[chief_material(part)]}">'
        )
        yield from _mesh(mesh)
        yield "</object>"
        items.append(f'<item objectid="{number}"/>')
    yield "</resources>"
    yield "<build>"
    yield from items
    yield "</build>"
    yield "</model>"


def _mesh(mesh: Mesh) -> Iterator[str]:
    yield "<mesh><vertices>"
    for x, y, z in mesh.vertices.round(6).tolist():
        yield f'<vertex x="{x:.8g}" y="{y:.8g}" z="{z:.8g}"/>'
    yield "</vertices><triangles>"
    for a, b, c in mesh.faces.tolist():
        yield f'<triangle v1="{a}" v2="{b}" v3="{c}"/>'
    yield "</triangles></mesh>"
