"""Findings as text for a terminal: worst first, every line wrapped to the window."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.lines import wrapped
from rigmodel.report.cautions import CAUTIONS
from rigmodel.units import Unit, format_length

_MARK = {
    Verdict.FAIL: "✗ fail",
    Verdict.NOT_CHECKED: "? open",
    Verdict.ADVISE: "! advise",
    Verdict.PASS: "✓ pass",
}
_COLOUR = {
    Verdict.FAIL: "\x1b[1;35m",
    Verdict.NOT_CHECKED: "\x1b[1;34m",
    Verdict.ADVISE: "\x1b[1;33m",
    Verdict.PASS: "\x1b[36m",
}
_RESET = "\x1b[0m"
_ORDER = {verdict: i for i, verdict in enumerate(Verdict)}
_LEFT = 27  # columns taken by mark and check id


def findings_text(findings: Findings, unit: Unit, width: int = 100, colour: bool = False) -> str:
    """The findings as text.

    Args:
        findings: what `check` returned.
        unit: unit to print lengths in.
        width: columns to wrap to.
        colour: whether to add ANSI colours; words and marks carry the meaning either way.
    """
    return "\n".join(_lines(findings, unit, max(width, 60), colour)) + "\n"


def _lines(findings: Findings, unit: Unit, width: int, colour: bool) -> Iterator[str]:
    title = wrapped(findings.scene, width)
    yield from title
    yield "=" * max(len(line) for line in title)
    yield ""
    for finding in sorted(findings.findings, key=lambda f: _ORDER[f.verdict]):
        yield from _finding(finding, unit, width, colour)
    yield ""
    yield verdict_line(findings, colour)
    yield ""
    yield "Not checked"
    for what, checks in _grouped(findings):
        yield from wrapped(f"  - {what} ({', '.join(checks)})", width, 4)
    yield ""
    told = f"{len(findings.bolted)} pairs (--bolted lists them)"
    yield from wrapped(
        f"Not held against each other, because they are bolted together: {told}", width, 2
    )
    yield ""
    yield from caution_lines(width)


def verdict_line(findings: Findings, colour: bool = False) -> str:
    """How the check came out, such as ``Verdict: PASS (21 pass)``."""
    counts = {v: sum(f.verdict is v for f in findings.findings) for v in Verdict}
    told = ", ".join(f"{n} {v.value}" for v, n in counts.items() if n)
    return f"Verdict: {_painted(findings.verdict, findings.verdict.value.upper(), colour)} ({told})"


def caution_lines(width: int) -> Iterator[str]:
    """The cautions under their heading, wrapped to a width."""
    yield "Caution"
    for caution in CAUTIONS:
        yield from wrapped(f"  - {caution}", width, 4)


def bolted_text(findings: Findings) -> str:
    """The pairs that touch by design, one a line."""
    return "".join(f"{one} + {other}\n" for one, other in findings.bolted)


def _grouped(findings: Findings) -> Iterator[tuple[str, list[str]]]:
    groups: dict[str, list[str]] = {}
    for item in findings.not_checked:
        groups.setdefault(item.reason, []).append(item.check)
    yield from groups.items()


def _finding(finding: Finding, unit: Unit, width: int, colour: bool) -> Iterator[str]:
    mark = f"{_MARK[finding.verdict]:<9}"
    head = f"{_painted(finding.verdict, mark, colour)} {finding.check:<16} "
    body = wrapped(finding.message, width - _LEFT)
    yield head + body[0]
    pad = " " * _LEFT
    for line in body[1:]:
        yield pad + line
    if finding.verdict is Verdict.PASS:
        return
    for line in _details(finding, unit):
        for part in wrapped(line, width - _LEFT, rest=2):
            yield pad + part


def _details(finding: Finding, unit: Unit) -> Iterator[str]:
    if finding.value is not None and finding.limit is not None:
        measured = f"measured {_shown(finding.value, finding.unit, unit)}"
        held = f"limit {_shown(finding.limit, finding.unit, unit)} ({finding.source})"
        yield f"{measured}, {held}"
    if finding.at and finding.verdict is Verdict.FAIL:
        x, y, z = finding.at[0]
        places = ", ".join(
            f"{format_length(abs(v), unit)} {ahead if v >= 0.0 else behind}"
            for v, ahead, behind in (
                (x, "ahead of the rear axle", "behind the rear axle"),
                (y, "left of centre", "right of centre"),
                (z, "over the soil", "under the soil's top"),
            )
        )
        yield f"where: {places}; pose: {finding.pose_name}"
    if finding.remedy is not None:
        yield f"remedy (re-checked): {finding.remedy.says}"
        if finding.remedy.leaves:
            yield f"but then these fail: {', '.join(finding.remedy.leaves)}"
    elif finding.verdict is Verdict.FAIL:
        yield "remedy: none found by turning one value; change the layout or the parts"


def _shown(value: float, kind: str, unit: Unit) -> str:
    if kind == "mm":
        return format_length(value, unit)
    return f"{value:.2f}°" if kind == "deg" else f"{value:.1f} {kind}"


def _painted(verdict: Verdict, text: str, colour: bool) -> str:
    return f"{_COLOUR[verdict]}{text}{_RESET}" if colour else text
