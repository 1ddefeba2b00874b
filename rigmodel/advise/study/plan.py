"""What a study varies: a plan that any process can work on alone."""

from __future__ import annotations

import hashlib
import json
import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from rigmodel.errors import RigmodelError
from rigmodel.sheet.fields import steps

_BATCH, _LEAST_BATCHES = 128, 64
_LEAST_GROUPS = 8  # batches that a study is cut into at least where each has all tyres of a rig
# What changes more of the rig is worked on first: cases that differ in the rest share the most.
_TYRES = 3
_RANKS = (
    ("tractor.lift", 2),
    ("tractor.front", _TYRES),
    ("tractor.rear", _TYRES),
    ("tractor", 1),
)


class StudyError(RigmodelError):
    """A study cannot go on."""


@dataclass(frozen=True)
class Axis:
    """One thing that is varied.

    Attributes:
        name: what it is called.
        paths: dotted names of the values that are set.
        values: each value as JSON.
        labels: each value for people.
        together: whether each value is a list that holds one for each name.
    """

    name: str
    paths: tuple[str, ...]
    values: tuple[str, ...]
    labels: tuple[str, ...]
    together: bool = False

    def put_into(self, tree: dict[str, Any], at: int) -> None:
        """Sets one of the values wherever it belongs in a scene's tree."""
        for i, path in enumerate(self.paths):
            value = json.loads(self.values[at])  # read anew, so that no two places share a list
            put(tree, steps(path), value[i] if self.together else value)


@dataclass(frozen=True)
class StudyPlan:
    """Everything that a process needs to work on any case.

    Attributes:
        name: title.
        scene: the scene's tree as JSON, nothing resolved.
        origin: name of the scene's file.
        axes: what is varied.
        drawn: places in the grid, in rising order, if a sample was drawn; else None.
        files: every file the scene refers to, by its path in the scene's folder, and its bytes.
        program: digest of the program that the study is planned with.
        catalogues: which of the files are catalogues that were given beside the scene.
    """

    name: str
    scene: str
    origin: str
    axes: tuple[Axis, ...]
    drawn: tuple[int, ...] | None
    files: tuple[tuple[str, bytes], ...]
    program: str
    catalogues: tuple[str, ...] = ()

    @property
    def grid(self) -> int:
        """Cases of the whole grid."""
        return math.prod(len(axis.values) for axis in self.axes)

    @property
    def total(self) -> int:
        """Cases of the study."""
        return self.grid if self.drawn is None else len(self.drawn)

    @property
    def batch(self) -> int:
        """Cases worked on together; depends on nothing but the plan."""
        most = max(1, min(_BATCH, self.total // _LEAST_BATCHES))
        tyres = math.prod(len(axis.values) for axis in self.axes if _rank(axis) == _TYRES)
        # All tyres of one rig are best worked on together.
        if self.drawn is not None or tyres > min(_BATCH, self.total // _LEAST_GROUPS):
            return most
        return max(tyres, most - most % tyres)

    @cached_property
    def fingerprint(self) -> str:
        """Digest of everything that a result depends on."""
        told = repr(
            (
                self.program,
                self.scene,
                self.origin,
                self.axes,
                self.drawn,
                self.files,
                self.catalogues,
            )
        )
        return hashlib.sha256(told.encode("utf-8")).hexdigest()

    def __hash__(self) -> int:
        """Equal plans have equal fingerprints."""
        return hash(self.fingerprint)

    def starts(self) -> range:
        """Where every batch starts, counted in the order of the work."""
        return range(0, self.total, self.batch)

    def batch_cases(self, start: int) -> tuple[int, ...]:
        """Numbers of the cases of a batch, in the order they are worked on."""
        return tuple(map(self._at, range(start, min(start + self.batch, self.total))))

    def _at(self, turn: int) -> int:
        """The case that is worked on in a turn."""
        if self.drawn is not None:
            return self._turns[turn]
        place = [0] * len(self.axes)
        for i in reversed(self._by_rank):
            turn, place[i] = divmod(turn, len(self.axes[i].values))
        return self.number(place)

    @cached_property
    def _by_rank(self) -> tuple[int, ...]:
        """The axes, those first that change most of a rig."""
        return tuple(sorted(range(len(self.axes)), key=lambda i: _rank(self.axes[i])))

    @cached_property
    def _turns(self) -> tuple[int, ...]:
        """Drawn cases in the order they are worked on."""
        order = self._by_rank

        def turn(case: int) -> tuple[int, ...]:
            place = self.place(case)
            return tuple(place[i] for i in order)

        return tuple(sorted(range(self.total), key=turn))

    def within(self, low: int, high: int) -> range:
        """The cases whose place in the grid has a number from `low` to `high`, without the last."""
        if self.drawn is None:
            return range(low, high)
        return range(bisect_left(self.drawn, low), bisect_left(self.drawn, high))

    def number(self, place: Sequence[int]) -> int:
        """Which place of the grid it is, counted with the last axis running fastest."""
        number = 0
        for axis, at in zip(self.axes, place, strict=True):
            number = number * len(axis.values) + at
        return number

    def place(self, case: int) -> tuple[int, ...]:
        """Which value of each axis a case has, counted from 0; the last axis runs fastest."""
        rest = case if self.drawn is None else self.drawn[case]
        found = []
        for axis in reversed(self.axes):
            rest, at = divmod(rest, len(axis.values))
            found.append(at)
        return tuple(reversed(found))

    def labels(self, case: int) -> tuple[str, ...]:
        """The values of a case for people."""
        return tuple(a.labels[i] for a, i in zip(self.axes, self.place(case), strict=True))

    def tree(self, case: int) -> dict[str, Any]:
        """What the scene file of a case holds; nothing in it is shared with other cases."""
        tree: dict[str, Any] = json.loads(self.scene)
        for axis, at in zip(self.axes, self.place(case), strict=True):
            axis.put_into(tree, at)
        return tree

    def text(self, case: int) -> str:
        """The scene file of a case; JSON, which is YAML too."""
        return json.dumps(self.tree(case), ensure_ascii=False)


def _rank(axis: Axis) -> int:
    """How little of a rig an axis changes; 0 is most."""
    ranks = (next((r for head, r in _RANKS if path.startswith(head)), 0) for path in axis.paths)
    return min(ranks)


def put(tree: Any, path: Sequence[str | int], value: Any) -> None:
    """Sets a value; sections that are not there are made, items of lists must be there."""
    here = tree
    for i, step in enumerate(path):
        last = i == len(path) - 1
        if isinstance(step, int):
            if not isinstance(here, list) or step >= len(here):
                raise LookupError(f"it holds no item {step + 1}")
        elif not isinstance(here, dict):
            raise LookupError(f"'{step}' would lie in a plain value")
        elif step not in here or here[step] is None:
            if not last and isinstance(path[i + 1], int):
                raise LookupError(f"'{step}' is not written there")
            here[step] = {}
        if last:
            here[step] = value
        else:
            here = here[step]
