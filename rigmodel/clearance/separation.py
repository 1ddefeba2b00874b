"""Certified signed distance between convex pieces and between solids.

The signed distance of two bodies is their distance where they are apart and minus the depth of
penetration (the shortest slide that frees them) where they overlap. For convex A and B and any
unit direction n

    sep(n) = min n·b - max n·a = -h_B(-n) - h_A(n)        (h: support function)

is a lower bound of it: where sep(n) > 0 the slab between the two supporting planes lies between
the bodies, and where sep(n) < 0 a slide of -sep(n) along n frees them, so they are not in
deeper than that. The best n reaches the signed distance itself. Hence the distance engine is
only asked to propose a direction; what is reported as `low_mm` is sep(n) from the shapes' own
closed-form support in float64. A wrong answer of the engine can make the interval wide, it can
never turn a clash into a clearance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from meshes_generic.shapes import Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, Transform
from rigmodel.clearance.engine import Answer, DistanceEngine, answered

TOUCH_MM = 1e-3
"""Separations no farther than this from zero count as touching: exactly 0 clearance."""

CONVERGED_MM = 0.01
"""An engine answer farther than this above its own certificate is not taken as final."""

_FINE_MM = 1e-6
_NUDGE_MM = 1e-4
_ASKEW = np.array((0.48, 0.6, 0.64))  # a unit vector along no axis of any shape
_MAX_STEPS = 100


def snap(value_mm: float) -> float:
    """The value, or exactly 0 where it counts as touching (within `TOUCH_MM` of zero)."""
    return 0.0 if abs(value_mm) <= TOUCH_MM else value_mm


@dataclass(frozen=True, eq=False)
class Separation:
    """Signed distance of two bodies as an interval.

    Attributes:
        low_mm: certified lower bound.
        high_mm: upper bound: the engine's witness, or the distance of two points of the bodies.
            Where they overlap it is the shortest way out that was found, so the depth told may
            be more than the true one, but never less.
        direction: unit vector (3,) from A to B that certifies `low_mm`, world axes.
        point_a: point (3,) of A nearest to B, or deepest in it, mm.
        point_b: point (3,) of B nearest to A, or deepest in it, mm.
    """

    low_mm: float
    high_mm: float
    direction: FloatArray
    point_a: FloatArray
    point_b: FloatArray

    @property
    def converged(self) -> bool:
        """Whether the interval is narrow enough to be taken as one value."""
        return self.high_mm - self.low_mm <= CONVERGED_MM

    def reversed(self) -> Separation:
        """The same with A and B exchanged."""
        return Separation(self.low_mm, self.high_mm, -self.direction, self.point_b, self.point_a)


class NarrowPhase:
    """Certified separations of pieces and solids; keeps the engine's geometry between calls."""

    def __init__(self, engine: DistanceEngine | None = None) -> None:
        self.engine = DistanceEngine() if engine is None else engine

    def shapes(
        self, shape_a: Shape, pose_a: Transform, shape_b: Shape, pose_b: Transform
    ) -> Separation:
        """Separation of two shapes placed by (4, 4) poses."""
        turn_a, turn_b = pose_a[:3, :3], pose_b[:3, :3]
        # All work is done in A's axes: far from the origin no digits are lost.
        turn = turn_a.T @ turn_b
        offset = turn_a.T @ (pose_b[:3, 3] - pose_a[:3, 3])
        local = self.local(shape_a, shape_b, turn, offset)
        return Separation(
            local.low_mm,
            local.high_mm,
            turn_a @ local.direction,
            turn_a @ local.point_a + pose_a[:3, 3],
            turn_a @ local.point_b + pose_a[:3, 3],
        )

    def local(
        self, shape_a: Shape, shape_b: Shape, turn: FloatArray, offset: FloatArray
    ) -> Separation:
        """Separation with B turned by (3, 3) and moved by (3,) mm in the axes of A."""
        found = self._asked(shape_a, shape_b, turn, offset)
        if found is None:
            return _without_engine(shape_a, shape_b, turn, offset)
        best = _certified(shape_a, shape_b, turn, offset, found[1])
        for _ in range(4):
            if found[0] - best[0] <= _FINE_MM or not self.engine.can_polish(shape_a, shape_b):
                break
            again = self.engine.polished(shape_a, shape_b, turn, offset, best[1])
            if not _is_answer(again):
                break
            low = _certified(shape_a, shape_b, turn, offset, again[1])
            if low[0] <= best[0] and again[0] >= found[0]:
                break
            best = max(best, low, key=lambda pair: pair[0])
            found = min(found, again, key=lambda answer: answer[0])
        if found[0] < 0.0 or found[0] - best[0] > CONVERGED_MM:
            # Out of an overlap there are many ways, and the engine may have missed the shortest.
            for candidate in _candidates(turn, offset):
                low = _certified(shape_a, shape_b, turn, offset, candidate)
                best = max(best, low, key=lambda pair: pair[0])
        if best[0] - found[0] > CONVERGED_MM and best[0] > 0.0:
            return _without_engine(shape_a, shape_b, turn, offset, best[1])
        low_mm, unit = best
        high_mm = max(found[0], low_mm)
        return Separation(low_mm, high_mm, unit, found[2], found[2] + found[0] * found[1])

    def _asked(
        self, shape_a: Shape, shape_b: Shape, turn: FloatArray, offset: FloatArray
    ) -> Answer | None:
        """The engine's answer if it is one; bodies that share their middle are nudged apart.

        A slide changes the signed distance by no more than its own length, so the value after a
        nudge, plus its length, is an upper bound of the one before it.
        """
        for nudge in (0.0, _NUDGE_MM, -100.0 * _NUDGE_MM):
            value, direction, point = self.engine.distance(
                shape_a, shape_b, turn, offset + nudge * _ASKEW
            )
            if _is_answer((value, direction, point)):
                return value + abs(nudge), direction, point
        return None

    def pieces(
        self, piece_a: Piece, pose_a: Transform, piece_b: Piece, pose_b: Transform
    ) -> Separation:
        """Separation of two pieces whose solids are placed by (4, 4) poses."""
        return self.shapes(
            piece_a.shape, pose_a @ piece_a.placement, piece_b.shape, pose_b @ piece_b.placement
        )

    def solids(
        self, solid_a: Solid, pose_a: Transform, solid_b: Solid, pose_b: Transform
    ) -> Separation:
        """Separation of two solids: that of their nearest, or deepest, pair of pieces.

        `low_mm` holds for every pair of pieces; those of a surface are its triangles, and what lies
        inside it is not asked for (`inside.inside`). Where more than one pair overlap, freeing the
        solids may take a longer slide than the deepest pair alone.
        """
        ones, others = _convex(solid_a), _convex(solid_b)
        found = [self.pieces(a, pose_a, b, pose_b) for a in ones for b in others]
        nearest = min(found, key=lambda separation: separation.high_mm)
        low = min(separation.low_mm for separation in found)
        return Separation(low, nearest.high_mm, nearest.direction, nearest.point_a, nearest.point_b)

    def along(
        self,
        solid_a: Solid,
        pose_a: Transform,
        solid_b: Solid,
        pose_b: Transform,
        direction: Sequence[float],
        gap_mm: float = 0.0,
    ) -> float:
        """Least slide of B along a direction, from 0 up, that leaves at least a gap to A.

        For one pair of convex pieces the signed distance f(s) is convex in the slide s, so the
        slides that leave too little are one interval. Its far end is approached from beyond by
        Newton's method: the certificate sep(n) grows by n·d for each mm and never exceeds f, so
        every slide tried on the way is itself proven to be far enough.

        Args:
            solid_a: stays.
            pose_a: its (4, 4) placement.
            solid_b: slides.
            pose_b: its (4, 4) placement before the slide.
            direction: three components of any length, world axes.
            gap_mm: clearance to be left.

        Returns:
            The slide in mm, 0 where there is room enough already.

        Raises:
            ValueError: if the direction has none.
        """
        along = np.asarray(direction, dtype=np.float64)
        size = float(np.linalg.norm(along))
        if not (size > 0.0 and math.isfinite(size)):
            raise ValueError(f"direction must be a finite vector other than 0, not {direction!r}")
        unit = along / size
        placed_a = [(p.shape, pose_a @ p.placement) for p in _convex(solid_a)]
        placed_b = [(p.shape, pose_b @ p.placement) for p in _convex(solid_b)]
        pairs = [(a, b) for a in placed_a for b in placed_b]
        slide, moved = 0.0, True
        while moved:
            moved = False
            for (shape_a, at_a), (shape_b, at_b) in pairs:
                least = self._slide(shape_a, at_a, shape_b, at_b, unit, slide, gap_mm)
                moved |= least > slide
                slide = least
        return slide

    def _slide(
        self,
        shape_a: Shape,
        pose_a: Transform,
        shape_b: Shape,
        pose_b: Transform,
        unit: FloatArray,
        start: float,
        gap: float,
    ) -> float:
        """Least slide from `start` up that leaves the gap between one pair of shapes."""

        def at(slide: float) -> Separation:
            pose = pose_b.copy()
            pose[:3, 3] += slide * unit
            return self.shapes(shape_a, pose_a, shape_b, pose)

        if at(start).low_mm >= gap - TOUCH_MM:
            return start
        reach_a = shape_a.reach(*(pose_a[:3, :3].T @ unit).tolist()) + pose_a[:3, 3] @ unit
        reach_b = shape_b.reach(*(-pose_b[:3, :3].T @ unit).tolist()) - pose_b[:3, 3] @ unit
        slide = max(float(reach_a + reach_b) + gap, start)
        for _ in range(_MAX_STEPS):
            found = at(slide)
            slope = float(found.direction @ unit)
            if slope <= 1e-9:
                break
            step = (found.low_mm - gap) / slope
            slide -= max(step, 0.0)
            if step <= _FINE_MM:
                break
        return max(slide, start)


