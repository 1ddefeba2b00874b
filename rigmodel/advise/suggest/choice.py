"""The exact choice: one option for every group, within stock and bar, best by the objective.

A mixed-integer programme solved by HiGHS (through scipy). Variables: one 0/1 for each option, one
0/1 for each rank in use, and for each part how many must be bought. Two pieces that cannot both
hang on the bar give one row: the options with the one and the options with the other add up to 1
at most.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from meshes_generic.transform import FloatArray
from rigmodel.advise.suggest.conflicts import Conflicts
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.options import Group, Option
from rigmodel.advise.suggest.pieces import REACH_MM, Clamp, Key, fit_together, on_the_bar
from rigmodel.advise.suggest.request import Request
from rigmodel.errors import RigmodelError

# One unit of an objective that is not the first counts this much against one unit of the first.
_MINOR: Mapping[Objective, float] = {
    Objective.MISSED: 2e-4,
    Objective.PARTS: 1e-3,
    Objective.BOUGHT: 2e-3,
    Objective.RANKS: 5e-3,
    Objective.BEHIND: 2e-4,
}
_DOUBLED = 1e-5  # of two equal rigs, the one that works less soil twice
_SECONDS = 3.0
_GAP = 1e-5

_Name = TypeVar("_Name")
Chosen = tuple[int, ...]  # index of the option of each group


@dataclass(frozen=True)
class Leave:
    """Requirements left out on purpose, to see which of them clash.

    Attributes:
        stock: any number of every part may be bought.
        bar: clamps may stand anywhere, over each other and over the bar's ends.
        checks: what the 3D checks forbade is allowed.
    """

    stock: bool = False
    bar: bool = False
    checks: bool = False


@dataclass(frozen=True)
class Cut:
    """Of some columns, at most so many may be chosen."""

    columns: tuple[int, ...]
    most: int


@dataclass
class _Rows:
    """Rows of the programme: low <= sum of coefficient * column <= high."""

    row: list[int] = field(default_factory=list)
    column: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)

    def add(self, entries: Iterable[tuple[int, float]], low: float, high: float) -> None:
        number = len(self.low)
        for column, value in entries:
            self.row.append(number)
            self.column.append(column)
            self.value.append(value)
        self.low.append(low)
        self.high.append(high)


class Chooser:
    """Chooses among options; what is found impossible in 3D is added as it is learned.

    Args:
        request: stock, bar and limits.
        groups: what there is to choose from.
        conflicts: what the 3D checks have forbidden so far; read anew at every choice.
    """

    def __init__(self, request: Request, groups: Sequence[Group], conflicts: Conflicts) -> None:
        self.request, self.groups, self.conflicts = request, tuple(groups), conflicts
        self.options: list[tuple[int, Option]] = [
            (g, option) for g, group in enumerate(groups) for option in group.options
        ]
        self.first = np.cumsum([0, *(len(group.options) for group in groups)]).tolist()
        self.holders: list[dict[Key, list[int]]] = [{} for _ in groups]
        self.clamps: dict[Key, tuple[Clamp, ...]] = {}
        for column, (g, option) in enumerate(self.options):
            for piece in option.pieces:
                self.holders[g].setdefault(piece.key, []).append(column)
                self.clamps[piece.key] = piece.clamps
        self.ranks = sorted({r for _, option in self.options for r in option.ranks})
        self.parts = sorted({p for _, option in self.options for p in option.parts})
        self.shut_by_bar = [not _fits_bar(request, option) for _, option in self.options]
        self._bar_rows = list(self._crowded())
        self.settled = True  # whether every choice so far was proven the best

    def choose(
        self,
        objective: Objective,
        without: Sequence[Cut] = (),
        leave: Leave = Leave(),
    ) -> Chosen | None:
        """The best choice, or None where there is none.

        Args:
            objective: what to have least of; the others break ties.
            without: choices to leave out, such as those already known.
            leave: requirements to leave out.

        Raises:
            RigmodelError: the solver stopped before it had an answer.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415
        from scipy.sparse import csr_array  # noqa: PLC0415

        if any(not group.options for group in self.groups):
            return None
        rows = self._rows(leave)
        for cut in without:
            rows.add(((column, 1.0) for column in cut.columns), 0.0, float(cut.most))
        total = len(self.options) + len(self.ranks) + len(self.parts)
        matrix = csr_array(
            (rows.value, (rows.row, rows.column)), shape=(len(rows.low), total), dtype=float
        )
        upper = np.ones(total)
        upper[len(self.options) + len(self.ranks) :] = np.inf
        upper[: len(self.options)][self._shut(leave)] = 0.0
        done = milp(
            self._costs(objective),
            integrality=np.ones(total),
            bounds=Bounds(np.zeros(total), upper),
            constraints=LinearConstraint(matrix, rows.low, rows.high),
            options={"time_limit": _SECONDS, "mip_rel_gap": _GAP},
        )
        if done.status == 2:
            return None
        if done.x is None:
            raise RigmodelError(f"no choice of parts was found in {_SECONDS:g} s")
        self.settled = self.settled and done.status == 0
        return self._read(done.x)

    def _read(self, values: FloatArray) -> Chosen:
        chosen = []
        for low, high in zip(self.first, self.first[1:], strict=False):
            chosen.append(int(np.argmax(values[low:high])))
        return tuple(chosen)

    def this(self, chosen: Chosen) -> Cut:
        """Leaves out just this choice."""
        columns = tuple(self.first[g] + k for g, k in enumerate(chosen))
        return Cut(columns, len(columns) - 1)

    def alike(self, chosen: Chosen) -> Cut:
        """Leaves out every choice of the same tools on the same ranks, whatever their hands."""
        found: list[int] = []
        for g, k in enumerate(chosen):
            form = self.groups[g].options[k].form
            same = (j for j, o in enumerate(self.groups[g].options) if o.form == form)
            found += [self.first[g] + j for j in same]
        return Cut(tuple(found), len(self.groups) - 1)

    def chosen_options(self, chosen: Chosen) -> tuple[Option, ...]:
        """Options of a choice, in the order of the groups."""
        return tuple(group.options[k] for group, k in zip(self.groups, chosen, strict=True))

    def _shut(self, leave: Leave) -> NDArray[np.bool_]:
        shut: NDArray[np.bool_] = np.zeros(len(self.options), dtype=bool)
        if not leave.bar:
            shut |= self.shut_by_bar
        if not leave.checks:
            shut |= [self.conflicts.forbids(option) for _, option in self.options]
        return shut

    def _costs(self, objective: Objective) -> FloatArray:
        weight = {**_MINOR, objective: 1.0}
        options = [
            sum(weight[o] * cost for o, cost in option.costs.items()) + _DOUBLED * option.doubled
            for _, option in self.options
        ]
        ranks = [weight[Objective.RANKS]] * len(self.ranks)
        bought = [weight[Objective.BOUGHT]] * len(self.parts)
        return np.array([*options, *ranks, *bought])

    def _rows(self, leave: Leave) -> _Rows:
        rows = _Rows()
        for low, high in zip(self.first, self.first[1:], strict=False):
            rows.add(((c, 1.0) for c in range(low, high)), 1.0, 1.0)
        self._rank_rows(rows)
        self._stock_rows(rows, leave)
        if not leave.bar:
            for columns in self._bar_rows:
                rows.add(((c, 1.0) for c in columns), 0.0, 1.0)
        if not leave.checks:
            for columns in self._clashing():
                rows.add(((c, 1.0) for c in columns), 0.0, 1.0)
            for keys in self.conflicts.together:
                self._not_together(rows, keys)
        return rows

    def _rank_rows(self, rows: _Rows) -> None:
        """A rank is in use as soon as one chosen option stands on it."""
        for k, rank in enumerate(self.ranks):
            column = len(self.options) + k
            for low, high in zip(self.first, self.first[1:], strict=False):
                on = [c for c in range(low, high) if rank in self.options[c][1].ranks]
                if on:
                    entries = [*((c, 1.0) for c in on), (column, -1.0)]
                    rows.add(entries, -np.inf, 0.0)

    def _stock_rows(self, rows: _Rows, leave: Leave) -> None:
        stock = self.request.stock
        if stock is None:
            return
        for k, part in enumerate(self.parts):
            entries = [
                (c, float(option.parts[part]))
                for c, (_, option) in enumerate(self.options)
                if part in option.parts
            ]
            if self.request.may_buy or leave.stock:
                entries.append((len(self.options) + len(self.ranks) + k, -1.0))
            rows.add(entries, -np.inf, float(stock.get(part, 0)))

    def _pairs(self) -> Iterator[tuple[int, int]]:
        for g in range(len(self.groups)):
            for h in range(g + 1, len(self.groups)):
                yield g, h

    def _crowded(self) -> Iterator[list[int]]:
        """Columns of two pieces whose clamps do not leave each other room."""
        gap = self.request.scene.spec.limits.clamp_gap
        tables = [
            _ClampTable([(k, self.clamps[k]) for k in holder], gap) for holder in self.holders
        ]
        for g, h in self._pairs():
            for one, other in tables[g].crowded(tables[h]):
                yield [*self.holders[g][one], *self.holders[h][other]]

    def _clashing(self) -> Iterator[list[int]]:
        """Columns of two pieces that the 3D checks found to clash."""
        for g, h in self._pairs():
            for one, other in self.conflicts.between(self.holders[g], self.holders[h]):
                yield [*self.holders[g][one], *self.holders[h][other]]

    def _not_together(self, rows: _Rows, keys: frozenset[Key]) -> None:
        """Three or more pieces that may not all be chosen."""
        entries = [(c, 1.0) for key in keys for holder in self.holders for c in holder.get(key, [])]
        rows.add(entries, 0.0, len(keys) - 1.0)


