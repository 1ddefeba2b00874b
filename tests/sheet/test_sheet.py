"""The setup sheet: every mark of the assembly, three pages at most, and never a quiet failure."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import asdict
from html.parser import HTMLParser
from importlib.util import find_spec
from pathlib import Path

import pypdf
import pytest
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

from rigmodel import check
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Remedy, Verdict
from rigmodel.files import FileError
from rigmodel.sheet import typeset, write
from rigmodel.sheet.content import ALARMS_SHOWN, Sheet, sheet_content
from rigmodel.sheet.page import sheet_html
from rigmodel.sheet.typeset import TEMPLATES, SheetError, letters
from rigmodel.sheet.words import sided
from rigmodel.sheet.write import page_count, sheet_pdf, write_sheet
from rigmodel.view.options import PictureError

Rig = Callable[[str], Assembly]
Verdicts = Callable[..., Findings]
Changed = Callable[..., Assembly]

DEMOS = sorted(path.stem for path in (Path(__file__).parents[2] / "scenes").glob("*.yaml"))
POINTS = 0.05


def pdf_of(sheet: Sheet) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(sheet_pdf(sheet, b"", "none in this test")))


def text_of(reader: pypdf.PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


class Tags(HTMLParser):
    """Collects an HTML text's tags and its shown text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.shown: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.add(tag)

    def handle_data(self, data: str) -> None:
        self.shown.append(data)


