"""What the checks share while one assembly is checked: bodies, motion ranges, clearances."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from meshes_generic.solid import Solid
from rigmodel.assembly.fingers import fingers_of, metal_of
from rigmodel.assembly.model import JointKind, Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance import broad
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import Clearance, ClearanceSolver, Status, Survey
from rigmodel.clearance.separation import NarrowPhase, snap

SET = MotionRange.only(JointKind.FLOAT, JointKind.TRIP)
AT_WORK = MotionRange.only(JointKind.FLOAT, JointKind.TRIP, JointKind.SETTING)
_STRAYS = (JointKind.FLOAT, JointKind.SETTING, JointKind.SWAY, JointKind.ROLL, JointKind.PITCH)
STRAYING = MotionRange.only(JointKind.TRIP, *_STRAYS)
LIFTING = MotionRange.only(JointKind.LIFT, JointKind.STEER, *_STRAYS)
TRIPPING = MotionRange.only(JointKind.TRIP, JointKind.STEER, *_STRAYS)
_SWINGS = frozenset({JointKind.FLOAT, JointKind.TRIP})
_SAME = 1e-6  # a joint nearer to its working value than this stands at work


@dataclass(frozen=True, eq=False)
class Body:
    """What is held against others: a part, or the metal or the fingers of a wheel.

    Attributes:
        name: name of the part, or of what the scene puts there, such as ``row1.line``.
        frame: index of the frame that carries it.
        solid: its solid in that frame.
        flexible: whether it may brush against other flexible things.
    """

    name: str
    frame: int
    solid: Solid
    flexible: bool = False


@dataclass(frozen=True, eq=False)
class Pairing:
    """Two bodies and the room they need, mm."""

    one: Body
    other: Body
    limit_mm: float


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
    """

    def __init__(self, assembly: Assembly, memo: Memo | None = None) -> None:
        self.assembly = assembly
        self.memo = Memo() if memo is None else memo

    @cached_property
    def _bodies(self) -> Mapping[str, tuple[Body, ...]]:
        parts = self.assembly.mechanism.parts
        return MappingProxyType({part.name: _split(part) for part in parts})

    def bodies_of(self, part: str) -> tuple[Body, ...]:
        """The bodies of a part: one, or for a finger wheel its metal and its fingers."""
        return self._bodies[part]

    @cached_property
    def _swings(self) -> tuple[frozenset[str], ...]:
        """For every frame, the swinging joints above it."""
        found: list[frozenset[str]] = []
        for frame in self.assembly.mechanism.frames:
            own = found[frame.parent] if frame.parent >= 0 else frozenset()
            if frame.joint is not None and frame.joint.kind in _SWINGS:
                own = own | {frame.joint.name}
            found.append(own)
        return tuple(found)

    def moves_between(self, one: Part, other: Part) -> bool:
        """Whether an arm or a spring holder moves one part against the other."""
        return self._swings[one.frame] != self._swings[other.frame]

    def hold(self, pairings: Sequence[Pairing], motion: MotionRange) -> Held:
        """Holds pairs of bodies against their limits over a motion."""
        if not pairings:
            return Held((), (), None, 0)
        bodies: dict[int, int] = {}
        listed: list[Body] = []
        for pairing in pairings:
            for body in (pairing.one, pairing.other):
                if id(body) not in bodies:
                    bodies[id(body)] = len(listed)
                    listed.append(body)
        solver = ClearanceSolver(
            self.assembly.mechanism,
            motion,
            bodies=[broad.Body(str(k), b.frame, b.solid) for k, b in enumerate(listed)],
            memo=self.memo.clearances,
            narrow=self.memo.narrow,
        )
        survey = solver.survey(
            [(bodies[id(p.one)], bodies[id(p.other)]) for p in pairings],
            [p.limit_mm for p in pairings],
        )
        return self._held(pairings, listed, survey)

    def hold_over(self, pairings: Sequence[Pairing], motions: Iterable[MotionRange]) -> Held:
        """Holds pairs against their limits over each of several motions, and joins the results."""
        return joined(self.hold(pairings, motion) for motion in motions)

    def _held(self, pairings: Sequence[Pairing], listed: Sequence[Body], survey: Survey) -> Held:
        def told(clearance: Clearance) -> HeldClearance:
            one, other = (listed[int(name)] for name in clearance.parts)
            limit = next(p.limit_mm for p in pairings if p.one is one and p.other is other)
            return self._one(clearance, one.name, other.name, limit)

        def all_told(status: Status) -> list[HeldClearance]:
            found = (survey.clearance(k) for k in survey.which(status))
            return [told(clearance) for clearance in found if clearance is not None]

        closest = None if survey.closest is None else told(survey.closest)
        return Held(
            _nearest_of_each(all_told(Status.VIOLATES)),
            _nearest_of_each(all_told(Status.UNDECIDED)),
            closest,
            len(survey.which(Status.CLEAR)),
        )

    def _one(self, found: Clearance, one: str, other: str, limit: float) -> HeldClearance:
        joints = self.assembly.mechanism.joints
        pose = {
            name: value
            for name, value in found.pose.items()
            if abs(value - joints[name].value) > _SAME
        }
        a, b = found.point_a.tolist(), found.point_b.tolist()
        value = snap(found.high_mm)
        return HeldClearance(
            (one, other),
            value,
            min(found.low_mm, value),
            limit,
            MappingProxyType(pose),
            ((a[0], a[1], a[2]), (b[0], b[1], b[2])),
            found.settled,
            bool(found.pose),
        )


def _split(part: Part) -> tuple[Body, ...]:
    if part.role is not Role.FINGER_WHEEL:
        return (Body(part.name, part.frame, part.solid),)
    fingers = Body(part.name, part.frame, fingers_of(part.solid), flexible=True)
    metal = metal_of(part.solid)
    if metal is None:
        return (fingers,)
    return (Body(part.name, part.frame, metal), fingers)


def _nearest_of_each(found: Iterable[HeldClearance]) -> tuple[HeldClearance, ...]:
    """The nearest of each pair of parts, nearest first."""
    best: dict[tuple[str, str], HeldClearance] = {}
    for clearance in sorted(found, key=lambda c: (c.value_mm - c.limit_mm, c.parts)):
        best.setdefault(clearance.parts, clearance)
    return tuple(best.values())


def joined(results: Iterable[Held]) -> Held:
    """Several results about the same pairs as one: each pair at its worst."""
    every = list(results)
    closest = min(
        (h.closest for h in every if h.closest is not None),
        key=lambda c: c.value_mm - c.limit_mm,
        default=None,
    )
    broken = _nearest_of_each(c for held in every for c in held.broken)
    known = {c.parts for c in broken}
    undecided = _nearest_of_each(
        c for held in every for c in held.undecided if c.parts not in known
    )
    return Held(broken, undecided, closest, min((h.clear for h in every), default=0))
