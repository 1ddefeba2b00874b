"""Hidden lines: what of the pieces' edges lies behind a nearer piece is left out.

So every back end can draw the same plain lines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.drawing.outline import Silhouette
from rigmodel.drawing.primitives import Point

_NEAR_MM = 0.02  # edges this near to a nearer piece's own edge still show
_SHORT_MM = 0.05
_LEVEL_MM = 1e-3


def visible_edges(silhouettes: Sequence[Silhouette]) -> tuple[tuple[Point, Point], ...]:
    """The stretches of the pieces' edges that no nearer piece hides, each once."""
    nearest = _nearest(silhouettes)
    if not nearest:
        return ()
    boxes = np.array([silhouette.box for silhouette in nearest])
    found: dict[tuple[Point, Point], None] = {}
    for i, silhouette in enumerate(nearest):
        apart = (boxes[:, 0] > boxes[i, 1]).any(axis=1) | (boxes[:, 1] < boxes[i, 0]).any(axis=1)
        apart[i] = True
        others = [nearest[j] for j in np.flatnonzero(~apart).tolist()]
        for segment in _visible(silhouette, others):
            found.setdefault(segment, None)
    return tuple(found)


def chained(segments: Sequence[tuple[Point, Point]]) -> tuple[tuple[Point, ...], ...]:
    """The segments joined end to end into as few lines as a simple walk finds."""
    at: dict[Point, list[int]] = {}
    for i, segment in enumerate(segments):
        for end in segment:
            at.setdefault(end, []).append(i)
    used = [False] * len(segments)

    def walk(point: Point) -> list[Point]:
        path = [point]
        while True:
            free = [i for i in at[path[-1]] if not used[i]]
            if not free:
                return path
            used[free[0]] = True
            one, two = segments[free[0]]
            path.append(two if one == path[-1] else one)

    found = []
    for i, (start, end) in enumerate(segments):
        if not used[i]:
            used[i] = True
            found.append((*reversed(walk(start)), *walk(end)))
    return tuple(found)


def _nearest(silhouettes: Sequence[Silhouette]) -> list[Silhouette]:
    """Of pieces with the same outline only the nearest, which alone shows; nearest first."""
    kept: dict[bytes, Silhouette] = {}
    for silhouette in sorted(silhouettes, key=lambda s: -s.high):
        outline = np.round(silhouette.edges[:, :, :2], 2) + 0.0
        kept.setdefault(outline.tobytes(), silhouette)
    return list(kept.values())


def _visible(silhouette: Silhouette, others: Sequence[Silhouette]) -> Iterator[tuple[Point, Point]]:
    """What is left of a piece's edges; the others come nearest first."""
    starts = silhouette.edges[:, 0]
    ways = silhouette.edges[:, 1] - starts
    hidden: list[list[tuple[float, float]]] = [[] for _ in starts]
    showing = np.ones(len(starts), dtype=bool)
    for other in others:
        if other.high <= silhouette.low + _LEVEL_MM:
            break
        enter, leave = _inside(starts, ways, other)
        crossed = np.flatnonzero((leave - enter > 1e-9) & showing)
        if not crossed.size:
            continue
        middle = starts[crossed] + ways[crossed] * ((enter + leave) / 2.0)[crossed, None]
        behind = crossed[other.front(middle[:, :2]) > middle[:, 2] + _LEVEL_MM]
        for k in behind.tolist():
            hidden[k].append((float(enter[k]), float(leave[k])))
        showing[behind[(enter[behind] <= 0.0) & (leave[behind] >= 1.0)]] = False
        if not showing.any():
            return
    for start, way, gaps in zip(starts.tolist(), ways.tolist(), hidden, strict=True):
        length = math.hypot(way[0], way[1])
        for low, high in _free(gaps):
            if (high - low) * length > _SHORT_MM:
                one = (start[0] + way[0] * low, start[1] + way[1] * low)
                yield _segment(one, (start[0] + way[0] * high, start[1] + way[1] * high))


def _segment(a: Point, b: Point) -> tuple[Point, Point]:
    """A segment with its ends in order and rounded, so that equal ones are found equal."""
    one = (round(a[0], 3) + 0.0, round(a[1], 3) + 0.0)
    two = (round(b[0], 3) + 0.0, round(b[1], 3) + 0.0)
    return (one, two) if one <= two else (two, one)


def _inside(
    starts: FloatArray, ways: FloatArray, other: Silhouette
) -> tuple[FloatArray, FloatArray]:
    """Where on each edge, from 0 to 1, it enters and leaves an outline; leave <= enter: never.

    Args:
        starts: (m, 3) where the edges start.
        ways: (m, 3) from there to their ends.
        other: whose outline.
    """
    # (m, k), inside where positive
    at_start = starts[:, :2] @ other.inward.T - (other.levels + _NEAR_MM)
    slope = ways[:, :2] @ other.inward.T
    along = np.abs(slope) < 1e-9
    crossing = -at_start / np.where(along, 1.0, slope)
    enter = np.where(~along & (slope > 0.0), crossing, 0.0).max(axis=1)
    leave = np.where(~along & (slope < 0.0), crossing, 1.0).min(axis=1)
    leave[(along & (at_start < 0.0)).any(axis=1)] = 0.0
    return enter, leave


def _free(gaps: list[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    """What the hidden stretches leave of 0 to 1."""
    at = 0.0
    for low, high in sorted(gaps):
        if low > at:
            yield at, low
        at = max(at, high)
    if at < 1.0:
        yield at, 1.0
