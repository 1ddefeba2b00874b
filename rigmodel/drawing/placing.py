"""Chooses a standard scale and puts views on the paper."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rigmodel.drawing.paint import extent
from rigmodel.drawing.primitives import TITLE_MM, Item, Words
from rigmodel.drawing.sheet import Box, View, around, scales
from rigmodel.units import Unit

_BETWEEN_MM = 8.0
_TITLE_ROOM_MM = 3.0
_TOO_SMALL = 2.6  # times smaller than on a sheet of its own

Views = tuple[View, ...]


def titled(name: str, items: Iterable[Item], scale: int) -> View:
    """A view with its name over it."""
    listed = tuple(items)
    box = extent(listed, scale)
    at = ((box.left + box.right) / 2.0 * scale, (box.top + _TITLE_ROOM_MM) * scale)
    return View(name, (*listed, Words(name, at, TITLE_MM, "middle")), scale)


def box_of(view: View) -> Box:
    """Room a view takes where it stands on the paper, mm."""
    return extent(view.items, view.scale).moved(*view.origin)


def arranged(
    build: Callable[[int], Views], arrange: Callable[[Views], Views], area: Box, unit: Unit
) -> tuple[Views, ...]:
    """Three views on one sheet, or on a sheet each where one would show them far too small.

    Each time the largest standard scale is taken at which they fit.

    Args:
        build: makes the views from above, from behind and from the right at a scale 1:n.
        arrange: puts them in their places to each other.
        area: where they may stand, mm on paper.
        unit: unit whose standard scales are tried.
    """
    alone: dict[int, Views] = {}
    views: Views = ()
    for scale in scales(unit):
        views = build(scale)
        for k, view in enumerate(views):
            if k not in alone and _fits((view,), area):
                alone[k] = (view,)
        if len(alone) < len(views):
            continue
        if scale > _TOO_SMALL * max(view.scale for (view,) in alone.values()):
            break
        placed = arrange(views)
        if _fits(placed, area):
            return (centred(placed, area),)
    return tuple(centred(alone.get(k, (view,)), area) for k, view in enumerate(views))


def _fits(views: Views, area: Box) -> bool:
    box = around(box_of(view) for view in views)
    return box.width <= area.width and box.height <= area.height


def round_side(views: Views) -> Views:
    """The view from behind before the one from the right, the one from above over that.

    The order of the views is from above, from behind, from the right.
    """
    above, behind, right = views
    top, mid, side = (extent(view.items, view.scale) for view in views)
    back = side.left - _BETWEEN_MM - mid.right
    under = [side.top, mid.top if top.left < mid.right + back + _BETWEEN_MM else side.top]
    up = max(under) + _BETWEEN_MM - top.bottom
    return (above.at((0.0, up)), behind.at((back, 0.0)), right.at((0.0, 0.0)))


def round_behind(views: Views) -> Views:
    """The view from above over the one from behind, the one from the right after that.

    The order of the views is from above, from behind, from the right.
    """
    above, behind, right = views
    top, mid, side = (extent(view.items, view.scale) for view in views)
    across = mid.right + _BETWEEN_MM - side.left
    under = [mid.top, side.top if top.right > side.left + across - _BETWEEN_MM else mid.top]
    up = max(under) + _BETWEEN_MM - top.bottom
    return (above.at((0.0, up)), behind.at((0.0, 0.0)), right.at((across, 0.0)))


def centred(views: Views, area: Box) -> Views:
    """The views moved together into the middle of an area."""
    box = around(box_of(view) for view in views)
    u = (area.left + area.right - box.left - box.right) / 2.0
    v = (area.bottom + area.top - box.bottom - box.top) / 2.0
    return tuple(view.at((view.origin[0] + u, view.origin[1] + v)) for view in views)
