"""What is written can be read back: PDF, SVG and DXF, for inches and millimetres."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.entities import Dimension as DimensionEntity
from pypdf import PdfReader

from rigmodel.assembly.rig import Assembly
from rigmodel.drawing.draw import drawings
from rigmodel.drawing.dxf import dxf_text
from rigmodel.drawing.lettering import MISSING, on_paper
from rigmodel.drawing.pdf import pdf_bytes
from rigmodel.drawing.primitives import PENS, Dimension, Layer, Ordinate
from rigmodel.drawing.sheet import Paper, Sheet
from rigmodel.drawing.svg import svg_text
from rigmodel.drawing.write import FORMATS, write_drawings
from rigmodel.files import FileError
from rigmodel.units import format_setting

SVG = "{http://www.w3.org/2000/svg}"
UNITS = [("inches", 1, 25.4), ("millimetres", 4, 1.0)]  # INSUNITS codes of the DXF reference


Made = Callable[[str], tuple[Sheet, ...]]
Read = Callable[[str], Drawing]


@pytest.fixture(scope="module")
def made(inches: Assembly, millimetres: Assembly, perforated: Assembly) -> Made:
    """Gives the sheets of an assembly; each is drawn once."""
    known = {"inches": inches, "millimetres": millimetres, "perforated": perforated}
    return cache(lambda name: drawings(known[name], date="2025-01-31"))


@pytest.fixture(scope="module")
def written(made: Made) -> Read:
    """Gives the DXF of an assembly, read back; each is written once."""
    return cache(lambda name: _read(dxf_text(made(name))))


def _read(text: str) -> Drawing:
    return ezdxf.read(io.StringIO(text))


def _wanted(sheets: tuple[Sheet, ...]) -> list[float]:
    return [
        item.measured_mm
        for sheet in sheets
        for view in sheet.views
        for item in view.items
        if isinstance(item, Dimension | Ordinate)
    ]


def _measurement(entity: DimensionEntity) -> float:
    found = entity.get_measurement()
    return float(abs(found if isinstance(found, float) else found.x))


@pytest.mark.parametrize(("name", "code", "size"), UNITS)
def test_dxf_is_sound_and_in_its_unit(
    name: str, code: int, size: float, made: Made, written: Read
) -> None:
    sheets, document = made(name), written(name)
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    assert document.header["$INSUNITS"] == code
    assert document.header["$MEASUREMENT"] == (0 if code == 1 else 1)
    assert list(document.layout_names())[1:] == [f"{s.number} {s.name}" for s in sheets]
    for layer in Layer:
        entry = document.layers.get(layer.value.upper())
        assert entry.dxf.lineweight == round(PENS[layer].weight_mm * 100)


@pytest.mark.parametrize(("name", "code", "size"), UNITS)
def test_dxf_dimensions_are_real_and_measure_the_assembly(
    name: str, code: int, size: float, made: Made, written: Read
) -> None:
    sheets, document = made(name), written(name)
    found = list(document.modelspace().query("DIMENSION"))
    measured = [_measurement(entity) for entity in found]
    assert measured == pytest.approx([mm / size for mm in _wanted(sheets)], abs=1e-9)
    for entity in found:
        assert entity.dxf.geometry in document.blocks
        assert document.blocks[entity.dxf.geometry].query("TEXT")
        style = document.dimstyles.get(entity.dxf.dimstyle)
        post = entity.override().get("dimpost")
        assert post == ("<> in" if code == 1 else "<> mm")
        assert style.dxf.dimlunit == (5 if code == 1 else 2)
        assert "<>" in entity.dxf.text or entity.dxf.text == ""


@pytest.mark.parametrize(("name", "code", "size"), UNITS)
def test_dxf_windows_show_model_space_to_scale(
    name: str, code: int, size: float, made: Made, written: Read
) -> None:
    sheets, document = made(name), written(name)
    for sheet in sheets:
        layout = document.layout(f"{sheet.number} {sheet.name}")
        windows = [w for w in layout.query("VIEWPORT") if w.dxf.id != 1]
        assert len(windows) == len(sheet.views)
        for window, view in zip(windows, sheet.views, strict=True):
            assert window.dxf.view_height / window.dxf.height == pytest.approx(view.scale / size)


@pytest.mark.parametrize("name", ["inches", "millimetres", "perforated"])
def test_pdf_has_every_text_on_pages_of_true_size(
    name: str, request: pytest.FixtureRequest
) -> None:
    assembly: Assembly = request.getfixturevalue(name)
    sheets = drawings(assembly, Paper.A4, "2025-01-31")
    reader = PdfReader(io.BytesIO(pdf_bytes(sheets)))
    assert len(reader.pages) == len(sheets)
    for page, sheet in zip(reader.pages, sheets, strict=True):
        size = (float(page.mediabox.width), float(page.mediabox.height))
        assert size == pytest.approx([mm * 72.0 / 25.4 for mm in sheet.paper.size_mm], abs=0.01)
        words = page.extract_text()
        assert on_paper(assembly.scene.spec.name)[:20] in words
        assert f"{sheet.number} of {len(sheets)}" in words
    everything = "\n".join(page.extract_text() for page in reader.pages)
    for row in assembly.clamps:
        assert format_setting(abs(row.centre_mm), assembly.scene.unit) in everything


def test_pdf_embeds_its_letters(made: Made) -> None:
    reader = PdfReader(io.BytesIO(pdf_bytes(made("inches"))))
    fonts = reader.pages[1]["/Resources"]["/Font"].values()  # type: ignore[index]
    used = [font.get_object() for font in fonts]
    embedded = [font for font in used if "FontDescriptor" in str(font)]
    assert embedded
    for font in embedded:
        assert "/FontFile2" in font["/FontDescriptor"].get_object()
        assert "/ToUnicode" in font


def test_same_assembly_gives_same_bytes(inches: Assembly, made: Made) -> None:
    again = drawings(inches, date="2025-01-31")
    sheets = made("inches")
    assert again == sheets
    assert pdf_bytes(again) == pdf_bytes(sheets)


@pytest.mark.parametrize("name", ["inches", "millimetres", "perforated"])
def test_svg_is_xml_with_every_text_and_layer(name: str, made: Made) -> None:
    for sheet in made(name):
        root = ElementTree.fromstring(svg_text(sheet))
        width, height = sheet.paper.size_mm
        assert root.get("width") == f"{width:g}mm"
        assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
        texts = [element.text for element in root.iter(f"{SVG}text")]
        assert sheet.title in [text for text in texts if text] or len(sheet.title) > 40
        groups = {element.get("id") for element in root.iter(f"{SVG}g")}
        assert {"frame", "text", "table", "dimension"} <= groups
        assert groups <= {layer.value for layer in Layer}


def test_a_wild_title_comes_through_every_writer(
    made: Made, written: Read, wild_title: str
) -> None:
    sheets = made("perforated")
    wanted = wild_title.replace("中", MISSING)
    assert sheets[0].title == wanted
    assert wanted in (PdfReader(io.BytesIO(pdf_bytes(sheets))).pages[0].extract_text())
    assert wanted in [
        e.text for e in ElementTree.fromstring(svg_text(sheets[0])).iter(f"{SVG}text")
    ]
    document = written("perforated")
    assert not document.audit().errors
    texts = [e.dxf.text for e in document.layout("1 General arrangement").query("TEXT")]
    assert any("Größe Ряды <b>" in text for text in texts)
    assert not any("%%" in text for text in texts)


def test_feet_keep_their_own_text_in_dxf(inches: Assembly) -> None:
    """A CAD program would tell them in inches."""
    spec = inches.scene.spec.model_copy(update={"units": "ft"})
    sheets = drawings(replace(inches, scene=replace(inches.scene, spec=spec)))
    document = _read(dxf_text(sheets))
    assert document.header["$INSUNITS"] == 1
    bases = [e for e in document.modelspace().query("DIMENSION") if e.dxf.text == "wheelbase 7 ft"]
    assert _measurement(bases[0]) == pytest.approx(84.0)


@pytest.mark.parametrize("form", list(FORMATS))
def test_files_are_not_written_over_unasked(form: str, made: Made, tmp_path: Path) -> None:
    sheets = made("inches")
    stem = tmp_path / "rig"
    written = write_drawings(sheets, form, stem)
    assert all(path.stat().st_size > 1000 for path in written)
    before = {path: path.read_bytes() for path in written}
    with pytest.raises(FileError, match="--force"):
        write_drawings(sheets, form, stem)
    assert {path: path.read_bytes() for path in written} == before
    assert write_drawings(sheets, form, stem, True) == written
    assert sorted(tmp_path.iterdir()) == sorted(written)


def test_each_writer_names_its_files(made: Made, tmp_path: Path) -> None:
    sheets = made("millimetres")
    assert write_drawings(sheets, "pdf", tmp_path / "a") == (tmp_path / "a.pdf",)
    assert write_drawings(sheets, "dxf", tmp_path / "a") == (tmp_path / "a.dxf",)
    names = [path.name for path in write_drawings(sheets, "svg", tmp_path / "a")]
    assert names == [f"a-{sheet.number}.svg" for sheet in sheets]


def test_no_sheet_no_dxf() -> None:
    with pytest.raises(ValueError, match="at least one sheet"):
        dxf_text(())
