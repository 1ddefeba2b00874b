"""Places across the bed on a drawing seen from behind, shared by all drawings that show them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.coverage import Strip
from rigmodel.report.html.markup import Html, tag
from rigmodel.units import Unit

WIDE, LEFT, RIGHT = 1000.0, 96.0, 16.0
_TICKS = {
    Unit.IN: (25.4, (1, 2, 3, 6, 12, 24, 60, 120)),
    Unit.FT: (304.8, (1, 2, 5, 10, 20)),
}
_METRIC_TICKS = (1.0, (10, 20, 50, 100, 200, 500, 1000, 2000))
_MOST_TICKS = 13


@dataclass(frozen=True)
class Scale:
    """Where a place across stands on the drawing; left of the tractor is left."""

    low: float
    high: float

    def x(self, y_mm: float) -> float:
        """Place on the drawing of a place across, mm left of the tractor's centre."""
        share = (self.high - y_mm) / (self.high - self.low)
        return LEFT + share * (WIDE - LEFT - RIGHT)

    def box(self, strip: Strip, top: float, high: float, kind: str) -> Html:
        """A box over a strip of the bed."""
        left, right = self.x(strip[1]), self.x(strip[0])
        return tag(
            "rect",
            {
                "class": f"strip {kind}",
                "x": left,
                "y": top,
                "width": max(right - left, 1.0),
                "height": high,
            },
        )


def grid(unit: Unit, scale: Scale, height: float) -> Iterator[Html]:
    """Lines down a drawing of that height, and what they stand for under it."""
    size, steps = _TICKS.get(unit, _METRIC_TICKS)
    step = size * next(
        (s for s in steps if (scale.high - scale.low) / (s * size) <= _MOST_TICKS), steps[-1]
    )
    for i in range(math.ceil(scale.low / step), math.floor(scale.high / step) + 1):
        x = scale.x(i * step)
        kind = "grid zero" if i == 0 else "grid"
        yield tag("line", {"class": kind, "x1": x, "x2": x, "y1": 0, "y2": height + 4.0})
        count = abs(i) * step / size
        yield tag("text", {"class": "tick", "x": x, "y": height + 18.0}, f"{count:g}")
    name = unit.value if unit in _TICKS else "mm"
    y = height + 34.0
    yield tag("text", {"class": "side start", "x": LEFT, "y": y}, "← left")
    middle = scale.x(0.0)
    yield tag("text", {"class": "side", "x": middle, "y": y}, f"{name} from the tractor's centre")
    yield tag("text", {"class": "side end", "x": WIDE - RIGHT, "y": y}, "right →")
