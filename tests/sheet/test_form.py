"""The measuring sheet: the spec's own names, drawn and numbered, and twins that can be filled."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pypdf
import pytest
import yaml

from rigmodel.files import FileError
from rigmodel.sheet.fields import SECTIONS, all_names, nearest_name, spec_field, steps
from rigmodel.sheet.form import csv_twin, form_pdf, what_is, write_form, yaml_twin
from rigmodel.sheet.typeset import TEMPLATES
from rigmodel.spec.scene import SceneSpec

WANTED = ("rows.count", "rows.spacing", "tractor.rear.track", "toolbar.height", "toolbar.length")


def test_every_name_is_the_specs_own() -> None:
    assert len(set(all_names())) == len(all_names())
    assert set(WANTED) <= set(all_names())
    for name in all_names():
        assert spec_field(name) is not None, name
        assert what_is(name)


def test_every_field_a_scene_needs_is_on_the_form() -> None:
    names = all_names()
    for key, field in SceneSpec.model_fields.items():
        if field.is_required():
            assert any(re.match(rf"{key}(\W|$)", name) for name in names), key


@pytest.mark.parametrize("units", ["in", "mm"])
def test_form_shows_every_name_and_its_number(units: str) -> None:
    reader = pypdf.PdfReader(io.BytesIO(form_pdf(units)))
    assert len(reader.pages) == 4
    text = " ".join(page.extract_text() for page in reader.pages)
    for i, name in enumerate(all_names()):
        assert name in text
        assert re.search(rf"\b{i + 1}\b", text)
    assert form_pdf(units) == form_pdf(units)


def test_sketches_name_only_fields_of_the_form() -> None:
    drawn = re.findall(r'n\("([^"]+)"\)', (TEMPLATES / "sketches.typ").read_text())
    assert len(drawn) >= 30
    assert set(drawn) <= set(all_names())
    assert len(drawn) == len(set(drawn))
    sketches = {section.sketch for section in SECTIONS} - {""}
    listed = re.findall(r"(\w+): \1\b", (TEMPLATES / "sketches.typ").read_text())
    assert sketches == set(listed)


@pytest.mark.parametrize("units", ["in", "mm"])
def test_twins_hold_the_same_names_in_the_same_order(units: str) -> None:
    from_yaml = yaml.safe_load(yaml_twin(units))
    assert tuple(from_yaml) == all_names()
    rows = list(csv.DictReader(io.StringIO(csv_twin(units))))
    assert tuple(row["field"] for row in rows) == all_names()
    assert [row["number"] for row in rows] == [str(i + 1) for i in range(len(rows))]
    filled = {name: value for name, value in from_yaml.items() if value is not None}
    assert filled == {"units": units}
    assert {row["field"]: row["value"] for row in rows if row["value"]} == filled


def test_names_that_are_no_values() -> None:
    for name in (
        "rows",
        "stations",
        "stations[1]",
        "stations[1].swap",
        "parts",
        "nonsense",
        "",
        "a b",
    ):
        assert spec_field(name) is None
    with pytest.raises(ValueError, match="not a dotted name"):
        steps("rows..count")
    assert steps("stations[2].depth") == ("stations", 1, "depth")
    assert nearest_name("rows.spaceing") == "rows.spacing"
    assert nearest_name("zzz") == ""


def test_written_files(tmp_path: Path) -> None:
    made = write_form(tmp_path, "in", False)
    assert [p.name for p in made] == ["measuring-sheet.pdf", "measures.yaml", "measures.csv"]
    assert made[0].read_bytes().startswith(b"%PDF")
    with pytest.raises(FileError, match="--force"):
        write_form(tmp_path, "in", False)
    write_form(tmp_path, "in", True)