def _certified(
    shape_a: Shape, shape_b: Shape, turn: FloatArray, offset: FloatArray, direction: FloatArray
) -> tuple[float, FloatArray]:
    """sep(n) for a direction made exactly unit, and that direction; A's axes."""
    x, y, z = direction.tolist()
    size = math.sqrt(x * x + y * y + z * z)
    unit = direction / size
    u, v, w = (unit @ turn).tolist()
    reach = shape_a.reach(x / size, y / size, z / size) + shape_b.reach(-u, -v, -w)
    return float(offset @ unit) - reach, unit


def _candidates(turn: FloatArray, offset: FloatArray) -> Iterator[FloatArray]:
    """Directions worth trying without an engine: both shapes' axes and the line of centres."""
    yield from own_axes(turn)
    size = float(np.linalg.norm(offset))
    if size > 0.0:
        yield offset / size


def own_axes(turn: FloatArray) -> FloatArray:
    """The axes of A and of B both ways, in those of A: (..., 3, 3) gives (..., 12, 3)."""
    turned = np.swapaxes(turn, -1, -2)
    own = np.broadcast_to(np.eye(3), turn.shape)
    axes: FloatArray = np.concatenate((own, -own, turned, -turned), axis=-2)
    return axes


def _is_answer(answer: Answer) -> bool:
    """Whether the engine gave an answer at all."""
    value, direction, point = answer
    return bool(answered(np.array([value]), direction[None], point[None])[0])


