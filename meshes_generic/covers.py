"""Boxes over groups of triangles, and over groups of groups: a surface from afar, then nearer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from meshes_generic.box import Box
from meshes_generic.transform import FloatArray
from meshes_generic.triangle import Triangle

IntArray = NDArray[np.int64]

_LEAVES = 8  # no more triangles than this lie under the lowest boxes
_LEVELS = 3  # halvings from one level of boxes to the next
_SKIN_MM = 1e-6  # keeps a flat group's box from having no thickness, and rounding inside it


@dataclass(frozen=True, eq=False)
class CoverTree:
    """Triangles under boxes; children come after their parents, those of one node together.

    Attributes:
        shapes: the box or the triangle that each node is.
        centres: where its own axes have their origin, shape (n, 3), mm.
        first: first child of each node, 0 for a triangle, shape (n,).
        count: number of its children, 0 for a triangle, shape (n,).
    """

    shapes: tuple[Box | Triangle, ...]
    centres: FloatArray
    first: IntArray
    count: IntArray


def cover_tree(triangles: Sequence[Triangle]) -> CoverTree:
    """Boxes over triangles, at least one; node 0 covers all of them.

    Groups are halved across their longest side, again and again; every third level is kept.
    """
    corners = np.array([triangle.points for triangle in triangles])
    low, high = corners.min(axis=1), corners.max(axis=1)
    order, levels = _halved((low + high) / 2.0)
    kept = levels[len(levels) - 1 :: -_LEVELS][::-1]
    kept = kept if len(kept[0]) == 1 else [levels[0], *kept]
    bottom, top = low[order], high[order]
    lows = np.concatenate([np.minimum.reduceat(bottom, level, axis=0) for level in kept])
    highs = np.concatenate([np.maximum.reduceat(top, level, axis=0) for level in kept])
    boxes = [Box(x, y, z) for x, y, z in (highs - lows + _SKIN_MM).tolist()]
    first, count = _children([*kept, np.arange(len(triangles))])
    none = np.zeros(len(triangles), dtype=np.int64)
    return CoverTree(
        (*boxes, *(triangles[k] for k in order.tolist())),
        np.concatenate(((lows + highs) / 2.0, np.zeros((len(triangles), 3)))),
        np.concatenate((first, none)),
        np.concatenate((count, none)),
    )


def _halved(middle: FloatArray) -> tuple[IntArray, list[IntArray]]:
    """An order of points (n, 3), and where in it the groups of each level start."""
    order = np.arange(len(middle))
    starts = np.zeros(1, dtype=np.int64)
    levels = [starts]
    while True:
        ends = np.append(starts[1:], len(middle))
        if int((ends - starts).max()) <= _LEAVES:
            return order, levels
        places = middle[order]
        sides = np.maximum.reduceat(places, starts) - np.minimum.reduceat(places, starts)
        group = np.repeat(np.arange(len(starts)), ends - starts)
        along = places[np.arange(len(order)), sides.argmax(axis=1)[group]]
        order = order[np.lexsort((along, group))]
        starts = np.column_stack((starts, (starts + ends) // 2)).reshape(-1)
        levels.append(starts)


def _children(levels: Sequence[IntArray]) -> tuple[IntArray, IntArray]:
    """First child and number of children of all nodes but those of the last level.

    Args:
        levels: where the groups of each level start; the first node of each level comes right
            after the last one of the level before.
    """
    first, count, place = [], [], 0
    for level, below in pairwise(levels):
        place += len(level)
        at = np.searchsorted(below, level)
        first.append(place + at)
        count.append(np.diff(np.append(at, len(below))))
    return np.concatenate(first), np.concatenate(count)
