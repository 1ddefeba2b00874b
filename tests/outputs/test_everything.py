"""All outputs from one check: what is written, that each reads, and that it is all or none."""

from __future__ import annotations

import csv
import html
import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pypdf
import pytest
import trimesh
from openpyxl import load_workbook
from PIL import Image

from rigmodel.cli import main
from rigmodel.drawing.draw import drawings
from rigmodel.errors import InputError
from rigmodel.files import FileError
from rigmodel.loads.account import account
from rigmodel.outputs import everything as everything_module
from rigmodel.outputs import pictures as pictures_module
from rigmodel.outputs.everything import write_everything
from rigmodel.outputs.kinds import OUTPUTS, drawing_pages
from rigmodel.outputs.made import Made
from rigmodel.report.as_json import findings_json
from rigmodel.report.loads_json import loads_object
from rigmodel.view.describe import describe
from rigmodel.view.options import PictureError, PictureOptions, View
from rigmodel.view.render import png_of

Output = pytest.CaptureFixture[str]
VIEWS = [f"-{view.value}.png" for view in View]
DEMO = "two-wide-rows-paths-rear.yaml"
Described = Callable[..., Any]


@pytest.fixture
def no_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine that cannot draw; drawing is also what takes longest."""

    def none() -> None:
        raise PictureError("cannot draw pictures: no screen <here>")

    monkeypatch.setattr(pictures_module, "png_child", none)


def test_every_kind_of_output_is_there_and_nothing_else(run: Any) -> None:
    pages = [f"-drawings-{k + 1}.svg" for k in range(len(drawings(run.assembly)))]
    expected = {f"rig{e}" for e in (*(o.ending for o in OUTPUTS.values()), *VIEWS, *pages)}
    assert {p.name for p in run.folder.iterdir()} == expected
    assert {p.name for p in run.written.files} == expected
    assert run.written.no_pictures == ""
    assert run.written.left == ()
    assert all(p.stat().st_size > 1000 for p in run.written.files)


def test_progress_is_told_for_each(run: Any) -> None:
    told = " ".join(run.told)
    assert all(f"picture: {view.value}" in told for view in View)
    assert all(output.words in told for output in OUTPUTS.values())


def test_each_file_reads_in_a_library_of_its_kind(run: Any) -> None:
    """Pillow, pypdf, ezdxf, openpyxl, trimesh and the standard library's readers."""

    def file(ending: str) -> Path:
        path: Path = run.folder / f"rig{ending}"
        return path

    for ending in VIEWS:
        with Image.open(file(ending)) as image:
            assert image.size == (1600, 1000)
    assert 1 <= len(pypdf.PdfReader(file("-sheet.pdf")).pages) <= 3
    assert len(pypdf.PdfReader(file("-drawings.pdf")).pages) == len(drawings(run.assembly))
    assert len(ezdxf.readfile(file("-drawings.dxf")).modelspace()) > 100
    assert load_workbook(file("-list.xlsx")).sheetnames[0] == "Parts"
    assert len(list(csv.reader(io.StringIO(file("-parts.csv").read_text("utf-8-sig"))))) > 5
    boxes = np.array([run.assembly.at_work(p).bounds() for p in run.assembly.mechanism.parts])
    bounds = np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])
    assert trimesh.load_mesh(file(".stl")).bounds == pytest.approx(bounds, abs=0.1)
    assert zipfile.ZipFile(file(".3mf")).testzip() is None
    assert trimesh.load(file(".glb")).graph.nodes
    told = json.loads(file("-findings.json").read_text("utf-8"))
    loads = loads_object(run.assembly, account(run.assembly))
    assert told == json.loads(findings_json(run.findings, loads))
    assert "Verdict: FAIL" in file("-findings.txt").read_text("utf-8")
    assert "DO NOT BUILD" in file("-sheet.html").read_text("utf-8")
    assert file(".html").read_text("utf-8").startswith("<!doctype html>")
    assert file("-drawings-1.svg").read_text("utf-8").startswith("<?xml")


def test_a_picture_is_the_one_that_render_draws(run: Any) -> None:
    alone = png_of(describe(run.assembly, run.findings, PictureOptions(View.SIDE)))
    assert (run.folder / "rig-side.png").read_bytes() == alone


@pytest.mark.usefixtures("no_pictures")
def test_without_pictures_all_else_is_written_and_why_is_told(
    everything: Any, scenes: Path, tmp_path: Path
) -> None:
    made = everything(scenes / DEMO, tmp_path / "new")
    names = {p.name for p in (tmp_path / "new").iterdir()}
    assert {f"rig{o.ending}" for o in OUTPUTS.values()} <= names
    assert not any(name.endswith(".png") for name in names)
    assert made.written.no_pictures == "cannot draw pictures: no screen <here>"
    page = (tmp_path / "new" / "rig-sheet.html").read_text("utf-8")
    assert html.escape("no screen <here>") in page


