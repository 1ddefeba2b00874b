"""What the checks share while one assembly is checked: bodies, motion ranges, clearances."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from meshes_generic.transform import FloatArray
from rigmodel.assembly.fingers import fingers_of, metal_of
from rigmodel.assembly.model import JointKind, Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance import broad
from rigmodel.clearance.heights import Low, lowest_points
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.lateral import SteelStrips
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import Clearance, ClearanceSolver, Status, Survey
from rigmodel.clearance.nodes import Budget
from rigmodel.clearance.row_bodies import leaves_of, line_of
from rigmodel.clearance.separation import NarrowPhase, snap
from rigmodel.loads.account import Account
from rigmodel.loads.sag import PartSags

IntArray = NDArray[np.int64]

SET = MotionRange.only(JointKind.FLOAT, JointKind.TRIP)
AT_WORK = MotionRange.only(JointKind.FLOAT, JointKind.TRIP, JointKind.SETTING)
_STRAYS = (JointKind.FLOAT, JointKind.SETTING, JointKind.SWAY, JointKind.ROLL, JointKind.PITCH)
STRAYING = MotionRange.only(JointKind.TRIP, *_STRAYS)
LIFTING = MotionRange.only(JointKind.LIFT, JointKind.STEER, *_STRAYS)
TRIPPING = MotionRange.only(JointKind.TRIP, JointKind.STEER, *_STRAYS)
_SWINGS = frozenset({JointKind.FLOAT, JointKind.TRIP})
_SAME = 1e-6  # a joint nearer to its working value than this stands at work


@dataclass(frozen=True, eq=False)
class Body(broad.Body):
    """What is held against others: a part, the metal or the fingers of a wheel, a row.

    Attributes:
        part: index of the part in the mechanism, -1 for what is no part.
        flexible: whether it may brush against other flexible things.
    """

    part: int = -1
    flexible: bool = False


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of bodies by number, shape (k, 2), and the room each needs in mm, shape (k,)."""

    bodies: IntArray
    limits: FloatArray

    @classmethod
    def across(cls, one: ArrayLike, other: ArrayLike, limits: ArrayLike) -> Pairs:
        """Every body of one list with every body of another; a limit for each of the other."""
        a, b = np.asarray(one, dtype=np.int64), np.asarray(other, dtype=np.int64)
        bodies = np.column_stack((np.repeat(a, len(b)), np.tile(b, len(a))))
        wanted = np.broadcast_to(np.asarray(limits, dtype=np.float64), len(b))
        return cls(bodies, np.tile(wanted, len(a)))

    @classmethod
    def chosen(cls, mask: NDArray[np.bool_], numbers: IntArray, limits: FloatArray) -> Pairs:
        """Pairs (i, j) of listed bodies where a square mask says so, with a square of limits."""
        i, j = np.nonzero(mask)
        return cls(np.column_stack((numbers[i], numbers[j])), limits[i, j])

    def __len__(self) -> int:
        return len(self.limits)


class Memo:
    """Clearances known from earlier checks, and the engine that found them."""

    def __init__(self) -> None:
        self.clearances = ClearanceMemo()
        self.narrow = NarrowPhase()


