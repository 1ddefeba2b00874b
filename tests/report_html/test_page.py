"""The page as text: self-contained, safe, complete, and readable."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.clearance.finding import Finding, Findings, NotChecked, Verdict
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.html import html_report
from rigmodel.report.html.colours import COLOURS, PAIRS
from rigmodel.report.html.markup import embedded_json, tag
from rigmodel.report.html.page import page_style
from rigmodel.spec.load import scene_from_text

if TYPE_CHECKING:
    from tests.report_html.conftest import Page, Rig

VERSION = "9.8.7"
NASTY = (
    "</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "]]><!-- --></title></style>",
    '" onmouseover="alert(1)" \'',
    "\u2028\u2029 &amp; &lt; \\u003c ½ 深",
)


def csp(page: Page) -> str:
    (meta,) = [m for m in page.named("meta") if "http-equiv" in m.attributes]
    return meta.attributes["content"]


def test_page_asks_for_nothing(failing: Rig) -> None:
    for element in failing.page.elements:
        for name in ("src", "href", "srcset", "data", "action", "poster", "style"):
            value = element.attributes.get(name, "#")
            assert value.startswith(("#", "data:")), (element.name, name, value)
        assert not [n for n in element.attributes if n.startswith("on")]
    assert [e.name for e in failing.page.named("link")] == ["link"]
    urls = re.findall(r"url\(([^)]*)\)", failing.page.named("style")[0].text)
    assert all(url.startswith("#") for url in urls)
    assert "@import" not in failing.text
    script = failing.page.named("script")[-1].text
    for word in ("fetch(", "XMLHttpRequest", "import(", "WebSocket", "sendBeacon", "new Worker"):
        assert word not in script
    # names of XML vocabularies look like addresses and ask for nothing
    assert set(re.findall(r"https?://[^\"' ]+", script)) == {"http://www.w3.org/2000/svg"}


def test_only_its_own_script_and_style_may_run(failing: Rig) -> None:
    policy = csp(failing.page)
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    (style,) = failing.page.named("style")
    data, script = failing.page.named("script")
    assert data.attributes["type"] == "application/json"
    for kind, element in (("style-src", style), ("script-src", script)):
        digest = base64.b64encode(hashlib.sha256(element.text.encode()).digest()).decode()
        assert f"{kind} 'sha256-{digest}'" in policy


def test_ids_are_unique_and_all_that_is_pointed_at_is_there(failing: Rig) -> None:
    page = failing.page
    ids = [e.attributes["id"] for e in page.elements if "id" in e.attributes]
    assert len(set(ids)) == len(ids)
    for element in page.elements:
        for name in ("for", "aria-labelledby", "aria-describedby"):
            if name in element.attributes:
                assert element.attributes[name] in ids
        href = element.attributes.get("href", "")
        if href.startswith("#"):
            assert href[1:] in ids
    script = page.named("script")[-1].text
    for name in re.findall(r'getElementById\("([^"]+)"\)', script):
        assert name in ids
    assert len(page.named("h1")) == 1
    assert page.named("html")[0].attributes["lang"] == "en"


def test_every_finding_is_told_worst_first(failing: Rig) -> None:
    order = list(Verdict)
    items = failing.page.of_class("finding")
    assert len(items) == len(failing.findings.findings)
    told = [f for v in order for f in failing.findings.findings if f.verdict is v]
    for item, finding in zip(items, told, strict=True):
        assert finding.message in item.text
        assert finding.check in item.text
        assert finding.verdict.value in item.text  # the word, not only a colour
        if finding.remedy is not None:
            assert finding.remedy.says in item.text
    buttons = [b for b in failing.page.named("button") if "data-finding" in b.attributes]
    assert len(buttons) == sum(bool(f.at) for f in told)


def test_verdicts_differ_in_shape(failing: Rig) -> None:
    shapes = {badge.attributes["class"]: badge for badge in failing.page.of_class("badge")}
    assert len(shapes) == len({f.verdict for f in failing.findings.findings})
    outlines = re.findall(r'class="icon (\w+)"[^>]*><path class="shape" d="([^"]+)"', failing.text)
    by_kind = {kind: {d for k, d in outlines if k == kind} for kind, _ in outlines}
    assert all(len(drawn) == 1 for drawn in by_kind.values())
    assert len(set.union(*by_kind.values())) == len(by_kind)


def test_what_was_not_checked_cautions_version_and_scene_are_told(failing: Rig) -> None:
    page = failing.page
    left_out = page.by_id("section-not-checked").text
    for item in failing.findings.not_checked:
        assert item.reason in left_out
        assert item.check in left_out
    for one, other in failing.findings.bolted:
        assert f"{one} + {other}" in left_out
    for caution in CAUTIONS:
        assert caution in page.by_id("section-cautions").text
    assert VERSION in page.by_id("section-again").text
    again = scene_from_text(page.by_id("spec").text)
    assert again.spec == failing.assembly.scene.spec


def test_equal_rigs_give_equal_pages(failing: Rig) -> None:
    assert html_report(failing.assembly, failing.findings, VERSION) == failing.text


def poisoned(rig: Rig, text: str) -> Findings:
    bad = Finding(text, Verdict.FAIL, 1.0, 2.0, "mm", text, at=((1.0, 2.0, 3.0),), source=text)
    left = NotChecked(text, text)
    return replace(
        rig.findings,
        scene=text,
        findings=(bad, *rig.findings.findings),
        not_checked=(left,),
        bolted=((text, text),),
    )


@pytest.mark.parametrize("text", NASTY)
def test_text_of_the_user_stays_text(
    passing: Rig, taken_apart: Callable[[str], Page], text: str
) -> None:
    clean = html_report(passing.assembly, poisoned(passing, "harmless"), text)
    page = taken_apart(html_report(passing.assembly, poisoned(passing, text), text))
    before = taken_apart(clean)
    assert [e.name for e in page.elements] == [e.name for e in before.elements]
    assert page.comments == []
    assert page.named("h1")[0].text == text
    assert csp(page) == csp(before)
    data = json.loads(page.by_id("model-data").text)
    assert data["findings"][0]["message"] == text


@given(st.text(max_size=40))
@settings(max_examples=40)
def test_embedded_json_cannot_break_out(text: str) -> None:
    written = embedded_json({"text": text})
    assert written.isascii()
    assert not set("<>&") & set(written)
    assert json.loads(written) == {"text": text}


@given(
    text=st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\r\x00"), max_size=40)
)
@settings(max_examples=40)
def test_text_and_attributes_come_back_as_they_were(
    taken_apart: Callable[[str], Page], text: str
) -> None:
    page = taken_apart(tag("p", {"title": text}, text))
    assert [e.name for e in page.elements] == ["p"]
    assert page.elements[0].attributes["title"] == text
    assert page.elements[0].text == text.replace("\u00a0", " ")


def luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.2, W3C 2023, "relative luminance" (threshold 0.04045)."""
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_formula_on_known_colours() -> None:
    # Black on white is 21 and #767676 on white 4.54 (WebAIM's contrast checker; from memory).
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize(("front", "back", "least"), PAIRS)
def test_colours_stand_out(front: str, back: str, least: float) -> None:
    assert contrast(COLOURS[front], COLOURS[back]) >= least


def test_every_colour_of_the_style_sheet_is_a_named_one() -> None:
    rules = page_style().partition("}")[2]
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;} ])", rules) == []
    used = set(re.findall(r"var\(--([a-z-]+)\)", rules)) - {"c", "t"}
    assert used <= set(COLOURS)
