"""Room left to each limit: a row for every finding with a number, drawn from its limit outwards."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings
from rigmodel.clearance.room import room_of
from rigmodel.report.html.markup import Html, table, tag
from rigmodel.report.html.verdicts import SHORT, amount, badge, ranked
from rigmodel.units import Unit

_FULL = {"mm": 50.8, "deg": 10.0, "MPa": 100.0, "kg": 200.0, "N": 200.0, "N m": 200.0, "%": 20.0}
"""What the chart's half-width stands for."""
_HALF, _HIGH, _ROOM = 150.0, 26.0, 14.0


@dataclass(frozen=True)
class Margin:
    """Room between a finding's value and its limit.

    Attributes:
        number: the finding's number on the page.
        finding: the finding.
        room: mm or degrees inside the limit; negative is beyond it.
    """

    number: int
    finding: Finding
    room: float


def margins(assembly: Assembly, findings: Findings) -> tuple[Margin, ...]:
    """The margin of every finding with a value and a limit, least room first in each unit."""
    found = [
        Margin(number, finding, room)
        for number, finding in ranked(findings.findings)
        if (room := room_of(assembly, finding)) is not None
    ]
    return tuple(sorted(found, key=lambda m: m.room / _FULL.get(m.finding.unit, 1.0)))


def margins_chart(assembly: Assembly, findings: Findings) -> Html:
    """A table with a bar in each row: to the right is room left, to the left is too little."""
    unit = assembly.scene.unit
    rows = [
        (
            tag("a", {"href": f"#finding-{m.number}"}, f"{m.number} {m.finding.check}"),
            badge(m.finding.verdict),
            _bar(m),
            amount(m.room, m.finding.unit, unit),
        )
        for m in margins(assembly, findings)
    ]
    heads = ("Finding", "Verdict", _axis(unit), "Room")
    told = "Least room first. An arrow: longer than the scale, which for angles is 10° each way."
    return tag("div", {"class": "margins"}, table(told, heads, rows, (3,)))


def _axis(unit: Unit) -> Html:
    full = amount(_FULL["mm"], "mm", unit)
    return tag(
        "span",
        {"class": "axis"},
        tag("span", None, f"← {full} too little"),
        tag("span", None, "limit"),
        tag("span", None, f"{full} of room →"),
    )


def _bar(margin: Margin) -> Html:
    full = _FULL.get(margin.finding.unit, 1.0)
    share = max(-1.0, min(1.0, margin.room / full))
    beyond = abs(margin.room) > full
    size = abs(share) * _HALF
    left = _HALF + _ROOM + (share * _HALF if share < 0.0 else 0.0)
    width = 2.0 * (_HALF + _ROOM)
    middle = width / 2.0
    return tag(
        "svg",
        {
            "class": f"bar {SHORT[margin.finding.verdict]}",
            "viewBox": f"0 0 {width:g} {_HIGH:g}",
            "role": "img",
            "aria-label": _told(margin, beyond),
        },
        [
            tag("line", {"class": "grid", "x1": x, "x2": x, "y1": 0, "y2": _HIGH})
            for x in (middle - _HALF, middle - _HALF / 2, middle + _HALF / 2, middle + _HALF)
        ],
        tag("rect", {"class": "fill", "x": left, "y": 7, "width": max(size, 0.5), "height": 12}),
        _break(middle, share) if beyond else "",
        tag("line", {"class": "zero", "x1": middle, "x2": middle, "y1": 0, "y2": _HIGH}),
    )


def _told(margin: Margin, beyond: bool) -> str:
    side = "inside its limit" if margin.room >= 0.0 else "beyond its limit"
    more = ", longer than the scale" if beyond else ""
    return f"{margin.finding.check} lies {side}{more}"


def _break(middle: float, share: float) -> Html:
    """An arrow head past the end of the scale."""
    way = 1.0 if share > 0.0 else -1.0
    end = middle + way * _HALF
    points: Iterator[str] = (
        f"{x:g},{y:g}" for x, y in ((end + way * 2, 4), (end + way * 12, 13), (end + way * 2, 22))
    )
    return tag("polygon", {"class": "fill", "points": " ".join(points)})