class Scope:
    """One assembly while it is checked.

    Args:
        assembly: what is checked.
        memo: clearances known from earlier checks; it is added to.
        budget: engine calls allowed in each survey.
        loads: its weights and forces, where some have been worked out already.

    Attributes:
        loads: its weights and forces.
        calls: engine calls spent so far.
    """

    def __init__(
        self,
        assembly: Assembly,
        memo: Memo | None = None,
        budget: Budget | None = None,
        loads: Account | None = None,
    ) -> None:
        self.assembly = assembly
        self.loads = Account(assembly) if loads is None else loads
        self._budget = budget
        self.memo = Memo() if memo is None else memo
        self.calls = 0
        self._solvers: dict[int, ClearanceSolver] = {}

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """Bodies of all parts in the parts' order, then every row's line, then its leaves."""
        parts = self.assembly.mechanism.parts
        found = [body for index, part in enumerate(parts) for body in _split(index, part)]
        rows = self.assembly.rows
        height = self.assembly.scene.spec.rows.band_height
        found += [Body(f"{r.name}.line", r.frame, line_of(r, height)) for r in rows]
        leaves = ((row, leaves_of(row)) for row in rows)
        found += [Body(f"{r.name}.leaves", r.frame, s, -1, True) for r, s in leaves if s]
        return tuple(found)

    @cached_property
    def part_of(self) -> IntArray:
        """Index of the part of every body, -1 for rows, shape (n,)."""
        return np.array([body.part for body in self.bodies], dtype=np.int64)

    @cached_property
    def flexible(self) -> NDArray[np.bool_]:
        """Whether each body is flexible, shape (n,)."""
        return np.array([body.flexible for body in self.bodies], dtype=np.bool_)

    @cached_property
    def lines(self) -> IntArray:
        """Body of every row's own line, in the rows' order."""
        return self._ending(".line")

    @cached_property
    def leaves(self) -> IntArray:
        """Bodies of the rows' leaves, where their size is given."""
        return self._ending(".leaves")

    def _ending(self, suffix: str) -> IntArray:
        names = ((k, body) for k, body in enumerate(self.bodies) if body.part < 0)
        return np.array([k for k, b in names if b.name.endswith(suffix)], dtype=np.int64)

    @cached_property
    def rig(self) -> IntArray:
        """Bodies of the bar and all that it carries."""
        index = self.assembly.mechanism.part_index
        parts = [index[part.name] for part in self.assembly.rig_parts()]
        return np.flatnonzero(np.isin(self.part_of, parts))

    @cached_property
    def steel(self) -> IntArray:
        """Bodies of the rig that are not flexible."""
        found: IntArray = self.rig[~self.flexible[self.rig]]
        return found

    def of_role(self, role: Role) -> IntArray:
        """Bodies of all parts of a role."""
        parts = self.assembly.mechanism.parts
        wanted = [index for index, part in enumerate(parts) if part.role is role]
        return np.flatnonzero(np.isin(self.part_of, wanted))

    @cached_property
    def swing_of(self) -> IntArray:
        """A number for every frame: the same where no arm or spring holder moves two apart."""
        found: list[int] = []
        for index, frame in enumerate(self.assembly.mechanism.frames):
            own = found[frame.parent] if frame.parent >= 0 else 0
            if frame.joint is not None and frame.joint.kind in _SWINGS:
                own = index
            found.append(own)
        return np.array(found, dtype=np.int64)

    @cached_property
    def across(self) -> tuple[IntArray, FloatArray]:
        """Every convex piece at work: number of its body, and its right edge, left edge, bottom.

        The edges are mm left of the tractor's centre, the bottom mm over the soil's zero; shapes
        (pieces,) and (pieces, 3).
        """
        every = np.arange(len(self.bodies))
        edges = self._still.contents.seen_from(0).edges(every)
        return np.repeat(every, [len(found) for found in edges]), np.concatenate(edges)

    @cached_property
    def steel_strips(self) -> SteelStrips:
        """Where each piece of steel on the rig stands across at work."""
        bodies, edges = self.across
        steel = np.isin(bodies, self.steel)
        low, high, bottom = edges[steel].T
        names = tuple([self.bodies[k].name for k in bodies[steel].tolist()])
        return SteelStrips(low, high, bottom, names)

    @cached_property
    def level_lows(self) -> Mapping[str, Low]:
        """Lowest point of every tool with the bar level, by part."""
        return lowest_points(self.assembly, self.assembly.level_pose)

    @cached_property
    def work_lows(self) -> Mapping[str, Low]:
        """Lowest point of every tool at work, by part."""
        bar = self.assembly.scene.spec.toolbar
        level = bar.roll == 0.0 and bar.pitch == 0.0
        return self.level_lows if level else lowest_points(self.assembly)

    @property
    def sags(self) -> PartSags | None:
        """How the loaded bar moves the parts, None where that is not known."""
        return self.loads.sags

    def sag_between(self, pairs: Pairs) -> FloatArray:
        """Room that the bar's sag may take from each pair, shape (k,), mm."""
        if self.sags is None:
            return np.zeros(len(pairs))
        one, other = self.part_of[pairs.bodies].T
        return self.sags.between(one, other)

    def least(self, pairs: Pairs, motion: MotionRange) -> tuple[HeldClearance, ...]:
        """Least clearance of each pair over a motion, every one worked out."""
        everything = Pairs(pairs.bodies, np.full(len(pairs), np.inf))
        survey = self._survey(everything, motion)
        found = (survey.clearance(k) for k in range(len(pairs)))
        return tuple(
            self._told(clearance, float(limit))
            for clearance, limit in zip(found, pairs.limits, strict=True)
            if clearance is not None
        )

    def hold(self, pairs: Pairs, motion: MotionRange) -> Held:
        """Holds pairs of bodies against their limits over a motion, less what sag may take."""
        if not len(pairs):
            return Held((), (), None, 0)
        sag = self.sag_between(pairs)
        survey = self._survey(Pairs(pairs.bodies, pairs.limits + sag), motion)

        def held(found: Clearance, k: int) -> HeldClearance:
            return self._told(found, float(pairs.limits[k])).less(float(sag[k]))

        def told(status: Status) -> list[HeldClearance]:
            found = ((survey.clearance(k), k) for k in survey.which(status))
            return [held(c, k) for c, k in found if c is not None]

        closest = survey.closest
        return Held(
            _nearest_of_each(told(Status.VIOLATES)),
            _nearest_of_each(told(Status.UNDECIDED)),
            None if closest is None else held(closest, self._place(pairs, closest)),
            len(survey.which(Status.CLEAR)),
        )

    def short(self, pairs: Pairs, motion: MotionRange) -> Iterator[tuple[str, str]]:
        """Names of the pairs that `hold` finds broken, each once, and no more of them."""
        if len(pairs):
            sag = self.sag_between(pairs)
            survey = self._survey(Pairs(pairs.bodies, pairs.limits + sag), motion)
            places = pairs.bodies[list(survey.which(Status.VIOLATES))].tolist()
            yield from {(self.bodies[a].name, self.bodies[b].name) for a, b in places}

    def near(self, pairs: Pairs, motion: MotionRange, names: Collection[str]) -> bool:
        """Whether a pair of two named bodies comes nearer than its limit, whatever the bar sags."""
        own = np.array([body.name in names for body in self.bodies], dtype=np.bool_)
        kept = own[pairs.bodies].all(axis=1)
        if not kept.any():
            return False
        survey = self._survey(Pairs(pairs.bodies[kept], pairs.limits[kept]), motion)
        return bool(survey.which(Status.VIOLATES))

    def hold_lifted(self, others: IntArray, limit: float) -> Held:
        """Holds the rig against bodies of the tractor while it is lifted, and while tools trip.

        Tools trip at work, not when lifted; with the lift standing still everything that cannot
        trip has been held over more motion already.
        """
        lifted = self.hold(Pairs.across(self.rig, others, limit), LIFTING)
        return joined([lifted, self.hold(Pairs.across(self.tripping, others, limit), TRIPPING)])

    @cached_property
    def tripping(self) -> IntArray:
        """Bodies of the rig that a spring holder lets trip."""
        trips: list[bool] = []
        for frame in self.assembly.mechanism.frames:
            above = frame.parent >= 0 and trips[frame.parent]
            own = frame.joint is not None and frame.joint.kind is JointKind.TRIP
            trips.append(above or own)
        found: IntArray = self.rig[[trips[self.bodies[k].frame] for k in self.rig.tolist()]]
        return found

    def _survey(self, pairs: Pairs, motion: MotionRange) -> Survey:
        survey = self._moving(motion).survey(pairs.bodies, pairs.limits)
        self.calls += survey.calls
        return survey

    def _moving(self, motion: MotionRange) -> ClearanceSolver:
        solver = self._solvers.get(id(motion))
        if solver is None:
            solver = self._solvers[id(motion)] = self._still.moving(motion)
        return solver

    @cached_property
    def _still(self) -> ClearanceSolver:
        return ClearanceSolver(
            self.assembly.mechanism,
            MotionRange.still(),
            budget=self._budget,
            bodies=self.bodies,
            memo=self.memo.clearances,
            narrow=self.memo.narrow,
        )

    @cached_property
    def _number(self) -> dict[str, list[int]]:
        numbers: dict[str, list[int]] = {}
        for k, body in enumerate(self.bodies):
            numbers.setdefault(body.name, []).append(k)
        return numbers

    def _place(self, pairs: Pairs, found: Clearance) -> int:
        """Place of the pair that a clearance is of."""
        a, b = (self._number[name] for name in found.parts)
        here = np.isin(pairs.bodies[:, 0], a) & np.isin(pairs.bodies[:, 1], b)
        return int(here.argmax())

    def _told(self, found: Clearance, limit: float) -> HeldClearance:
        joints = self.assembly.mechanism.joints
        pose = {
            name: value
            for name, value in found.pose.items()
            if abs(value - joints[name].value) > _SAME
        }
        a, b = found.point_a.tolist(), found.point_b.tolist()
        value = snap(found.high_mm)
        return HeldClearance(
            found.parts,
            value,
            min(found.low_mm, value),
            limit,
            MappingProxyType(pose),
            ((a[0], a[1], a[2]), (b[0], b[1], b[2])),
            found.settled,
            bool(found.pose),
            found.at_least,
        )


