"""Least clearance of many pairs over a motion, by branch and bound.

A node is a pair of pieces and a box of joint values. Its lower bound is the certificate of
`limbs` for the direction the engine found at the box's centre; the engine's values at centres
and corners are upper bounds, the least of which each pair keeps with its pose. A node is closed
as soon as its lower bound says all that is wanted of its pair, else it is cut in two across the
joint that moves the contact most. Nodes of all pairs go through each round together, so that
all but the engine calls are done in bulk.

What is wanted of a pair with a limit:

* proof that it keeps the limit, or a pose in which it does not;
* of a pair that does not: its least value to the error bound;
* of the pair with the least margin over its limit: its least value to the error bound;
* of a pair whose least value is the limit itself: its value to an eighth of the error bound.

A pair that has used up its budget keeps what was proven until then.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from meshes_generic.transform import FloatArray
from rigmodel.clearance.engine import ABSURD_MM, Query
from rigmodel.clearance.limbs import LimbTable
from rigmodel.clearance.separation import CONVERGED_MM, TOUCH_MM, NarrowPhase
from rigmodel.clearance.supports import IntArray, ShapeTable

_STRADDLE = 0.125  # share of the error bound to which a value at its limit is worked out
_WORTH = 0.25  # share of the error bound that a corner must promise to be tried
_LOOSE = 0.2  # share of what a node has to spare that its certificate may lose
_BATCH = 200  # nodes that cost about as much to evaluate as a round costs by itself
_CROWD = 400  # most nodes evaluated in one round
_ELSEWHERE = 0.1  # what a joint does away from the contact, against what it does there
_STILL_MM = 1e-9  # a box that moves nothing by more than this is a pose

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Budget:
    """How many engine calls a search may spend.

    Attributes:
        per_pair: on any one pair of bodies.
        refine: on a pair already known to fall short of its limit, so that its value is only
            worked out more closely.
        total: on all of them together.
    """

    per_pair: int = 4000
    refine: int = 400
    total: int = 400_000


@dataclass(frozen=True, eq=False)
class PiecePairs:
    """Pairs of pieces to be searched.

    Attributes:
        limbs: numbers of the two limbs, shape (n, 2).
        owner: pair of bodies each belongs to, shape (n,).
        low: lower bound known beforehand, mm, shape (n,).
    """

    limbs: IntArray
    owner: IntArray
    low: FloatArray


@dataclass(eq=False)
class _Nodes:
    """Open nodes; `centre` and `half` have shape (n, 2, c), `normal` (n, 3) certified last."""

    piece_pair: IntArray
    centre: FloatArray
    half: FloatArray
    low: FloatArray
    normal: FloatArray

    def only(self, kept: BoolArray | IntArray) -> _Nodes:
        return _Nodes(
            self.piece_pair[kept],
            self.centre[kept],
            self.half[kept],
            self.low[kept],
            self.normal[kept],
        )


@dataclass(frozen=True, eq=False)
class _Evaluation:
    """Engine answers: value, certified direction and points, axes of the common top."""

    value: FloatArray
    normal: FloatArray
    point_a: FloatArray
    point_b: FloatArray


class Search:
    """One search; `run` leaves its results in the attributes.

    Args:
        narrow: engine and certificate for single poses.
        shapes: shapes by number.
        table: limbs by number.
        pairs: pairs of pieces to be searched.
        limits: limit of each pair of bodies, mm; infinite to work out every value, shape (k,).
        error_bound_mm: width to which values are worked out.
        budget: engine calls allowed.

    Attributes:
        low: proven lower bound for each pair of bodies, shape (k,).
        high: least value found for each, infinite where none was looked for, shape (k,).
        best_piece_pair: pair of pieces where `high` was found, -1 where it was not found in
            this search, shape (k,).
        calls: engine calls spent on each, shape (k,).
    """

    def __init__(
        self,
        narrow: NarrowPhase,
        shapes: ShapeTable,
        table: LimbTable,
        pairs: PiecePairs,
        limits: FloatArray,
        error_bound_mm: float,
        budget: Budget,
    ) -> None:
        self._narrow, self._shapes, self._table = narrow, shapes, table
        self._pairs, self._limits = pairs, limits
        self._base = np.where(np.isfinite(limits), limits, 0.0)
        self._bound, self._budget = error_bound_mm, budget
        count, columns = len(limits), table.columns.shape[1]
        self.low = np.full(count, np.inf)
        self.high = np.full(count, np.inf)
        self.best_piece_pair = np.full(count, -1, dtype=np.int64)
        self._best_values = np.zeros((count, 2, columns))
        self.calls = np.zeros(count, dtype=np.int64)
        self._alike = table.alike(pairs.limbs)
        self._floor = np.full(count, -np.inf)
        self._spent = np.zeros(count, dtype=bool)
        self._queries: dict[tuple[int, int], Query] = {}

    @property
    def margin(self) -> float:
        """Least margin of any value found over its limit."""
        return float((self.high - self._base).min(initial=np.inf))

    def recall(self, owner: int, low: float, high: float, calls: int) -> None:
        """Takes note of what is known of a pair of bodies: bounds, and calls spent on them."""
        self._floor[owner] = max(self._floor[owner], low)
        self._spent[owner] |= calls >= self._budget.per_pair
        if high < self.high[owner]:
            self.high[owner] = high
            self.best_piece_pair[owner] = -1

    def pose(self, owner: int) -> FloatArray:
        """Joint values (2, c) of the pose where `high` of a pair of bodies was found."""
        at = self.best_piece_pair[owner]
        values: FloatArray = self._best_values[owner].copy()
        alike = self._alike[at]
        low, high = self._table.low[self._pairs.limbs[at]], self._table.high[self._pairs.limbs[at]]
        centre, half = (low + high) / 2.0, (high - low) / 2.0
        both = half[0] + half[1]
        # Each joint takes a part of the difference that is within its own range.
        share = np.divide(half[0], both, out=np.zeros_like(both), where=both > 0.0)
        given = np.where(alike != 0.0, (values[1] - centre[1]) * share, 0.0)
        values[1] -= given
        values[0] -= alike * given
        return values

    def _roots(self, chosen: IntArray) -> _Nodes:
        limbs = self._pairs.limbs[chosen]
        low, high = self._table.low[limbs], self._table.high[limbs]
        centre, half = (low + high) / 2.0, (high - low) / 2.0
        # Joints that matter only by their difference are put together in the second limb.
        alike = self._alike[chosen] != 0.0
        half[:, 1] += np.where(alike, half[:, 0], 0.0)
        half[:, 0][alike] = 0.0
        known = np.maximum(self._pairs.low[chosen], self._floor[self._pairs.owner[chosen]])
        none = np.full((len(chosen), 3), np.nan)
        return _Nodes(chosen, centre, half, known, none)

    def glance(self, chosen: IntArray) -> None:
        """Evaluates some pairs of pieces in the middle of their motion, for upper bounds."""
        nodes = self._roots(chosen)
        self._evaluate(nodes.piece_pair, nodes.centre)

    def run(self) -> None:
        """Searches all pairs until nothing more is wanted or the budget is spent."""
        nodes = self._roots(np.arange(len(self._pairs.owner)))
        while len(nodes.piece_pair):
            nodes = self._round(nodes)
        np.minimum(self.low, self.high, out=self.low)

    def _short(self, owners: IntArray) -> BoolArray:
        """Whether pairs of bodies are known to fall short of a limit."""
        limits = self._limits[owners]
        return np.isfinite(limits) & (self.high[owners] < limits - TOUCH_MM)

    def _wanted(self, owners: IntArray) -> FloatArray:
        """Lower bound at which a node of each pair of bodies may be closed."""
        limits, high = self._limits[owners] - TOUCH_MM, self.high[owners]
        keeps = np.maximum(limits, self._base[owners] + self.margin - self._bound)
        keeps = np.minimum(keeps, high - self._bound * _STRADDLE)
        return np.where(high < limits, high - self._bound, keeps)

    def _close(self, nodes: _Nodes, closed: BoolArray) -> _Nodes:
        owners = self._pairs.owner[nodes.piece_pair[closed]]
        np.minimum.at(self.low, owners, nodes.low[closed])
        return nodes.only(~closed)

    def _close_done(self, nodes: _Nodes) -> _Nodes:
        owners = self._pairs.owner[nodes.piece_pair]
        return self._close(nodes, nodes.low >= self._wanted(owners))

    def _round(self, nodes: _Nodes) -> _Nodes:
        nodes = self._close_done(self._close_spent(nodes))
        if len(nodes.piece_pair) <= _CROWD:
            return self._opened(nodes)
        # Worst first: the rest may never need a look once these have been through.
        margins = nodes.low - self._base[self._pairs.owner[nodes.piece_pair]]
        order = np.argpartition(margins, _CROWD)
        return _joined(self._opened(nodes.only(order[:_CROWD])), nodes.only(order[_CROWD:]))

    def _opened(self, nodes: _Nodes) -> _Nodes:
        """Evaluates nodes and returns the children of those that stay open."""
        if not len(nodes.piece_pair):
            return nodes
        found = self._evaluate(nodes.piece_pair, nodes.centre)
        nodes.normal = found.normal
        nodes.low = np.maximum(nodes.low, self._lower(nodes))
        owners = self._pairs.owner[nodes.piece_pair]
        opened = np.flatnonzero(nodes.low < self._wanted(owners))
        closed = np.ones(len(owners), dtype=bool)
        closed[opened] = False
        nodes = self._close(nodes, closed)
        if not len(opened):
            return nodes
        speeds = self._speeds(nodes, found, opened)
        self._try_corners(nodes, found.value[opened], speeds)
        return self._split(nodes, speeds)

    def _close_spent(self, nodes: _Nodes) -> _Nodes:
        owners = self._pairs.owner[nodes.piece_pair]
        calls = self.calls[owners]
        spent = (calls >= self._budget.per_pair) | self._spent[owners]
        spent |= (calls >= self._budget.refine) & self._short(owners)
        if self.calls.sum() >= self._budget.total:
            spent[:] = True
        return self._close(nodes, spent) if spent.any() else nodes

    def _lower(self, nodes: _Nodes) -> FloatArray:
        """Certified lower bound over each node's box along its direction."""
        limbs = self._pairs.limbs[nodes.piece_pair]
        reach = self._table.swept(
            np.concatenate((limbs[:, 0], limbs[:, 1])),
            np.concatenate((nodes.normal, -nodes.normal)),
            np.concatenate((nodes.centre[:, 0], nodes.centre[:, 1])),
            np.concatenate((nodes.half[:, 0], nodes.half[:, 1])),
        )
        lower: FloatArray = -(reach[: len(limbs)] + reach[len(limbs) :])
        return lower

    def _evaluate(self, piece_pairs: IntArray, values: FloatArray) -> _Evaluation:
        """Engine answers at poses (n, 2, c); keeps the best of each pair of bodies."""
        count = len(piece_pairs)
        limbs = self._pairs.limbs[piece_pairs]
        turns, places = self._table.poses(
            np.concatenate((limbs[:, 0], limbs[:, 1])),
            np.concatenate((values[:, 0], values[:, 1])),
        )
        turn_a, turn_b, place_a = turns[:count], turns[count:], places[:count]
        turn = turn_a.transpose(0, 2, 1) @ turn_b
        apart = (places[count:] - place_a)[:, None]
        offset = (apart @ turn_a)[:, 0]
        numbers = self._table.shapes[limbs]
        queries = self._queries_of(numbers)
        value, normal, point = self._narrow.engine.distances(queries, turn, offset)
        owners = self._pairs.owner[piece_pairs]
        self.calls += np.bincount(owners, minlength=len(self.calls))
        value, normal, point = self._checked(numbers, turn, offset, owners, value, normal, point)
        normals = (turn_a @ normal[:, :, None])[:, :, 0]
        point_a = (turn_a @ point[:, :, None])[:, :, 0] + place_a
        self._keep(owners, piece_pairs, values, value)
        return _Evaluation(value, normals, point_a, point_a + value[:, None] * normals)

    def _queries_of(self, numbers: IntArray) -> list[Query]:
        known, shapes, engine = self._queries, self._shapes.shapes, self._narrow.engine
        queries = []
        for pair in map(tuple, numbers.tolist()):
            query = known.get(pair)
            if query is None:
                a, b = pair
                query = known[pair] = engine.query(shapes[a], shapes[b])
            queries.append(query)
        return queries

    def _checked(
        self,
        numbers: IntArray,
        turn: FloatArray,
        offset: FloatArray,
        owners: IntArray,
        value: FloatArray,
        normal: FloatArray,
        point: FloatArray,
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Answers held against their certificates; doubtful ones are worked out singly."""
        size = np.sqrt((normal * normal).sum(axis=1))
        sane = (np.abs(value) < ABSURD_MM) & (np.abs(size - 1.0) < 0.01)
        normal = normal / np.where(sane, size, 1.0)[:, None]
        value = np.where(sane, value, 0.0)
        back = -(normal[:, None] @ turn)
        proven = (offset * normal).sum(axis=1)
        proven -= self._shapes.support(numbers[:, 0], normal[:, None])[:, 0]
        proven -= self._shapes.support(numbers[:, 1], back)[:, 0]
        off = np.abs(value - proven) > CONVERGED_MM
        # A loose certificate matters where it decides whether the node can be closed.
        wanted = self._wanted(owners)
        matters = (proven < wanted) & (value - proven > _LOOSE * (value - wanted))
        for k in np.flatnonzero(~sane | (off & matters)).tolist():
            a, b = (self._shapes.shapes[number] for number in numbers[k])
            again = self._narrow.local(a, b, turn[k], offset[k])
            value[k], normal[k], point[k] = again.high_mm, again.direction, again.point_a
            proven[k] = again.low_mm
        return np.maximum(value, proven), normal, point

    def _keep(
        self, owners: IntArray, piece_pairs: IntArray, values: FloatArray, found: FloatArray
    ) -> None:
        """Keeps the least value found for each pair of bodies, and where."""
        order = np.argsort(-found, kind="stable")
        order = order[found[order] < self.high[owners[order]]]
        # Later ones overwrite earlier ones, so the least value stays.
        self.high[owners[order]] = found[order]
        self.best_piece_pair[owners[order]] = piece_pairs[order]
        self._best_values[owners[order]] = values[order]

    def _speeds(self, nodes: _Nodes, found: _Evaluation, opened: IntArray) -> FloatArray:
        """How each joint moves B's contact from A's, shape (n, 2, c, 3)."""
        limbs = self._pairs.limbs[nodes.piece_pair]
        speeds = self._table.speeds(
            np.concatenate((limbs[:, 0], limbs[:, 1])),
            np.concatenate((nodes.centre[:, 0], nodes.centre[:, 1])),
            np.concatenate((found.point_a[opened], found.point_b[opened])),
        )
        return np.stack((-speeds[: len(limbs)], speeds[len(limbs) :]), axis=1)

    def _try_corners(self, nodes: _Nodes, value: FloatArray, speeds: FloatArray) -> None:
        """Evaluates, for each pair of bodies, the corner that promises the least value."""
        slopes = np.einsum("nscx,nx->nsc", speeds, nodes.normal)
        promised = value - (np.abs(slopes) * nodes.half).sum(axis=(1, 2))
        owners = self._pairs.owner[nodes.piece_pair]
        order = np.lexsort((promised, owners))
        first = np.ones(len(order), dtype=bool)
        first[1:] = owners[order[1:]] != owners[order[:-1]]
        chosen = order[first]
        worth = promised[chosen] < self.high[owners[chosen]] - _WORTH * self._bound
        chosen = chosen[worth]
        if len(chosen):
            corner = nodes.centre[chosen] - np.sign(slopes[chosen]) * nodes.half[chosen]
            self._evaluate(nodes.piece_pair[chosen], corner)

    def _split(self, nodes: _Nodes, speeds: FloatArray) -> _Nodes:
        """Cuts every node across the joint that moves the contact most, again while few."""
        reach = self._table.reach[self._pairs.limbs[nodes.piece_pair]]
        moves = np.sqrt((speeds * speeds).sum(axis=3)) + _ELSEWHERE * reach
        moves = moves.reshape(len(moves), -1)
        still = (moves * nodes.half.reshape(moves.shape)).max(axis=1) <= _STILL_MM
        if still.any():
            nodes, moves = self._close(nodes, still), moves[~still]
        if not len(moves):
            return nodes
        while True:
            nodes, moves = _halved(nodes, moves), np.concatenate((moves, moves))
            if 2 * len(moves) > _BATCH:
                break
        # The parent's direction often proves a child already, without the engine.
        nodes.low = np.maximum(nodes.low, self._lower(nodes))
        return nodes


def _halved(nodes: _Nodes, moves: FloatArray) -> _Nodes:
    """Both halves of every node, cut where a joint's half-width times `moves` (n, 2 c) is most."""
    half = nodes.half.reshape(moves.shape).copy()
    at, widest = np.arange(len(half)), (moves * half).argmax(axis=1)
    half[at, widest] /= 2.0
    step = np.zeros_like(half)
    step[at, widest] = half[at, widest]
    half, step = half.reshape(nodes.half.shape), step.reshape(nodes.half.shape)
    centre = nodes.centre
    first = _Nodes(nodes.piece_pair, centre - step, half, nodes.low, nodes.normal)
    return _joined(first, _Nodes(nodes.piece_pair, centre + step, half, nodes.low, nodes.normal))


def _joined(one: _Nodes, other: _Nodes) -> _Nodes:
    return _Nodes(
        np.concatenate((one.piece_pair, other.piece_pair)),
        np.concatenate((one.centre, other.centre)),
        np.concatenate((one.half, other.half)),
        np.concatenate((one.low, other.low)),
        np.concatenate((one.normal, other.normal)),
    )
