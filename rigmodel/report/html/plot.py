"""A curve over a value, as an SVG with its axes; what it shows is also said in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rigmodel.report.html.markup import Html, Value, tag

_WIDE, _HIGH = 560.0, 250.0
_LEFT, _RIGHT, _TOP, _FOOT = 64.0, 16.0, 30.0, 46.0
_TICKS = 6
_LETTER = 6.6  # width of a letter


@dataclass(frozen=True)
class Axis:
    """One axis: what it shows, and how long a unit of it is in the curves' own unit."""

    words: str
    unit: float = 1.0


@dataclass(frozen=True)
class Mark:
    """A line across the plot at one value, with words; `upright` at a value of the lower axis."""

    value: float
    words: str
    upright: bool = False


def plot(
    name: str,
    points: Sequence[tuple[float, float]],
    across: Axis,
    up: Axis,
    marks: Sequence[Mark] = (),
) -> Html:
    """The drawing, its upward axis from zero.

    Args:
        name: what it shows, in words, for who cannot see it.
        points: places on both axes in the curves' own units, at least two, the first rising.
        across: the lower axis.
        up: the upward axis.
        marks: lines across.
    """
    xs = [x / across.unit for x, _ in points]
    ys = [y / up.unit for _, y in points]
    level = [m.value / up.unit for m in marks if not m.upright]
    low_x, high_x = xs[0], max(xs[-1], xs[0] + 1e-9)
    low_y, high_y = min(0.0, *ys, *level), max(0.0, *ys, *level)
    high_y = high_y + 0.08 * (high_y - low_y) or 1.0

    def place_x(x: float) -> float:
        return _LEFT + (x - low_x) / (high_x - low_x) * (_WIDE - _LEFT - _RIGHT)

    def place_y(y: float) -> float:
        return _HIGH - _FOOT - (y - low_y) / (high_y - low_y) * (_HIGH - _FOOT - _TOP)

    line = "L".join(f"{place_x(x):.1f} {place_y(y):.1f}" for x, y in zip(xs, ys, strict=True))
    drawn: list[Html] = []
    for value in _ticks(low_y, high_y):
        y = place_y(value)
        kind = "bar" if value == 0.0 else "grid"
        drawn.append(tag("line", {"class": kind, "x1": _LEFT, "x2": _WIDE - _RIGHT,
                                  "y1": y, "y2": y}))  # fmt: skip
        drawn.append(tag("text", {"class": "tick end", "x": _LEFT - 7.0, "y": y + 4.0},
                         f"{value:g}"))  # fmt: skip
    for value in _ticks(low_x, high_x):
        x = place_x(value)
        drawn.append(tag("line", {"class": "grid", "x1": x, "x2": x,
                                  "y1": _TOP, "y2": _HIGH - _FOOT}))  # fmt: skip
        drawn.append(tag("text", {"class": "tick", "x": x, "y": _HIGH - _FOOT + 16.0},
                         f"{value:g}"))  # fmt: skip
    drawn.append(tag("path", {"class": "curve", "d": f"M{line}"}))
    for mark in marks:
        at = place_x(mark.value / across.unit) if mark.upright else place_y(mark.value / up.unit)
        drawn += _mark(mark, at)
    middle = (_LEFT + _WIDE - _RIGHT) / 2.0
    drawn.append(tag("text", {"class": "side", "x": middle, "y": _HIGH - 8.0}, across.words))
    drawn.append(tag("text", {"class": "side start", "x": 4.0, "y": 14.0}, up.words))
    return tag(
        "svg",
        {
            "class": "coverage loads plot",
            "viewBox": f"0 0 {_WIDE:g} {_HIGH:g}",
            "role": "img",
            "aria-label": name,
        },
        drawn,
    )


def _mark(mark: Mark, at: float) -> Iterator[Html]:
    words: dict[str, Value]
    if mark.upright:
        ends = {"x1": at, "x2": at, "y1": _TOP, "y2": _HIGH - _FOOT}
        room = _LETTER * len(mark.words) / 2.0
        x = min(max(at, _LEFT + room), _WIDE - _RIGHT - room)
        words = {"class": "value", "x": x, "y": _TOP - 2.0}
    else:
        ends = {"x1": _LEFT, "x2": _WIDE - _RIGHT, "y1": at, "y2": at}
        words = {"class": "value end", "x": _WIDE - _RIGHT, "y": at - 4.0}
    yield tag("line", {"class": "held", **ends})
    yield tag("text", words, mark.words)


def _ticks(low: float, high: float) -> list[float]:
    """Round values between two ends."""
    rough = (high - low) / _TICKS
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(s * size for s in (1.0, 2.0, 5.0, 10.0) if s * size >= rough * (1.0 - 1e-9))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [round(k * step, 9) + 0.0 for k in range(first, last + 1)]
