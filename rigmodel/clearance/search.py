"""Least clearance of many pairs over a motion, by branch and bound.

A node is a pair of pieces and a box of joint values. Its lower bound is the certificate of
`limbs` for the direction the engine found at the box's centre; the engine's values at centres
and corners are upper bounds, the least of which each pair keeps with its pose. A node is closed
as soon as its lower bound says all that is wanted of its pair, else it is cut in two across the
joint that moves the contact most. Nodes of all pairs go through each round together, so that
all but the engine calls are done in bulk.

A piece may also be a box over many pieces. Its lower bound holds for all of them, its value for
none. While the box is larger than what the joints move, a node with it is not cut but opened: its
children take its place.

What is wanted of a pair with a limit:

* proof that it keeps the limit, or a pose in which it does not;
* of a pair that does not: its least value to the error bound;
* of the pair with the least margin over its limit: its least value to the error bound;
* of a pair whose least value is the limit itself: its value to an eighth of the error bound.

Pairs may be put into lots, which may overlap. Then of those of a lot that do not keep their limits
only the least value is wanted, and of the others that they are no worse.

A pair that has used up its budget keeps what was proven until then.
"""

from __future__ import annotations

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.clearance.engine import Query, answered
from rigmodel.clearance.limbs import BoolArray, LimbTable
from rigmodel.clearance.nodes import Budget, Evaluation, Nodes, PiecePairs, halved, joined
from rigmodel.clearance.pieces import Covers
from rigmodel.clearance.separation import CONVERGED_MM, TOUCH_MM, NarrowPhase, own_axes
from rigmodel.clearance.supports import IntArray, ShapeTable
from rigmodel.clearance.wanted import base_of, enough_of, wanted_low