def _fits_bar(request: Request, option: Option) -> bool:
    """Whether an option's own clamps stay on the bar, off what is kept free, and apart."""
    clamps = [clamp for piece in option.pieces for clamp in piece.clamps]
    gap = request.scene.spec.limits.clamp_gap
    return on_the_bar(request, clamps) and fit_together(clamps, gap)


class _ClampTable(Generic[_Name]):
    """Clamps of named pieces as columns of numbers."""

    def __init__(self, clamps: Sequence[tuple[_Name, Sequence[Clamp]]], clamp_gap: float) -> None:
        self.clamp_gap = clamp_gap
        self.names = [name for name, held in clamps for _ in held]
        flat = [(c.centre, c.width, c.head) for _, held in clamps for c in held]
        self.values = np.array(flat, dtype=float).reshape(len(flat), 3)

    def crowded(self, other: _ClampTable[_Name]) -> list[tuple[_Name, _Name]]:
        """Names of pieces that stand too near, for each other or a spanner (`bar-space`)."""
        mine, theirs = self.values[:, None, :], other.values[None, :, :]
        gap = np.abs(mine[..., 0] - theirs[..., 0]) - (mine[..., 1] + theirs[..., 1]) / 2.0
        needed = np.maximum(np.maximum(mine[..., 2], theirs[..., 2]), self.clamp_gap)
        found = np.argwhere(gap < needed - REACH_MM).tolist()
        return list(dict.fromkeys((self.names[i], other.names[j]) for i, j in found))