def _without_engine(
    shape_a: Shape,
    shape_b: Shape,
    turn: FloatArray,
    offset: FloatArray,
    *directions: FloatArray,
) -> Separation:
    """An honest, wide interval from a few directions: points of the bodies bound it above."""
    tried = [
        _certified(shape_a, shape_b, turn, offset, d)
        for d in (*_candidates(turn, offset), *directions)
    ]
    low, unit = max(tried, key=lambda pair: pair[0])
    units = np.array([direction for _, direction in tried])
    points_a = shape_a.support_points(units)
    points_b = shape_b.support_points(-units @ turn) @ turn.T + offset
    gaps = np.linalg.norm(points_b[None] - points_a[:, None], axis=2)
    i, j = np.unravel_index(int(gaps.argmin()), gaps.shape)
    return Separation(low, max(float(gaps[i, j]), low), unit, points_a[i], points_b[j])


def _convex(solid: Solid) -> list[Piece]:
    return [convex for piece in solid.pieces for convex in piece.convex_pieces()]


def separation(piece_a: Piece, pose_a: Transform, piece_b: Piece, pose_b: Transform) -> Separation:
    """Separation of two pieces whose solids are placed by (4, 4) poses, once."""
    return NarrowPhase().pieces(piece_a, pose_a, piece_b, pose_b)


def solid_separation(
    solid_a: Solid, pose_a: Transform, solid_b: Solid, pose_b: Transform
) -> Separation:
    """Separation of two solids placed by (4, 4) poses, once; see `NarrowPhase.solids`."""
    return NarrowPhase().solids(solid_a, pose_a, solid_b, pose_b)


def separation_along(
    solid_a: Solid,
    pose_a: Transform,
    solid_b: Solid,
    pose_b: Transform,
    direction: Sequence[float],
    gap_mm: float = 0.0,
) -> float:
    """Least slide of B in mm along a direction that leaves a gap to A, once.

    See `NarrowPhase.along`.
    """
    return NarrowPhase().along(solid_a, pose_a, solid_b, pose_b, direction, gap_mm)
