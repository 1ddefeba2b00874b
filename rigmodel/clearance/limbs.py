"""How far moving pieces can reach: poses and swept support values of many chains at once.

A limb is one convex piece at the end of the chain of moving joints below some frame, its top.
Its joint values range over a box, centre c and half-widths h. Wanted is an upper bound of the
greatest n·p over all points p of the piece and all joint values in the box:

    H(n) = max over q of h_piece(q)(n).

The chain is worked through from the top, the direction being turned back into each joint's axes.

A slide along a adds exactly (n·a) c + |n·a| h, as the rest of the chain moves along unturned.

A turn by θ about z leaves the rest of the chain the direction d(θ) = R(-θ) n. Let V be the
swept support of the rest. It is a maximum of support functions, so it is convex and positively
homogeneous: V(s d + t e) <= s V(d) + t V(e) for s, t >= 0. Between two angles α and β less than
180° apart let

    s = sin(β-θ) / sin(β-α),    t = sin(θ-α) / sin(β-α),    both at least 0, s + t at least 1.

Across the axis s d(α) + t d(β) is d(θ); along it, it is too long by s + t - 1. Hence with z the
part of n along the axis and W = V(-z), the rest's support against that part,

    V(d(θ)) <= s V(d(α)) + t V(d(β)) + (s + t - 1) W,

and V + W is at most a sine wave through its two end values, whose maximum has a closed form. For
a single point the wave is exact, so for a narrow range the bound is off only by terms of second
order. The range is cut into an even number of arcs of at most `_ARC`, at all of whose ends V is
taken.

Upper bounds may be put in for V: the coefficients are not negative. So the whole recursion gives
an upper bound, and for two limbs with a common top

    sep(n) over the whole box >= -H_A(n) - H_B(-n).

Joint values are radians or mm; the columns of a limb's box are slide, turn, slide, turn, ...
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from meshes_generic.transform import FloatArray, Transform
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.supports import IntArray, ShapeTable

_ARC = math.radians(65.0)
_EXACT_TURNS = 2  # more turns than this and a swept box is made of the inner swept box
# Axes are taken for one line if a limb of ten metres would not show the difference.
_SAME, _SAME_MM = 1e-11, 1e-8
_AXES = np.concatenate((np.eye(3), -np.eye(3)))

BoolArray = NDArray[np.bool_]
Leaf = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class _Level:
    """One slide and then perhaps one turn, for all limbs of a class."""

    turns: bool
    turn: FloatArray  # (n, 3, 3) rotation from the axes of the turn to those above the slide
    offset: FloatArray  # (n, 3)
    slide: FloatArray  # (n, 3) unit direction of the slide in the axes above it


@dataclass(frozen=True, eq=False)
class _Limbs:
    """Limbs of one class: the same pattern of joints."""

    levels: tuple[_Level, ...]
    turn: FloatArray  # (n, 3, 3) placement of the piece below the last joint
    offset: FloatArray  # (n, 3)
    shapes: IntArray  # (n,)


class LimbTable:
    """Limbs by number.

    Args:
        linkage: the compiled mechanism.
        table: shapes by number.
        links: link that carries each limb's piece, shape (n,).
        tops: link each limb is seen from, shape (n,).
        placements: placement of each piece in its link, shape (n, 4, 4).
        shapes: number of each piece's shape, shape (n,).

    Attributes:
        columns: link moved by each column of a limb's joint box, -1 for none, shape (n, c).
        centre: middle of each joint's range, 0 where there is no joint, shape (n, c).
        half: half-width of each joint's range, shape (n, c).
        reach: most that any point of the piece moves for each mm or radian, shape (n, c).
    """

    def __init__(
        self,
        linkage: Linkage,
        table: ShapeTable,
        links: IntArray,
        tops: IntArray,
        placements: FloatArray,
        shapes: IntArray,
    ) -> None:
        self._table = table
        self.shapes = shapes
        still = len(linkage.parent)
        chains, chain_of = np.unique(links * still + tops, return_inverse=True)
        found = [linkage.columns(chain % still, chain // still) for chain in chains.tolist()]
        most = max((len(chain) for chain in found), default=2)
        filled = [chain + (-1,) * (most - len(chain)) for chain in found]
        columns = np.array(filled, dtype=np.int64).reshape(-1, most)
        patterns = [tuple(link >= 0 for link in chain[1::2]) for chain in found]
        numbers = {pattern: k for k, pattern in enumerate(dict.fromkeys(patterns))}
        self.columns = columns[chain_of]
        moving = self.columns >= 0
        low, high = linkage.low[self.columns], linkage.high[self.columns]
        self.centre = np.where(moving, (low + high) / 2.0, 0.0)
        self.half = np.where(moving, (high - low) / 2.0, 0.0)
        class_of_chain = np.array([numbers[pattern] for pattern in patterns], dtype=np.int64)
        self._class = class_of_chain[chain_of]
        self._row = np.zeros(len(links), dtype=np.int64)
        # The last seat moves nothing: column -1 finds it for want of a joint.
        seats = np.concatenate((linkage.seats, np.eye(4)[None]))
        self.reach = np.zeros(self.columns.shape)
        self._firsts = np.zeros((len(links), 3, 3))
        self._classes: list[_Limbs] = []
        for pattern, number in numbers.items():
            members = np.flatnonzero(self._class == number)
            self._row[members] = np.arange(len(members))
            kind = _Limbs(
                tuple(
                    _level(seats, self.columns[members], k, turns)
                    for k, turns in enumerate(pattern)
                ),
                placements[members, :3, :3],
                placements[members, :3, 3],
                shapes[members],
            )
            self._classes.append(kind)
            self.reach[members] = self._reach_of(kind, members)
            first = kind.levels[0]
            self._firsts[members, 0] = first.slide
            self._firsts[members, 1] = first.turn[:, :, 2]
            self._firsts[members, 2] = first.offset

    def alike(self, limbs: IntArray) -> FloatArray:
        """First joints of pairs of limbs that move one against the other alike, shape (n, c).

        Two slides along one direction, or two turns about one line, only matter by their
        difference. An entry is +1 or -1 (their axes point the same or opposite ways) where the
        joints of that column are so, else 0.

        Args:
            limbs: numbers of the two limbs of each pair, shape (n, 2).
        """
        found = np.zeros((len(limbs), self.columns.shape[1]))
        firsts = self._firsts[limbs]  # (n, 2, 3 rows, 3): slide, axis, origin
        there = self.columns[limbs][:, :, :2] >= 0
        ways = np.einsum("nkx,nkx->nk", firsts[:, 0, :2], firsts[:, 1, :2])
        same = _all_below(np.cross(firsts[:, 0, :2], firsts[:, 1, :2]), _SAME)
        slides = there[:, 0, 0] & there[:, 1, 0] & same[:, 0]
        found[slides, 0] = np.sign(ways[slides, 0])
        # The line of a turn must be one line, whatever the slides before it do.
        axis = firsts[:, 0, 1]
        apart = np.cross(firsts[:, 1, 2] - firsts[:, 0, 2], axis)
        one_line = _all_below(apart, _SAME_MM)
        for k in (0, 1):
            along = _all_below(np.cross(firsts[:, k, 0], axis), _SAME)
            one_line &= along | ~there[:, k, 0]
        turns = there[:, 0, 1] & there[:, 1, 1] & same[:, 1] & one_line
        found[turns, 1] = np.sign(ways[turns, 1])
        return found

    def _reach_of(self, kind: _Limbs, members: IntArray) -> FloatArray:
        """Most that a point moves for each mm (1) or radian (its distance from the joint)."""
        reach = np.zeros((len(members), self.columns.shape[1]))
        far = np.linalg.norm(kind.offset, axis=1) + self._table.radii[kind.shapes]
        for k in range(len(kind.levels) - 1, -1, -1):
            slide, turn = self.columns[members, 2 * k], self.columns[members, 2 * k + 1]
            reach[:, 2 * k] = slide >= 0
            reach[:, 2 * k + 1] = np.where(turn >= 0, far, 0.0)
            ends = (np.abs(self.centre) + self.half)[members, 2 * k]
            far = far + np.linalg.norm(kind.levels[k].offset, axis=1) + ends
        return reach

    def _by_class(self, limbs: IntArray) -> list[tuple[_Limbs, IntArray, IntArray]]:
        """For each class among the limbs: it, the places in `limbs`, and its rows."""
        classes = self._class[limbs]
        rows = self._row[limbs]
        found = []
        for number in np.flatnonzero(np.bincount(classes, minlength=len(self._classes))):
            chosen = np.flatnonzero(classes == number)
            found.append((self._classes[number], chosen, rows[chosen]))
        return found

    def poses(self, limbs: IntArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rotations (n, 3, 3) and places (n, 3) of pieces seen from their tops.

        Args:
            limbs: numbers of limbs, shape (n,).
            values: their joint values, shape (n, c).
        """
        turns, offsets = np.empty((len(limbs), 3, 3)), np.empty((len(limbs), 3))
        for kind, chosen, rows in self._by_class(limbs):
            q = values[chosen]
            turn, offset = kind.turn[rows], kind.offset[rows]
            for k in range(len(kind.levels) - 1, -1, -1):
                level = kind.levels[k]
                if level.turns:
                    c, s = np.cos(q[:, 2 * k + 1]), np.sin(q[:, 2 * k + 1])
                    offset = _turned(offset, c, s)
                    turn = _turned(turn.transpose(2, 0, 1), c, s).transpose(1, 2, 0)
                above = level.turn[rows]
                offset = np.einsum("nij,nj->ni", above, offset) + level.offset[rows]
                offset += level.slide[rows] * q[:, 2 * k, None]
                turn = above @ turn
            turns[chosen], offsets[chosen] = turn, offset
        return turns, offsets

    def speeds(self, limbs: IntArray, values: FloatArray, points: FloatArray) -> FloatArray:
        """How a point of each limb moves with each of its joints, shape (n, c, 3).

        Where a column has no joint its entry means nothing.

        Args:
            limbs: numbers of limbs, shape (n,).
            values: their joint values, shape (n, c).
            points: a point of each, axes of its top, shape (n, 3), mm.
        """
        speeds = np.zeros((len(limbs), self.columns.shape[1], 3))
        for kind, chosen, rows in self._by_class(limbs):
            q = values[chosen]
            frame = np.broadcast_to(np.eye(3), (len(rows), 3, 3))
            origin = np.zeros((len(rows), 3))
            for k, level in enumerate(kind.levels):
                slide = level.slide[rows]
                speeds[chosen, 2 * k] = (frame @ slide[:, :, None])[:, :, 0]
                step = level.offset[rows] + slide * q[:, 2 * k, None]
                origin = origin + (frame @ step[:, :, None])[:, :, 0]
                frame = frame @ level.turn[rows]
                if level.turns:
                    arm = points[chosen] - origin
                    speeds[chosen, 2 * k + 1] = np.cross(frame[:, :, 2], arm)
                    c, s = np.cos(q[:, 2 * k + 1]), np.sin(q[:, 2 * k + 1])
                    x, y = frame[:, :, 0], frame[:, :, 1]
                    c, s = c[:, None], s[:, None]
                    frame = np.stack((c * x + s * y, c * y - s * x, frame[:, :, 2]), axis=2)
        return speeds

    def swept(
        self, limbs: IntArray, directions: FloatArray, centre: FloatArray, half: FloatArray
    ) -> FloatArray:
        """Upper bounds (n,) of support over boxes of joint values; see the module.

        Args:
            limbs: numbers of limbs, shape (n,).
            directions: a unit direction for each, axes of its top, shape (n, 3).
            centre: centres of the boxes, shape (n, c).
            half: half-widths of the boxes, shape (n, c).
        """
        values = np.empty(len(limbs))
        for kind, chosen, rows in self._by_class(limbs):
            values[chosen] = _descend(
                kind.levels,
                0,
                rows,
                directions[chosen][:, None],
                centre[chosen],
                half[chosen],
                self._leaf(kind, rows),
            )[:, 0]
        return values

    def boxes(self, limbs: IntArray) -> FloatArray:
        """Boxes that limbs never leave, axes of their tops, shape (n, 2, 3): low and high."""
        boxes = np.empty((len(limbs), 2, 3))
        centre, half = self.centre[limbs], self.half[limbs]
        for kind, chosen, rows in self._by_class(limbs):
            leaf = self._leaf(kind, rows)
            end = len(kind.levels)
            while end:
                start = _cut(kind.levels, end)
                values = _descend(
                    kind.levels[:end],
                    start,
                    rows,
                    np.broadcast_to(_AXES, (len(rows), 6, 3)),
                    centre[chosen],
                    half[chosen],
                    leaf,
                )
                high, low = values[:, :3], -values[:, 3:]
                leaf = _box_leaf((high + low) / 2.0, (high - low) / 2.0)
                end = start
            boxes[chosen, 0], boxes[chosen, 1] = low, high
        return boxes

    def _leaf(self, kind: _Limbs, rows: IntArray) -> Leaf:
        """Support of the pieces themselves in directions (n, e, 3) below the last joint."""
        turn, offset, shapes = kind.turn[rows], kind.offset[rows], kind.shapes[rows]

        def support(directions: FloatArray) -> FloatArray:
            values: FloatArray = self._table.support(shapes, directions @ turn)
            values += (directions @ offset[:, :, None])[:, :, 0]
            return values

        return support