@pytest.mark.usefixtures("no_pictures")
def test_the_command_says_what_it_wrote_and_what_not(
    scenes: Path, tmp_path: Path, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["all", str(scenes / DEMO)]) == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("Verdict: ADVISE (2 advise, ")
    assert "Caution" in captured.out
    assert "no pictures: cannot draw pictures" in captured.err
    stem = DEMO.removesuffix(".yaml")
    files = sorted((tmp_path / stem).iterdir())
    assert [line.split(" ", 1)[1] for line in captured.err.splitlines() if "wrote" in line] == [
        str(path.relative_to(tmp_path)) for path in files
    ]
    assert all(path.name.startswith(stem) for path in files)
    before = {path: path.read_bytes() for path in files}
    assert main(["all", str(scenes / DEMO)]) == 2
    assert "--force" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in (tmp_path / stem).iterdir()} == before
    assert main(["all", str(scenes / DEMO), "--force"]) == 0
    clash = str(scenes / "four-narrow-rows-clash.yaml")
    assert main(["all", clash, "--out", str(tmp_path / "fails")]) == 1
    assert "do not build it" in capsys.readouterr().err


@pytest.mark.usefixtures("no_pictures")
def test_drawings_of_an_earlier_run_are_pointed_out(
    everything: Any, scenes: Path, tmp_path: Path
) -> None:
    (tmp_path / "rig-drawings-99.svg").write_text("old")
    (tmp_path / "rigged-drawings-99.svg").write_text("another rig's")
    made = everything(scenes / DEMO, tmp_path)
    assert made.written.left == (tmp_path / "rig-drawings-99.svg",)


@pytest.mark.parametrize("ending", ["-list.xlsx", ".html", "-drawings-1.svg", "-side.png"])
@pytest.mark.usefixtures("no_pictures")
def test_one_file_that_is_there_stops_all(
    everything: Any, scenes: Path, tmp_path: Path, ending: str
) -> None:
    (tmp_path / f"rig{ending}").write_text("mine")
    with pytest.raises(FileError, match="--force"):
        everything(scenes / DEMO, tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [f"rig{ending}"]
    assert (tmp_path / f"rig{ending}").read_text() == "mine"


@pytest.mark.usefixtures("no_pictures")
def test_what_cannot_be_made_leaves_nothing(
    everything: Any, scenes: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(made: Made) -> dict[str, bytes]:
        raise FileError("no")

    monkeypatch.setattr(everything_module, "drawing_pages", broken)
    with pytest.raises(FileError):
        everything(scenes / DEMO, tmp_path / "new")
    assert list(tmp_path.iterdir()) == []
    monkeypatch.setattr(everything_module, "drawing_pages", drawing_pages)
    with pytest.raises(FileError, match="there is no folder"):
        everything(scenes / DEMO, tmp_path / "no" / "folder")
    (tmp_path / "file").write_text("mine")
    with pytest.raises(FileError, match="it is a file"):
        everything(scenes / DEMO, tmp_path / "file")
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_wrong_scene_ends_the_drawing_process_and_writes_nothing(tmp_path: Path) -> None:
    def wrong() -> Any:
        raise InputError(())

    with pytest.raises(InputError):
        write_everything(wrong, tmp_path / "new", "rig")
    assert list(tmp_path.iterdir()) == []


HOSTILE = '<script>alert(1)</script> & "½″" =1+1 ΩЖ水'


@pytest.mark.usefixtures("no_pictures")
def test_a_users_words_are_text_in_every_file(everything: Any, demo: str, tmp_path: Path) -> None:
    scene = tmp_path / "scene.yaml"
    named = demo.replace("name: Three rows under the belly", f"name: '{HOSTILE}'")
    assert named != demo
    scene.write_text(named, encoding="utf-8")
    made = everything(scene, tmp_path / "new")
    for path in made.written.files:
        data = path.read_bytes()
        if path.suffix in (".html", ".svg"):
            assert b"<script>alert" not in data, path.name
            assert html.escape(HOSTILE, quote=False).encode() in data.replace(b"&#34;", b'"') or (
                b"&lt;script&gt;alert(1)" in data
            ), path.name
    notes = load_workbook(made.folder / "rig-list.xlsx")["Notes"]
    cells = [cell for row in notes.iter_rows() for cell in row]
    assert any(cell.value == HOSTILE for cell in cells)
    assert all(cell.data_type != "f" for cell in cells)
    told = json.loads((made.folder / "rig-findings.json").read_text("utf-8"))
    assert HOSTILE in json.dumps(told, ensure_ascii=False).replace('\\"', '"')
    assert HOSTILE in (made.folder / "rig-findings.txt").read_text("utf-8")
    text = "".join(
        page.extract_text() for page in pypdf.PdfReader(made.folder / "rig-sheet.pdf").pages
    )
    assert "<script>alert(1)</script>" in text
