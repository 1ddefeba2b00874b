"""No drawing of a failing rig leaves without saying so, in any format; a passing one is clean."""

from __future__ import annotations

import io
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
from pypdf import PdfReader

from rigmodel import check
from rigmodel.clearance.finding import Verdict
from rigmodel.cli import main
from rigmodel.drawing.draw import drawings
from rigmodel.drawing.dxf import dxf_text
from rigmodel.drawing.paint import mark_box, paint_sheet, text_boxes
from rigmodel.drawing.pdf import pdf_bytes
from rigmodel.drawing.sheet import Box, Paper
from rigmodel.drawing.stamp import short, stamp_of
from rigmodel.drawing.svg import svg_text
from tests.drawing.conftest import SCENES, Assembled

FAILS = "four-narrow-rows-clash"
STAMP = "DO NOT BUILD: 3 checks fail (wheel-clash, part-clash, keep-out)"


@pytest.mark.parametrize("scene", [FAILS, "three-rows-belly"])
def test_the_stamp_tells_how_many_checks_fail(scene: str, assembled: Assembled) -> None:
    findings = check(assembled(scene))
    stamp = stamp_of(findings)
    fails = {f.check for f in findings.findings if f.verdict is Verdict.FAIL}
    assert bool(stamp) is bool(fails) is (findings.verdict is Verdict.FAIL)
    if fails:
        count = "1 check fails" if len(fails) == 1 else f"{len(fails)} checks fail"
        assert short(stamp) == f"DO NOT BUILD: {count}"
        assert set(stamp.partition(" (")[2].rstrip(")").split(", ")) == fails


@pytest.mark.parametrize("paper", list(Paper))
def test_the_stamp_hides_nothing_and_lies_on_the_paper(paper: Paper, assembled: Assembled) -> None:
    long = STAMP + " " + "x" * 300
    for stamp in (STAMP, long):
        for sheet in drawings(assembled(FAILS), paper, stamp=stamp):
            for (one, a), (other, b) in combinations(text_boxes(sheet), 2):
                assert not a.overlaps(b), f"{sheet.name}: '{one}' and '{other}'"
            width, height = paper.size_mm
            # An office printer leaves some 4.3 mm at each edge empty; from memory.
            whole = Box(4.3, 4.3, width - 4.3, height - 4.3)
            for mark in paint_sheet(sheet):
                assert mark_box(mark).inside(whole), f"{sheet.name}: {mark}"


@pytest.mark.parametrize("stamp", [STAMP, ""])
def test_every_sheet_of_every_format_has_the_stamp_or_none_has(
    stamp: str, assembled: Assembled
) -> None:
    sheets = drawings(assembled(FAILS), stamp=stamp)
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf_bytes(sheets))).pages]
    drawn = ["".join(ElementTree.fromstring(svg_text(sheet)).itertext()) for sheet in sheets]
    document = ezdxf.read(io.StringIO(dxf_text(sheets)))
    layouts = [
        " ".join(text.dxf.text for text in document.layouts.get(name).query("TEXT"))
        for name in document.layouts.names()
    ]
    assert len(pages) == len(drawn) == len(sheets)
    for text in (*pages, *drawn, *layouts):  # model space, which shops open alone, is one of them
        assert ("DO NOT BUILD: 3 checks fail" in text) is bool(stamp)


def test_the_command_says_that_its_drawing_is_of_a_failing_rig(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["draw", str(SCENES / f"{FAILS}.yaml"), "--out", str(tmp_path)]) == 1
    assert "every sheet says DO NOT BUILD" in capsys.readouterr().err
    (file,) = tmp_path.iterdir()
    for page in PdfReader(file).pages:
        assert "DO NOT BUILD" in page.extract_text()