@pytest.mark.parametrize("name", DEMOS)
def test_marks_and_settings_of_every_demo_are_printed(
    name: str, rig: Rig, verdicts: Verdicts
) -> None:
    assembly = rig(name)
    made = sheet_content(assembly, verdicts(Verdict.PASS))
    reader = pdf_of(made)
    more = max(0, len(assembly.clamps) - 18)  # some 30 marks of 15 pt go on a page
    assert 1 <= len(reader.pages) <= write.MOST_PAGES + -(-more // 30)
    text = text_of(reader)
    shown = " ".join("".join(Tags(sheet_html(made, b"")).shown).split())
    for clamp in assembly.clamps:
        place = sided(clamp.centre_mm, assembly.scene.unit)
        assert place in text
        assert place in shown
    assert len(made.marks) == len(assembly.clamps)
    for row in made.settings:
        assert row.shows in text
        assert row.depth in text
    assert made.drawing.half in text


def test_page_count_is_that_of_the_file(sheet: Sheet) -> None:
    made = sheet_pdf(sheet, b"")
    assert page_count(made) == len(pypdf.PdfReader(io.BytesIO(made)).pages)


def test_the_same_sheet_gives_the_same_bytes(sheet: Sheet) -> None:
    first = sheet_pdf(sheet, b"")
    assert first == sheet_pdf(sheet, b"")
    metadata = pypdf.PdfReader(io.BytesIO(first)).metadata
    assert metadata is None or not any("Date" in key for key in metadata)


def test_a_failing_rig_says_do_not_build_on_every_page(rig: Rig, verdicts: Verdicts) -> None:
    message = "row1.left.finger_wheel runs 3 in into row2.right.finger_wheel."
    made = sheet_content(rig("three-rows-belly"), verdicts(Verdict.FAIL, message=message))
    reader = pdf_of(made)
    assert all("DO NOT BUILD" in page.extract_text() for page in reader.pages)
    assert f"DO NOT BUILD: {message}" in text_of(reader)
    html = sheet_html(made, b"").replace("\u00a0", " ")
    assert f"DO NOT BUILD: {message}" in html
    for text in (text_of(reader), html):
        assert "LEAVE LOOSE" not in text
        assert "No order of assembly" in text
        assert "Spanner" not in text


def test_the_demo_that_clashes_prints_its_own_findings(rig: Rig) -> None:
    assembly = rig("bar-out-of-level")
    findings = check(assembly)
    text = text_of(pdf_of(sheet_content(assembly, findings)))
    for finding in findings.findings:
        if finding.verdict is Verdict.FAIL:
            assert f"DO NOT BUILD: {finding.message}" in text


def test_findings_that_are_not_pass_stand_on_top_worst_first(rig: Rig, verdicts: Verdicts) -> None:
    order = (Verdict.ADVISE, Verdict.PASS, Verdict.NOT_CHECKED, Verdict.FAIL)
    made = sheet_content(rig("three-rows-belly"), verdicts(*order))
    assert [a.word for a in made.alarms] == ["DO NOT BUILD", "NOT DECIDED", "TAKE CARE"]
    text = text_of(pdf_of(made))
    assert text.index("NOT DECIDED:") < text.index("The bar from behind")


def test_advise_alone_still_builds(rig: Rig, verdicts: Verdicts) -> None:
    made = sheet_content(rig("three-rows-belly"), verdicts(Verdict.ADVISE))
    text = text_of(pdf_of(made))
    assert "TAKE CARE:" in text
    assert "DO NOT BUILD" not in text
    assert "LEAVE LOOSE" in text


def test_findings_beyond_the_first_are_counted(rig: Rig, verdicts: Verdicts) -> None:
    many = [Verdict.FAIL] * (ALARMS_SHOWN + 3)
    made = sheet_content(rig("three-rows-belly"), verdicts(*many))
    assert len(made.alarms) == ALARMS_SHOWN
    assert made.more.startswith("3 more findings are not pass (3 fail)")


def test_a_cure_and_what_it_leaves_are_printed(rig: Rig) -> None:
    cured = Finding(
        "x", Verdict.FAIL, 1.0, 2.0, "mm", "It fails.", remedy=Remedy((), "Turn it", ("lift",))
    )
    made = sheet_content(rig("three-rows-belly"), Findings("s", (cured,), (), ()))
    assert "Turn it" in made.alarms[0].cure
    assert "lift" in made.alarms[0].cure


HOSTILE = (
    "#panic(1) *x* $y$ _z_ @w \\\\ `q` [c] <b>&amp;</b> <script>alert(1)</script> ' \\\" =HYPER()"
)


def test_hostile_words_stay_words(changed: Changed, verdicts: Verdicts) -> None:
    assembly = changed(name=f'name: "{HOSTILE}"')
    made = sheet_content(assembly, verdicts(Verdict.FAIL, message=f"{HOSTILE} fails"))
    text = text_of(pdf_of(made)).replace("\u200b", "").replace(" ", "")
    assert assembly.scene.spec.name.replace(" ", "") in text
    html = sheet_html(made, b"")
    parsed = Tags(html)
    assert "script" not in parsed.tags
    assert "b" not in parsed.tags
    shown = "".join(parsed.shown).replace("\u200b", "")
    assert assembly.scene.spec.name in shown


def test_letters_that_turn_or_hide_text_are_dropped(changed: Changed, verdicts: Verdicts) -> None:
    assembly = changed(name='name: "a\u202eb\u2066c\u200bd\ufeffe"')
    assert sheet_content(assembly, verdicts(Verdict.PASS)).title == "abcde"


def test_a_word_without_end_stays_on_the_page(changed: Changed, verdicts: Verdicts) -> None:
    assembly = changed(name=f"name: {'W' * 120}")
    made = sheet_content(assembly, verdicts(Verdict.FAIL, message="M" * 500))
    reader = pdf_of(made)
    assert len(reader.pages) <= write.MOST_PAGES
    wide = float(reader.pages[0].mediabox.width)
    assert all(0.0 <= x < wide - 20.0 for page in reader.pages for x, _ in starts(page))


def starts(page: pypdf.PageObject) -> list[tuple[float, float]]:
    """Where each piece of text begins, points, and its size."""
    seen: list[tuple[float, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
            scale = abs(tm[3] * cm[3]) or abs(tm[1] * cm[2])
            seen.append((x, size * scale))

    page.extract_text(visitor_text=visit)
    return seen


def test_letters_are_large_enough_to_read_at_arms_length(sheet: Sheet) -> None:
    reader = pdf_of(sheet)
    sizes = {round(size, 1) for page in reader.pages for _, size in starts(page)}
    # Numbers in the rings of the drawing are 10 pt bold; they are repeated large in the table.
    assert min(sizes) >= 10.0 - POINTS
    assert min(sizes - {10.0}) >= 11.0 - POINTS
    template = (TEMPLATES / "sheet.typ").read_text()
    marks = re.findall(r"text\(size: (\d+)pt[^\n]*(?:m\.place|m\.tool_place|m\.hole)", template)
    assert len(marks) == 3
    assert min(int(size) for size in marks) >= 14


def test_paper_is_black_and_white(sheet: Sheet) -> None:
    reader = pdf_of(sheet)
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        for operands, operator in content.operations:
            assert operator not in (b"rg", b"RG", b"k", b"K")
            if operator in (b"scn", b"SCN", b"sc", b"SC", b"g", b"G"):
                assert len(operands) == 1
    html = sheet_html(sheet, b"")
    for red, green, blue in re.findall(r"#([0-9a-f])([0-9a-f])([0-9a-f])\b", html):
        assert red == green == blue


def test_text_is_black_on_white_or_white_on_black() -> None:
    # Relative luminance and contrast as in WCAG 2.2: black on white is 21, the best there is.
    for page in TEMPLATES.glob("*.typ"):
        for colour in re.findall(r"text\([^)]*fill: (\w+)", page.read_text()):
            assert colour in ("ink", "white")
    assert "#let ink = luma(0)" in (TEMPLATES / "style.typ").read_text()


def test_our_own_words_have_letters(rig: Rig, verdicts: Verdicts) -> None:
    """The fonts hold every sign that the sheets of all demos and the templates use."""
    fonts = [letters() / f"SourceSansPro-{weight}.ttf" for weight in ("Regular", "Bold")]
    has = []
    for path in fonts:
        with TTFont(path) as font:
            has.append(set(font.getBestCmap()))
    words = "".join(page.read_text() for page in TEMPLATES.glob("*.typ")) + "″½±≥øéñßłżж"
    for name in DEMOS:
        made = sheet_content(rig(name), verdicts(Verdict.PASS))
        words += json.dumps(asdict(made), ensure_ascii=False)
    missing = {c for c in words if not c.isspace() and any(ord(c) not in cmap for cmap in has)}
    assert missing <= {"\u200b"}


@pytest.mark.parametrize(
    ("title", "lacks"),
    [
        ("Żółty pług ½″ ±1 ≥ ø", False),
        ("Тяпка", False),
        ("Τσάπα", False),
        ("معزقة", False),
        ("锄头", True),
        ("จอบ", True),
        ("호미", True),
    ],
)
def test_letters_of_other_scripts(
    title: str, lacks: bool, changed: Changed, verdicts: Verdicts
) -> None:
    made = sheet_content(changed(name=f"name: {title}"), verdicts(Verdict.PASS))
    assert bool(made.letters) is lacks
    assert title in sheet_html(made, b"")
    reader = pdf_of(made)
    raw = reader.pages[0].extract_text()
    assert ("\x00" in raw) is lacks  # the sign that stands for a missing letter


def test_torque_is_never_guessed(sheet: Sheet) -> None:
    told = " ".join(row.torque for row in sheet.bolts)
    assert "not known: grade not given" in told
    assert "SAE J429" in sheet.torque_note
    assert "K = 0.20" in sheet.torque_note


def test_spanners_keep_the_unit_of_their_thread(rig: Rig, verdicts: Verdicts) -> None:
    made = sheet_content(rig("two-wide-rows-paths-rear"), verdicts(Verdict.PASS))
    by_size = {row.size: row.spanner for row in made.bolts}
    # M10: 16 mm across flats, ISO 4032; 3/8: 9/16 in, ASME B18.2.2.
    assert by_size["M10"] == "16 mm"
    assert by_size["3/8-16"] == "9/16 in"


def test_paper_follows_the_unit(rig: Rig, verdicts: Verdicts) -> None:
    for name, wide in (("three-rows-belly", 612.0), ("two-wide-rows-paths-rear", 595.3)):
        made = sheet_content(rig(name), verdicts(Verdict.PASS))
        assert float(pdf_of(made).pages[0].mediabox.width) == pytest.approx(wide, abs=0.1)


def test_written_files(
    tmp_path: Path, rig: Rig, verdicts: Verdicts, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(picture: object) -> bytes:
        raise PictureError("cannot draw pictures: no screen <here>")

    monkeypatch.setattr(write, "png_of", none)
    assembly = rig("three-rows-belly")
    pdf, html = write_sheet(assembly, verdicts(Verdict.PASS), tmp_path, "rig", False)
    assert (pdf.name, html.name) == ("rig-sheet.pdf", "rig-sheet.html")
    text = text_of(pypdf.PdfReader(pdf))
    assert "No picture: cannot draw pictures: no screen <here>" in text
    assert "no screen &lt;here&gt;" in html.read_text(encoding="utf-8")
    with pytest.raises(FileError, match="--force"):
        write_sheet(assembly, verdicts(Verdict.PASS), tmp_path, "rig", False)
    write_sheet(assembly, verdicts(Verdict.PASS), tmp_path, "rig", True)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["rig-sheet.html", "rig-sheet.pdf"]


def test_a_picture_is_shown(sheet: Sheet) -> None:
    spec = find_spec("matplotlib")
    assert spec is not None
    assert spec.origin is not None
    icon = Path(spec.origin).parent / "mpl-data" / "images" / "home.png"
    made = pypdf.PdfReader(io.BytesIO(sheet_pdf(sheet, icon.read_bytes())))
    assert len(made.pages[0].images) == 1
    assert "data:image/png;base64," in sheet_html(sheet, icon.read_bytes())


def test_missing_packages_are_named(sheet: Sheet, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typeset, "find_spec", lambda name: None)
    with pytest.raises(SheetError, match="typst is not installed"):
        sheet_pdf(sheet, b"")
    with pytest.raises(SheetError, match="font-source-sans-pro is missing"):
        letters()


def test_html_fetches_nothing(sheet: Sheet) -> None:
    html = sheet_html(sheet, b"")
    assert "default-src 'none'" in html
    assert not re.search(r"(?:src|href)=\"(?!data:)", html)
    assert "http://" not in html
    assert "https://" not in html
