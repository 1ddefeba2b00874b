"""How a verdict looks: a shape of its own, a word and a colour."""

from __future__ import annotations

from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.report.html.markup import Html, tag
from rigmodel.units import Unit, format_length

SHORT = {
    Verdict.FAIL: "fail",
    Verdict.NOT_CHECKED: "open",
    Verdict.ADVISE: "advise",
    Verdict.PASS: "pass",
}
RANK = {verdict: i for i, verdict in enumerate(Verdict)}
# An octagon with a cross, a square with a question, a triangle with a bang, a circle with a tick.
_OUTLINE = {
    Verdict.FAIL: "M7 1h10l6 6v10l-6 6H7l-6-6V7z",
    Verdict.NOT_CHECKED: "M2 2h20v20H2z",
    Verdict.ADVISE: "M12 1.2 23.4 22H.6z",
    Verdict.PASS: "M12 1a11 11 0 1 1 0 22 11 11 0 0 1 0-22z",
}
_SIGN = {
    Verdict.FAIL: "M7.5 7.5l9 9m0-9l-9 9",
    Verdict.NOT_CHECKED: "M8.6 9.2c.2-4.4 7-4.2 6.8 0-.1 2.4-3.4 2.6-3.4 5.4m0 2.8v1",
    Verdict.ADVISE: "M12 8.5v7m0 2.6v1.2",
    Verdict.PASS: "M6.8 12.4l3.6 3.8 6.8-8",
}


def icon(verdict: Verdict) -> Html:
    """The verdict's shape as a small drawing; the word must stand beside it."""
    return tag(
        "svg",
        {"class": f"icon {SHORT[verdict]}", "viewBox": "0 0 24 24", "aria-hidden": "true"},
        tag("path", {"class": "shape", "d": _OUTLINE[verdict]}),
        tag("path", {"class": "sign", "d": _SIGN[verdict]}),
    )


def badge(verdict: Verdict) -> Html:
    """The verdict's shape and word."""
    return tag(
        "span", {"class": f"badge {SHORT[verdict]}"}, icon(verdict), tag("b", None, verdict.value)
    )


def ranked(findings: tuple[Finding, ...]) -> tuple[tuple[int, Finding], ...]:
    """Findings worst first, each with its number on the page, from 1."""
    ordered = sorted(findings, key=lambda finding: RANK[finding.verdict])
    return tuple(enumerate(ordered, start=1))


def amount(value: float, kind: str, unit: Unit) -> str:
    """A measured value as the fitter reads it."""
    if kind == "mm":
        return format_length(value, unit)
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    text = "0" if text == "-0" else text
    return f"{text}°" if kind == "deg" else f"{text} {kind}"