def _split(index: int, part: Part) -> tuple[Body, ...]:
    if part.role is not Role.FINGER_WHEEL:
        return (Body(part.name, part.frame, part.solid, index),)
    fingers = Body(part.name, part.frame, fingers_of(part.solid), index, flexible=True)
    metal = metal_of(part.solid)
    if metal is None:
        return (fingers,)
    return (Body(part.name, part.frame, metal, index), fingers)


def _nearest_of_each(found: Iterable[HeldClearance]) -> tuple[HeldClearance, ...]:
    """The nearest of each pair of parts, nearest first."""
    best: dict[tuple[str, str], HeldClearance] = {}
    for clearance in sorted(found, key=lambda c: (c.value_mm - c.limit_mm, c.parts)):
        best.setdefault(clearance.parts, clearance)
    return tuple(best.values())


def joined(results: Sequence[Held]) -> Held:
    """Several results about the same pairs as one: each pair at its worst."""
    closest = min(
        (h.closest for h in results if h.closest is not None),
        key=lambda c: c.value_mm - c.limit_mm,
        default=None,
    )
    broken = _nearest_of_each(c for held in results for c in held.broken)
    known = {c.parts for c in broken}
    undecided = _nearest_of_each(
        c for held in results for c in held.undecided if c.parts not in known
    )
    return Held(broken, undecided, closest, min((h.clear for h in results), default=0))
