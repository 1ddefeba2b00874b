"""The text for a terminal: its width, its words, its cautions."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.clearance.finding import (
    Change,
    Finding,
    Findings,
    NotChecked,
    Remedy,
    Verdict,
)
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.terminal import bolted_text, findings_text
from rigmodel.units import Unit

NARROWEST = 60
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


@pytest.fixture(params=["good", "bad"])
def findings(request: pytest.FixtureRequest) -> Findings:
    found = request.getfixturevalue(request.param)
    assert isinstance(found, Findings)
    return found


def squeezed(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("width", [NARROWEST, 72, 80, 100, 120])
@pytest.mark.parametrize("unit", list(Unit))
def test_no_line_is_wider_than_the_window(findings: Findings, width: int, unit: Unit) -> None:
    for line in findings_text(findings, unit, width).splitlines():
        assert len(line) <= width, line
        assert line == line.rstrip()


def test_a_window_too_narrow_is_served_as_sixty_columns(findings: Findings) -> None:
    assert findings_text(findings, Unit.IN, 20) == findings_text(findings, Unit.IN, NARROWEST)


def test_colour_only_adds_colour(findings: Findings) -> None:
    plain = findings_text(findings, Unit.IN, 100)
    coloured = findings_text(findings, Unit.IN, 100, colour=True)
    assert "\x1b" not in plain
    assert "\x1b" in coloured
    assert COLOUR.sub("", coloured) == plain


def test_every_verdict_is_a_word_and_a_mark(bad: Findings) -> None:
    text = findings_text(bad, Unit.IN, 100)
    for verdict, word in (("fail", "✗ fail"), ("advise", "! advise"), ("pass", "✓ pass")):
        told = sum(line.startswith(word) for line in text.splitlines())
        assert told == sum(f.verdict.value == verdict for f in bad.findings)
    assert "Verdict: FAIL" in text


def test_the_worst_comes_first(bad: Findings) -> None:
    lines = findings_text(bad, Unit.IN, 100).splitlines()
    marks = [line[0] for line in lines if line[:1] in "✗?!✓" and line]
    assert marks == sorted(marks, key="✗?!✓".index)


def test_every_finding_and_all_that_is_not_checked_is_told(findings: Findings) -> None:
    text = squeezed(findings_text(findings, Unit.IN, 100))
    for finding in findings.findings:
        assert squeezed(finding.message) in text
        assert finding.check in text
        if finding.remedy is not None:
            assert squeezed(finding.remedy.says) in text
    for item in findings.not_checked:
        assert squeezed(item.reason) in text


@pytest.mark.parametrize("width", [NARROWEST, 100])
def test_cautions_are_always_there(findings: Findings, width: int) -> None:
    text = squeezed(findings_text(findings, Unit.IN, width))
    assert len(CAUTIONS) >= 4
    for caution in CAUTIONS:
        assert squeezed(caution) in text
    for word in ("blocked", "engine off", "key out", "parking brake", "guards", "manuals"):
        assert word in text


def test_an_empty_list_of_findings_still_carries_the_cautions() -> None:
    text = squeezed(findings_text(Findings("nothing", (), (), ()), Unit.MM))
    assert "Verdict: PASS" in text
    assert all(squeezed(caution) in text for caution in CAUTIONS)


def test_bolted_pairs_are_listed_one_a_line(good: Findings) -> None:
    lines = bolted_text(good).splitlines()
    assert len(lines) == len(good.bolted)
    assert lines[0] == " + ".join(good.bolted[0])


def test_numbers_are_in_the_scenes_unit(bad: Findings) -> None:
    inches = findings_text(bad, Unit.IN, 100)
    assert re.search(r"measured -?[0-9/ ]+ in", inches)
    metric = findings_text(bad, Unit.MM, 100)
    assert re.search(r"measured -?[0-9.]+ mm", metric)


words = st.text(st.characters(codec="ascii", categories=("L", "N", "P", "Zs")), max_size=150)
number = st.floats(-1e5, 1e5)
points = st.tuples(number, number, number)


@given(
    words,
    st.sampled_from(list(Verdict)),
    words,
    number,
    st.one_of(st.just(()), st.tuples(points, points)),
    st.integers(NARROWEST, 130),
)
def test_whatever_is_found_fits_the_window(
    name: str,
    verdict: Verdict,
    message: str,
    value: float,
    at: tuple[tuple[float, float, float], ...],
    width: int,
) -> None:
    remedy = Remedy((Change(("toolbar", "length"), 1.0),), message, ("lift", "part-clash"))
    finding = Finding(
        "ground-contact", verdict, value, value, "mm", message, at=at, source=message, remedy=remedy
    )
    everything = Findings(name, (finding,), (NotChecked("lift", message),), ())
    for line in findings_text(everything, Unit.IN, width).splitlines():
        assert len(line) <= width
