"""Heat maps of a study as SVG: a cell for every case, a thick line where it stops fitting."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence

from rigmodel.advise.study.cases import FITS, Outcome, Result
from rigmodel.advise.study.plan import Axis, StudyPlan
from rigmodel.advise.study.results import Results
from rigmodel.advise.study.scope import MOST_ROOM_MM
from rigmodel.report.html.markup import Html, tag
from rigmodel.units import Unit, format_setting

MOST_MAPS = 24
SIGNS = {
    Outcome.PASS: "✓",
    Outcome.ADVISE: "!",
    Outcome.FAIL: "✗",
    Outcome.INVALID: "–",
    Outcome.NOT_CHECKED: "?",
}
MOODS = {
    Outcome.PASS: "pass",
    Outcome.ADVISE: "advise",
    Outcome.FAIL: "fail",
    Outcome.INVALID: "invalid",
    Outcome.NOT_CHECKED: "open",
}
_WIDE, _HIGH, _LETTER = 84, 54, 7.2
_HEAD, _FULL_MM = 52, 25.4  # room or lack of it that takes a cell's whole colour

Cells = Mapping[tuple[int, ...], Result]


def heat_maps(plan: StudyPlan, results: Results, unit: Unit) -> Iterator[Html]:
    """Maps over the last two axes, one for each choice of the others; at most `MOST_MAPS`."""
    outer = plan.axes[:-2]
    choices = itertools.product(*(range(len(axis.values)) for axis in outer))
    for held in itertools.islice(choices, MOST_MAPS):
        cells = _cells(plan, results, held)
        told = ", ".join(f"{a.name} {a.labels[i]}" for a, i in zip(outer, held, strict=True))
        yield tag(
            "figure",
            None,
            tag("figcaption", None, told or "All cases"),
            tag("div", {"class": "scroll"}, _map(plan, cells, held, unit)),
        )


def _cells(plan: StudyPlan, results: Results, held: tuple[int, ...]) -> Cells:
    """The cases of one map; the last axis runs fastest, so a map's cases lie together."""
    size = math.prod(len(axis.values) for axis in plan.axes[-2:])
    first = plan.number((*held, *(0 for _ in plan.axes[-2:])))
    cases = plan.within(first, first + size)
    return {plan.place(case): result for case, result in results.several(cases).items()}


def maps(plan: StudyPlan) -> int:
    """How many maps all cases would take."""
    found = 1
    for axis in plan.axes[:-2]:
        found *= len(axis.values)
    return found


def _map(plan: StudyPlan, cells: Cells, held: tuple[int, ...], unit: Unit) -> Html:
    across = plan.axes[-1]
    down = plan.axes[-2] if len(plan.axes) > 1 else Axis("", (), ("",), ("",))
    flat = len(plan.axes) == 1
    left = 16 + _LETTER * max(len(text) for text in (*down.labels, down.name))
    wide = max(_WIDE + 22, 18 + _LETTER * max(len(text) for text in across.labels))
    columns, rows = len(across.labels), len(down.labels)
    grid = [
        [cells.get((*held, x) if flat else (*held, y, x)) for x in range(columns)]
        for y in range(rows)
    ]
    width = max(left + columns * wide, left + 12 + _LETTER * len(across.name)) + 4
    return tag(
        "svg",
        {
            "class": "heat",
            "role": "img",
            "aria-label": f"{down.name} by {across.name}".removeprefix(" by "),
            "width": width,
            "height": _HEAD + rows * _HIGH + 4,
            "viewBox": f"0 0 {width:g} {_HEAD + rows * _HIGH + 4}",
        },
        tag("text", {"x": left, "y": 16, "class": "axis"}, f"{across.name} →"),
        tag(
            "text", {"x": 4, "y": _HEAD - 12, "class": "axis"}, f"{down.name} ↓" if not flat else ""
        ),
        [
            tag("text", {"x": left + (x + 0.5) * wide, "y": _HEAD - 12, "class": "mid"}, text)
            for x, text in enumerate(across.labels)
        ],
        [
            tag("text", {"x": 4, "y": _HEAD + (y + 0.5) * _HIGH + 5}, text)
            for y, text in enumerate(down.labels)
        ],
        [
            _cell(result, left + x * wide, _HEAD + y * _HIGH, wide, unit)
            for y, line in enumerate(grid)
            for x, result in enumerate(line)
        ],
        tag("path", {"class": "edge", "d": _edges(grid, left, wide)}),
    )


def _cell(result: Result | None, x: float, y: float, wide: float, unit: Unit) -> Html:
    box = {"x": x, "y": y, "width": wide, "height": _HIGH}
    if result is None:
        return tag("g", None, tag("title", None, "not drawn"), tag("rect", {**box, "class": "no"}))
    room = result.room_mm
    depth = 0.3 if room is None else 0.08 + 0.34 * min(1.0, abs(room) / _FULL_MM)
    signs = SIGNS[result.outcome]
    number = room_text(room, unit)
    told = f"{result.outcome.value}" + (f": {result.reason}" if result.reason else "")
    return tag(
        "g",
        {"class": f"cell {MOODS[result.outcome]}"},
        tag("title", None, told),
        tag("rect", {**box, "fill-opacity": depth}),
        tag("text", {"x": x + wide / 2, "y": y + 17, "class": "mid sign"}, signs),
        tag("text", {"x": x + wide / 2, "y": y + 32, "class": "mid small"}, number),
        tag("text", {"x": x + wide / 2, "y": y + 47, "class": "mid small"}, _cause(result)),
    )


def room_text(room: float | None, unit: Unit) -> str:
    """Least room as a page tells it; beyond what is worked out, that it is more."""
    if room is None:
        return ""
    return ("≥ " if room >= MOST_ROOM_MM else "") + format_setting(room, unit)


def _cause(result: Result) -> str:
    """What stops a case, in a word: the check it lacks most room for, and how many more."""
    if not result.checks:
        return ""
    first = result.room_check if result.room_check in result.checks else result.checks[0]
    more = len(result.checks) - 1
    return f"{first} +{more}" if more else first


def _edges(grid: Sequence[Sequence[Result | None]], left: float, wide: float) -> str:
    """A path along every side between a case that fits and one that does not."""

    def fits(y: int, x: int) -> bool | None:
        result = grid[y][x]
        return None if result is None else result.outcome in FITS

    strokes = []
    for y, line in enumerate(grid):
        for x in range(len(line)):
            here, px, py = fits(y, x), left + x * wide, _HEAD + y * _HIGH
            if x and None not in (here, fits(y, x - 1)) and here != fits(y, x - 1):
                strokes.append(f"M{px:g} {py:g}v{_HIGH}")
            if y and None not in (here, fits(y - 1, x)) and here != fits(y - 1, x):
                strokes.append(f"M{px:g} {py:g}h{wide:g}")
    return "".join(strokes)