def _all_below(vectors: FloatArray, limit: float) -> BoolArray:
    """Whether no component of a vector (..., 3) is as large as a limit."""
    below: BoolArray = np.abs(vectors).max(axis=-1, initial=0.0) < limit
    return below


def _level(seats: Transform, columns: IntArray, k: int, turns: bool) -> _Level:
    first, second = seats[columns[:, 2 * k]], seats[columns[:, 2 * k + 1]]
    both = first @ second
    return _Level(turns, both[:, :3, :3], both[:, :3, 3], first[:, :3, 2])


def _cut(levels: tuple[_Level, ...], end: int) -> int:
    """First of the levels up to `end` that hold no more turns than are swept exactly."""
    start, turns = end, 0
    while start and turns + levels[start - 1].turns <= _EXACT_TURNS:
        start -= 1
        turns += levels[start].turns
    return start


def _turned(vectors: FloatArray, c: FloatArray, s: FloatArray) -> FloatArray:
    """Vectors (..., n, 3) turned about z by angles of that cosine and sine, shape (n,)."""
    x, y = vectors[..., 0], vectors[..., 1]
    return np.stack((c * x - s * y, s * x + c * y, vectors[..., 2]), axis=-1)


def _box_leaf(centre: FloatArray, half: FloatArray) -> Leaf:
    def support(directions: FloatArray) -> FloatArray:
        values: FloatArray = (directions @ centre[:, :, None])[:, :, 0]
        values += (np.abs(directions) @ half[:, :, None])[:, :, 0]
        return values

    return support


