"""The findings, worst first; one with a place is a button that shows it in the 3D view."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.report.html.markup import Html, tag
from rigmodel.report.html.verdicts import SHORT, amount, badge, ranked
from rigmodel.units import Unit

_TOLD = 5e-3  # a smaller bound on the error of a value is not worth telling, mm or degrees


def finding_list(findings: Findings, unit: Unit) -> Html:
    """All findings as an ordered list."""
    items = [_item(number, finding, unit) for number, finding in ranked(findings.findings)]
    return tag("ol", {"class": "findings", "id": "findings"}, items)


def counts(findings: Findings) -> str:
    """How many findings there are of each verdict, worst first."""
    numbers = {v: sum(f.verdict is v for f in findings.findings) for v in Verdict}
    return ", ".join(f"{n} {v.value}" for v, n in numbers.items() if n)


def _item(number: int, finding: Finding, unit: Unit) -> Html:
    head = (
        tag("span", {"class": "at"}, str(number)),
        badge(finding.verdict),
        tag("code", None, finding.check),
    )
    if finding.at:
        shown: Html = tag(
            "button",
            {"type": "button", "class": "show", "data-finding": number, "aria-pressed": "false"},
            *head,
            tag("span", {"class": "go"}, "Show in 3D"),
        )
    else:
        shown = tag("div", {"class": "show"}, *head)
    return tag(
        "li",
        {"class": f"finding {SHORT[finding.verdict]}", "id": f"finding-{number}"},
        shown,
        tag("p", None, finding.message),
        tag("dl", None, *_details(finding, unit)),
    )


def _details(finding: Finding, unit: Unit) -> Iterator[Html]:
    if finding.value is not None and finding.limit is not None:
        measured = amount(finding.value, finding.unit, unit)
        if finding.error_bound >= _TOLD:
            measured += f" (proven to {finding.error_bound:.2f} {finding.unit})"
        yield from _pair("Measured", measured)
        source = f" ({finding.source})" if finding.source else ""
        yield from _pair("Limit", amount(finding.limit, finding.unit, unit) + source)
    if finding.verdict is Verdict.PASS:
        return
    if finding.at:
        yield from _pair("Pose", finding.pose_name)
    if finding.remedy is not None:
        yield from _pair("Remedy, re-checked", finding.remedy.says)
        if finding.remedy.leaves:
            yield from _pair("But then these fail", ", ".join(finding.remedy.leaves))
    elif finding.verdict is Verdict.FAIL:
        yield from _pair("Remedy", "none found by turning one value; change the layout or parts")


def _pair(term: str, text: str) -> tuple[Html, Html]:
    return tag("dt", None, term), tag("dd", None, text)
