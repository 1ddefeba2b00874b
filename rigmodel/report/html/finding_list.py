"""The findings, worst first; one with a place is a button that shows it in the 3D view."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.report.html.markup import Html, tag
from rigmodel.report.html.verdicts import SHORT, amount, badge, ranked
from rigmodel.units import Unit

_TOLD = 5e-3  # a smaller bound on the error of a value is not worth telling, mm or degrees


def finding_list(findings: Findings, unit: Unit) -> Html:
    """All findings as an ordered list."""
    items = [
        finding_item(number, finding, unit, *_remedy(finding))
        for number, finding in ranked(findings.findings)
    ]
    return tag("ol", {"class": "findings", "id": "findings", "data-scrolls": True}, items)


def counts(findings: Findings) -> str:
    """How many findings there are of each verdict, worst first."""
    numbers = {v: sum(f.verdict is v for f in findings.findings) for v in Verdict}
    return ", ".join(f"{n} {v.value}" for v, n in numbers.items() if n)


def finding_item(number: int, finding: Finding, unit: Unit, *after: Html) -> Html:
    """One finding: verdict, sentence, what was measured; a button where it has a place.

    Args:
        number: on the page, from 1.
        finding: what is told.
        unit: of lengths.
        after: what stands below it, such as its remedy.
    """
    details = tuple(_details(finding, unit))
    return _item(
        number, finding.verdict, finding.check, bool(finding.at), finding.message, details, after
    )


@lru_cache(maxsize=1024)  # of two states of a rig most are the same
def _item(
    number: int,
    verdict: Verdict,
    check: str,
    placed: bool,
    message: str,
    details: tuple[tuple[str, str], ...],
    after: tuple[Html, ...],
) -> Html:
    head = (
        tag("span", {"class": "at"}, str(number)),
        badge(verdict),
        tag("code", None, check),
    )
    if placed:
        shown: Html = tag(
            "button",
            {
                "type": "button",
                "class": "show",
                "id": f"show-{number}",
                "data-finding": number,
                "aria-pressed": "false",
            },
            *head,
            tag("span", {"class": "go"}, "Show in 3D"),
        )
    else:
        shown = tag("div", {"class": "show"}, *head)
    return tag(
        "li",
        {"class": f"finding {SHORT[verdict]}", "id": f"finding-{number}"},
        shown,
        tag("p", None, message),
        tag("dl", None, *(_pair(*detail) for detail in details)),
        *after,
    )


def _details(finding: Finding, unit: Unit) -> Iterator[tuple[str, str]]:
    """Terms and what is told under each."""
    if finding.value is not None and finding.limit is not None:
        measured = amount(finding.value, finding.unit, unit)
        if finding.error_bound >= _TOLD:
            measured += f" (proven to {finding.error_bound:.2f} {finding.unit})"
        yield "Measured", measured
        source = f" ({finding.source})" if finding.source else ""
        yield "Limit", amount(finding.limit, finding.unit, unit) + source
        room = amount(abs(finding.value - finding.limit), finding.unit, unit)
        yield "Off by" if finding.verdict is Verdict.FAIL else "Margin", room
    if finding.at and finding.verdict is not Verdict.PASS:
        yield "Pose", finding.pose_name


def _remedy(finding: Finding) -> Iterator[Html]:
    if finding.remedy is not None:
        pairs = [_pair("Remedy, re-checked", finding.remedy.says)]
        if finding.remedy.leaves:
            pairs.append(_pair("But then these fail", ", ".join(finding.remedy.leaves)))
        yield tag("dl", None, *(tag_ for pair in pairs for tag_ in pair))
    elif finding.verdict is Verdict.FAIL:
        words = "none found by turning one value; change the layout or parts"
        yield tag("dl", None, *_pair("Remedy", words))


def _pair(term: str, text: str) -> tuple[Html, Html]:
    return tag("dt", None, term), tag("dd", None, text)
