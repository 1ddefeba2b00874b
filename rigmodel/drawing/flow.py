"""Fills sheets from top to bottom with groups of views and with tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from rigmodel.drawing.furniture import (
    ROW_MM,
    Table,
    drawing_area,
    rows_that_fit,
    table_height,
    table_items,
)
from rigmodel.drawing.placing import Views, box_of
from rigmodel.drawing.primitives import Item
from rigmodel.drawing.sheet import Box, Paper, View, around, scales
from rigmodel.units import Unit

GAP_MM = 8.0
_FEWEST_ROWS = 3


@dataclass
class Page:
    """What stands on one sheet so far."""

    views: list[View] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)


class Flow:
    """Puts one thing under the other, and begins a new sheet when one is full."""

    def __init__(self, paper: Paper) -> None:
        self.area = drawing_area(paper)
        self.pages = [Page()]
        self._top = self.area.top
        self._beside: Box | None = None

    def add(self, views: Views) -> None:
        """Adds views that stand to each other as they are, in the middle of the width."""
        box = around(box_of(view) for view in views)
        room = self._top - self.area.bottom
        if box.height > room + 1e-6 and self._top < self.area.top:
            self._new_page()
        u = (self.area.left + self.area.right - box.left - box.right) / 2.0
        self._put(views, u, self._top - box.top)
        self._top -= box.height + GAP_MM
        self._beside = None

    def add_left(self, view: View) -> None:
        """Adds a view on the left; a table may then stand beside it."""
        box = box_of(view)
        if box.height > self._top - self.area.bottom + 1e-6 and self._top < self.area.top:
            self._new_page()
        self._put((view,), self.area.left - box.left, self._top - box.top)
        left = self.area.left + box.width + GAP_MM
        self._beside = Box(left, self.area.bottom, self.area.right, self._top)
        self._top -= box.height + GAP_MM

    def add_table(self, table: Table) -> None:
        """Adds a table: beside the last view, else under it, on as many sheets as it needs."""
        rows = list(table.rows)
        if self._beside is not None:
            rows = self._fill(self._beside, table, rows)
        if rows:
            under = Box(self.area.left, self.area.bottom, self.area.right, self._top)
            rows = self._fill(under, table, rows)
        while rows:
            self._new_page()
            rows = self._fill(self.area, table, rows)

    def _fill(self, box: Box, table: Table, rows: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
        """Fills a box with columns of a table; returns the rows that are left."""
        widths = _squeezed(table.widths, self.area.width)
        columns = int((box.width + GAP_MM) / (sum(widths) + GAP_MM))
        most = rows_that_fit(box.height)
        if columns < 1 or most < min(_FEWEST_ROWS, len(rows)):
            return rows
        each = min(most, -(-len(rows) // columns) if len(rows) > most else most)
        left = box.left
        for _ in range(columns):
            part, rows = rows[:each], rows[each:]
            if not part:
                break
            some = Table(table.heads, tuple(part))
            self.pages[-1].items.extend(table_items(some, (left, box.top), widths))
            left += sum(widths) + GAP_MM
            self._top = min(self._top, box.top - table_height(len(part)) - GAP_MM)
        self._beside = None
        return rows

    def _new_page(self) -> None:
        self.pages.append(Page())
        self._top = self.area.top
        self._beside = None

    def _put(self, views: Sequence[View], u: float, v: float) -> None:
        self.pages[-1].views.extend(
            view.at((view.origin[0] + u, view.origin[1] + v)) for view in views
        )


def _squeezed(widths: Sequence[float], room: float) -> tuple[float, ...]:
    """Column widths, the widest made narrower until the whole fits."""
    found = list(widths)
    while sum(found) > room and max(found) > 4 * ROW_MM:
        widest = found.index(max(found))
        found[widest] = max(4 * ROW_MM, found[widest] - (sum(found) - room))
    return tuple(found)


def fitting(build: Callable[[int], Views], width: float, height: float, unit: Unit) -> Views:
    """Views at the largest standard scale at which they keep within a width and height, mm."""
    views: Views = ()
    for scale in scales(unit):
        views = build(scale)
        box = around(box_of(view) for view in views)
        if box.width <= width and box.height <= height:
            break
    return views