_WORTH = 0.25  # share of the error bound that a corner must promise to be tried
_LOOSE = 0.2  # share of what a node has to spare that its certificate may lose
_BATCH = 200  # nodes that cost about as much to evaluate as a round costs by itself
_CROWD = 400  # most nodes evaluated in one round
_ELSEWHERE = 0.1  # what a joint does away from the contact, against what it does there
_STILL_MM = 1e-9  # a box that moves nothing by more than this is a pose


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
        covers: which limbs end in a box over others.
        least: least margin over its limit that pairs outside this search come down to, mm.
        lots: which pairs of bodies belong to each lot, shape (m, k); None where each counts.

    Attributes:
        pairs: the pairs of pieces; those under boxes are added as the boxes are opened.
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
        covers: Covers,
        least: float = np.inf,
        lots: BoolArray | None = None,
    ) -> None:
        self._narrow, self._shapes, self._table = narrow, shapes, table
        self._lots = lots
        self.pairs, self._limits, self._covers = pairs, limits, covers
        self._base = base_of(limits)
        self._bound, self._budget, self._least = error_bound_mm, budget, least
        count, columns = len(limits), table.columns.shape[1]
        self.low = np.full(count, np.inf)
        self.high = np.full(count, np.inf)
        self.best_piece_pair = np.full(count, -1, dtype=np.int64)
        self._best_values = np.zeros((count, 2, columns))
        self.calls = np.zeros(count, dtype=np.int64)
        self._alike = table.alike(pairs.limbs)
        self._floor = np.full(count, -np.inf)
        self._before = np.zeros(count, dtype=np.int64)
        self._queries: dict[tuple[int, int], Query] = {}

    @property
    def margin(self) -> float:
        """Least margin of any value found over its limit, here or elsewhere."""
        return float((self.high - self._base).min(initial=self._least))

    def recall(self, owner: int, low: float, high: float, calls: int) -> None:
        """Takes note of what is known of a pair of bodies: bounds, and calls spent on them."""
        self._floor[owner] = max(self._floor[owner], low)
        self._before[owner] = calls
        if high < self.high[owner]:
            self.high[owner] = high
            self.best_piece_pair[owner] = -1

    def poses(self) -> FloatArray:
        """Joint values (k, 2, c) of the pose where `high` of each pair of bodies was found."""
        limbs = self.pairs.limbs[self.best_piece_pair]
        alike = self._alike[self.best_piece_pair]
        centre, half = self._table.centre[limbs], self._table.half[limbs]
        both = half[:, 0] + half[:, 1]
        # Each joint takes a part of the difference that is within its own range.
        share = np.divide(half[:, 0], both, out=np.zeros_like(both), where=both > 0.0)
        values = self._best_values.copy()
        given = np.where(alike != 0.0, (values[:, 1] - centre[:, 1]) * share, 0.0)
        values[:, 1] -= given
        values[:, 0] -= alike * given
        return values

    def _roots(self, chosen: IntArray) -> Nodes:
        limbs = self.pairs.limbs[chosen]
        centre, half = self._table.centre[limbs], self._table.half[limbs]
        # Joints that matter only by their difference are put together in the second limb.
        alike = self._alike[chosen] != 0.0
        half[:, 1] += np.where(alike, half[:, 0], 0.0)
        half[:, 0][alike] = 0.0
        known = np.maximum(self.pairs.low[chosen], self._floor[self.pairs.owner[chosen]])
        none = np.full((len(chosen), 3), np.nan)
        return Nodes(chosen, centre, half, known, none)

    def glance(self, chosen: IntArray) -> None:
        """Evaluates some pairs of pieces in the middle of their motion, for upper bounds.

        Of what is under a box the nearest is followed down to a true piece.
        """
        nodes = self._roots(chosen)
        nodes.normal = self._evaluate(nodes.piece_pair, nodes.centre).normal
        while True:
            nodes = nodes.only(self._covered(nodes.piece_pair) > 0.0)
            if not len(nodes.piece_pair):
                return
            nodes, parent = self._uncovered(nodes)
            found = self._evaluate(nodes.piece_pair, nodes.centre)
            nodes.normal = found.normal
            order = np.lexsort((found.value, parent))
            first = np.diff(parent[order], prepend=-1) > 0  # the nearest of each parent's
            nodes = nodes.only(order[first])

    def run(self) -> None:
        """Searches all pairs until nothing more is wanted or the budget is spent."""
        nodes = self._roots(np.arange(len(self.pairs.owner)))
        while len(nodes.piece_pair):
            nodes = self._round(nodes)
        np.minimum(self.low, self.high, out=self.low)

    def _short(self, owners: IntArray) -> BoolArray:
        """Whether pairs of bodies are known to fall short of a limit."""
        limits = self._limits[owners]
        return np.isfinite(limits) & (self.high[owners] < limits - TOUCH_MM)

    def _wanted(self, owners: IntArray) -> FloatArray:
        """Lower bound at which a node of each pair of bodies may be closed."""
        high, limits = self.high[owners], self._limits[owners]
        wanted = wanted_low(limits, high, self.margin, self._bound)
        if self._lots is None:
            return wanted
        enough = enough_of(self._lots, self.high, self._base)[owners]
        return np.where(high < limits - TOUCH_MM, np.minimum(wanted, enough), wanted)

    def _close(self, nodes: Nodes, closed: BoolArray) -> Nodes:
        owners = self.pairs.owner[nodes.piece_pair[closed]]
        np.minimum.at(self.low, owners, nodes.low[closed])
        return nodes.only(~closed)

    def _close_done(self, nodes: Nodes) -> Nodes:
        owners = self.pairs.owner[nodes.piece_pair]
        return self._close(nodes, nodes.low >= self._wanted(owners))

    def _round(self, nodes: Nodes) -> Nodes:
        nodes = self._close_done(self._close_spent(nodes))
        if len(nodes.piece_pair) <= _CROWD:
            return self._opened(nodes)
        # Worst first: the rest may never need a look once these have been through.
        margins = nodes.low - self._base[self.pairs.owner[nodes.piece_pair]]
        order = np.argpartition(margins, _CROWD)
        return joined(self._opened(nodes.only(order[:_CROWD])), nodes.only(order[_CROWD:]))

    def _opened(self, nodes: Nodes) -> Nodes:
        """Evaluates nodes and returns the children of those that stay open."""
        if not len(nodes.piece_pair):
            return nodes
        found = self._evaluate(nodes.piece_pair, nodes.centre)
        nodes.normal = found.normal
        nodes.low = np.maximum(nodes.low, self._lower(nodes))
        owners = self.pairs.owner[nodes.piece_pair]
        opened = np.flatnonzero(nodes.low < self._wanted(owners))
        closed = np.ones(len(owners), dtype=bool)
        closed[opened] = False
        nodes = self._close(nodes, closed)
        if not len(opened):
            return nodes
        speeds = self._speeds(nodes, found, opened)
        moves = self._moves(nodes, speeds)
        # A box without size is opened as well, for its value says nothing.
        larger = self._covered(nodes.piece_pair) >= (moves * nodes.half.reshape(moves.shape)).max(1)
        larger &= self._covered(nodes.piece_pair) > 0.0
        below, cut = self._uncovered(nodes.only(larger))[0], ~larger
        nodes = nodes.only(cut)
        self._try_corners(nodes, found.value[opened][cut], speeds[cut])
        return joined(below, self._split(nodes, moves[cut]))

    def _covered(self, piece_pairs: IntArray) -> FloatArray:
        """Radius of the larger box of each pair of pieces, 0 for two true pieces, shape (n,)."""
        return self._covers.over(self.pairs.limbs[piece_pairs])

    def _uncovered(self, nodes: Nodes) -> tuple[Nodes, IntArray]:
        """Nodes with the children of the larger box of each in its place, and their parents."""
        parent, limbs = self._covers.opened(self.pairs.limbs[nodes.piece_pair])
        owner = self.pairs.owner[nodes.piece_pair[parent]]
        first = len(self.pairs.owner)
        self._alike = np.concatenate((self._alike, self._alike[nodes.piece_pair[parent]]))
        nodes = nodes.only(parent)
        nodes.piece_pair = first + np.arange(len(parent))
        self.pairs = self.pairs.with_more(limbs, owner, nodes.low)
        if len(parent):
            nodes.low = np.maximum(nodes.low, self._lower(nodes))
        return nodes, parent

    def _close_spent(self, nodes: Nodes) -> Nodes:
        owners = self.pairs.owner[nodes.piece_pair]
        calls = self.calls[owners] + self._before[owners]
        spent = calls >= self._budget.per_pair
        spent |= (calls >= self._budget.refine) & self._short(owners)
        if self.calls.sum() >= self._budget.total:
            spent[:] = True
        return self._close(nodes, spent) if spent.any() else nodes

    def _lower(self, nodes: Nodes) -> FloatArray:
        """Certified lower bound over each node's box along its direction."""
        limbs = self.pairs.limbs[nodes.piece_pair]
        reach = self._table.swept(
            np.concatenate((limbs[:, 0], limbs[:, 1])),
            np.concatenate((nodes.normal, -nodes.normal)),
            np.concatenate((nodes.centre[:, 0], nodes.centre[:, 1])),
            np.concatenate((nodes.half[:, 0], nodes.half[:, 1])),
        )
        lower: FloatArray = -(reach[: len(limbs)] + reach[len(limbs) :])
        return lower

    def _evaluate(self, piece_pairs: IntArray, values: FloatArray) -> Evaluation:
        """Engine answers at poses (n, 2, c); keeps the best of each pair of bodies."""
        count = len(piece_pairs)
        limbs = self.pairs.limbs[piece_pairs]
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
        owners = self.pairs.owner[piece_pairs]
        self.calls += np.bincount(owners, minlength=len(self.calls))
        value, normal, point = self._checked(numbers, turn, offset, owners, value, normal, point)
        normals = (turn_a @ normal[:, :, None])[:, :, 0]
        point_a = (turn_a @ point[:, :, None])[:, :, 0] + place_a
        true = self._covered(piece_pairs) == 0.0
        self._keep(owners[true], piece_pairs[true], values[true], value[true])
        return Evaluation(value, normals, point_a, point_a + value[:, None] * normals)

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
        sane = answered(value, normal, point)
        normal = normal / np.where(sane, size, 1.0)[:, None]
        value = np.where(sane, value, 0.0)
        back = -(normal[:, None] @ turn)
        proven = (offset * normal).sum(axis=1)
        proven -= self._shapes.support(numbers[:, 0], normal[:, None])[:, 0]
        proven -= self._shapes.support(numbers[:, 1], back)[:, 0]
        deep = np.flatnonzero(value < 0.0)
        if len(deep):
            self._other_ways_out(deep, numbers, turn, offset, normal, proven)
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

    def _other_ways_out(
        self,
        deep: IntArray,
        numbers: IntArray,
        turn: FloatArray,
        offset: FloatArray,
        normal: FloatArray,
        proven: FloatArray,
    ) -> None:
        """Where bodies overlap, takes one of their own axes if that is a shorter way out."""
        ways = own_axes(turn[deep])
        gaps = (ways @ offset[deep][:, :, None])[:, :, 0]
        gaps -= self._shapes.support(numbers[deep, 0], ways)
        gaps -= self._shapes.support(numbers[deep, 1], -(ways @ turn[deep]))
        best = gaps.argmax(axis=1)
        at = np.arange(len(deep))
        better = gaps[at, best] > proven[deep]
        proven[deep[better]] = gaps[at, best][better]
        normal[deep[better]] = ways[at, best][better]

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

    def _speeds(self, nodes: Nodes, found: Evaluation, opened: IntArray) -> FloatArray:
        """How each joint moves B's contact from A's, shape (n, 2, c, 3)."""
        limbs = self.pairs.limbs[nodes.piece_pair]
        speeds = self._table.speeds(
            np.concatenate((limbs[:, 0], limbs[:, 1])),
            np.concatenate((nodes.centre[:, 0], nodes.centre[:, 1])),
            np.concatenate((found.point_a[opened], found.point_b[opened])),
        )
        return np.stack((-speeds[: len(limbs)], speeds[len(limbs) :]), axis=1)

    def _try_corners(self, nodes: Nodes, value: FloatArray, speeds: FloatArray) -> None:
        """Evaluates, for each pair of bodies, the corner that promises the least value."""
        slopes = np.einsum("nscx,nx->nsc", speeds, nodes.normal)
        promised = value - (np.abs(slopes) * nodes.half).sum(axis=(1, 2))
        promised[self._covered(nodes.piece_pair) > 0.0] = np.inf  # a box has no value
        owners = self.pairs.owner[nodes.piece_pair]
        order = np.lexsort((promised, owners))
        first = np.ones(len(order), dtype=bool)
        first[1:] = owners[order[1:]] != owners[order[:-1]]
        chosen = order[first]
        worth = promised[chosen] < self.high[owners[chosen]] - _WORTH * self._bound
        chosen = chosen[worth]
        if len(chosen):
            corner = nodes.centre[chosen] - np.sign(slopes[chosen]) * nodes.half[chosen]
            self._evaluate(nodes.piece_pair[chosen], corner)

    def _moves(self, nodes: Nodes, speeds: FloatArray) -> FloatArray:
        """How far each joint moves the contact and what is about it, for each unit, (n, 2 c)."""
        reach = self._table.reach[self.pairs.limbs[nodes.piece_pair]]
        moves: FloatArray = np.sqrt((speeds * speeds).sum(axis=3)) + _ELSEWHERE * reach
        return moves.reshape(len(moves), -1)

    def _split(self, nodes: Nodes, moves: FloatArray) -> Nodes:
        """Cuts every node across the joint that moves the contact most, again while few."""
        still = (moves * nodes.half.reshape(moves.shape)).max(axis=1) <= _STILL_MM
        if still.any():
            nodes, moves = self._close(nodes, still), moves[~still]
        if not len(moves):
            return nodes
        while True:
            nodes, moves = halved(nodes, moves), np.concatenate((moves, moves))
            if 2 * len(moves) > _BATCH:
                break
        # The parent's direction often proves a child already, without the engine.
        nodes.low = np.maximum(nodes.low, self._lower(nodes))
        return nodes
