"""What a survey of many pairs of bodies says: who keeps its limit, and by how much."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.clearance.memo import Known
from rigmodel.clearance.separation import TOUCH_MM
from rigmodel.clearance.supports import IntArray


class Status(StrEnum):
    """How a pair stands to its limit."""

    CLEAR = "clear"
    VIOLATES = "violates"
    UNDECIDED = "undecided"


@dataclass(frozen=True, eq=False)
class Clearance:
    """Least clearance of two bodies over the motion, as an interval.

    Attributes:
        low_mm: certified: in no pose is there less.
        high_mm: clearance in `pose`.
        pose: where `high_mm` occurs: every joint that matters to the pair, mm or degrees.
        point_a: point of the first body there, world axes, mm, shape (3,).
        point_b: point of the second body there, shape (3,).
        direction: unit vector there from the first body to the second, shape (3,).
        parts: names of the two bodies.
        pieces: labels of the two pieces.
        calls: engine calls spent.
        settled: whether the interval is no wider than the error bound.
        at_least: whether the bodies are in each other at least as deep as `high_mm` says: one has
            a closed surface, that is held against the other triangle by triangle.
    """

    low_mm: float
    high_mm: float
    pose: Mapping[str, float]
    point_a: FloatArray
    point_b: FloatArray
    direction: FloatArray
    parts: tuple[str, str]
    pieces: tuple[str, str]
    calls: int
    settled: bool
    at_least: bool = False


@dataclass(frozen=True, eq=False)
class Survey:
    """How many pairs stand to their limits.

    A clearance short of its limit by no more than `TOUCH_MM` keeps it.

    Attributes:
        pairs: numbers of the bodies, shape (k, 2).
        limits: limit of each pair, mm, shape (k,).
        low: proven lower bound of each pair's clearance, mm, shape (k,).
        high: least value found, infinite where the boxes alone proved enough, mm, shape (k,).
        closest: the clearance of least margin over its limit; None where there are no pairs, or the
            boxes prove all of them.
        calls: engine calls spent.
    """

    pairs: IntArray
    limits: FloatArray
    low: FloatArray
    high: FloatArray
    closest: Clearance | None
    calls: int
    _tell: Callable[[Sequence[int], Known], Clearance]
    _known: Mapping[int, Known]
    _told: dict[int, Clearance] = field(default_factory=dict)

    def clearance(self, k: int) -> Clearance | None:
        """Clearance of pair k with the pose and points; None where the boxes proved enough."""
        told, known = self._told.get(k), self._known.get(k)
        if told is None and known is not None:
            told = self._told[k] = self._tell(self.pairs[k].tolist(), known)
        return told

    def status(self, k: int) -> Status:
        """How pair k stands to its limit."""
        limit = self.limits[k] - TOUCH_MM
        if self.low[k] >= limit:
            return Status.CLEAR
        return Status.VIOLATES if self.high[k] < limit else Status.UNDECIDED

    def which(self, status: Status) -> tuple[int, ...]:
        """Places in `pairs` of all pairs that stand so."""
        limits = self.limits - TOUCH_MM
        clear = self.low >= limits
        chosen = {
            Status.CLEAR: clear,
            Status.VIOLATES: ~clear & (self.high < limits),
            Status.UNDECIDED: ~clear & (self.high >= limits),
        }[status]
        return tuple(np.flatnonzero(chosen).tolist())

    @property
    def all_clear(self) -> bool:
        """Whether every pair is proven to keep its limit."""
        return bool((self.low >= self.limits - TOUCH_MM).all())