def _descend(
    levels: tuple[_Level, ...],
    k: int,
    rows: IntArray,
    directions: FloatArray,
    centre: FloatArray,
    half: FloatArray,
    leaf: Leaf,
) -> FloatArray:
    """Swept support (n, e) of the chain from level k down, in directions (n, e, 3)."""
    if k == len(levels):
        return leaf(directions)
    level = levels[k]
    along = (directions @ level.slide[rows][:, :, None])[:, :, 0]
    values = (directions @ level.offset[rows][:, :, None])[:, :, 0]
    values += along * centre[:, 2 * k, None] + np.abs(along) * half[:, 2 * k, None]
    inner = directions @ level.turn[rows]
    if not level.turns:
        values += _descend(levels, k + 1, rows, inner, centre, half, leaf)
        return values
    angle, spread = centre[:, 2 * k + 1], half[:, 2 * k + 1]
    arcs = max(1, math.ceil(float(spread.max()) / _ARC))
    angles = angle[:, None] + spread[:, None] * np.linspace(-1.0, 1.0, 2 * arcs + 1)
    c, s = np.cos(angles)[:, None, :], np.sin(angles)[:, None, :]
    x, y, z = inner[:, :, 0, None], inner[:, :, 1, None], inner[:, :, 2]
    n, e = inner.shape[:2]
    fan = np.zeros((n, e, 2 * arcs + 2, 3))
    # A turn of the body by an angle is a turn of the direction back by it.
    fan[:, :, :-1, 0] = c * x + s * y
    fan[:, :, :-1, 1] = c * y - s * x
    fan[:, :, :-1, 2] = z[:, :, None]
    fan[:, :, -1, 2] = np.where(z > 0.0, -1.0, 1.0)
    below = _descend(levels, k + 1, rows, fan.reshape(n, -1, 3), centre, half, leaf)
    below = below.reshape(n, e, 2 * arcs + 2)
    against = np.abs(z) * below[:, :, -1]
    values += _highest(below[:, :, :-1] + against[:, :, None], spread / arcs) - against
    return values


def _highest(ends: FloatArray, arc: FloatArray) -> FloatArray:
    """Highest value of sine waves through values (n, e, m) an arc (n,) apart, shape (n, e)."""
    first, second = ends[..., :-1], ends[..., 1:]
    c, s = np.cos(arc)[:, None, None], np.sin(arc)[:, None, None]
    turning = s > 1e-9
    rise = np.where(turning, (second - first * c) / np.where(turning, s, 1.0), 0.0)
    crest = (rise > 0.0) & (rise * c < first * s)
    tops = np.where(crest, np.sqrt(first * first + rise * rise), first)
    highest: FloatArray = np.maximum(tops.max(axis=-1), ends.max(axis=-1))
    return highest
