"""Sees which parts of an assembly a check looks at: its tyres, its lift, or neither.

A study varies tyres, tracks and lifts of one rig many times. What a check says of the rig alone
stays the same, so it need not run again; but which checks these are is not written down here. A
check is handed an assembly with tripwires, and running over one notes what it read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from functools import partial
from types import MappingProxyType
from typing import Any, cast

import numpy as np

from rigmodel.assembly.model import Frame, JointKind, Part, Role
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.scope import IntArray, Pairs, Scope


class Facet(StrEnum):
    """A part of an assembly that may differ while all the rest is the same."""

    TYRES = "tyres"
    LIFT = "lift"


Touch = Callable[[Facet], None]
_Turn = Facet | Callable[[Any], Any]
_AXLES: Mapping[str, _Turn] = MappingProxyType({"rear": Facet.TYRES, "front": Facet.TYRES})
TYRE_FRAMES = "tractor.front."  # those that steer a wheel


class _Wired:
    """Stands for an object; some of its attributes are noted, or stand-ins themselves."""

    def __init__(self, of: Any, touch: Touch, turns: Mapping[str, _Turn]) -> None:
        self._of, self._touch, self._turns = of, touch, turns

    def __getattr__(self, name: str) -> Any:
        value = getattr(self._of, name)
        turn = self._turns.get(name)
        if turn is None:
            return value
        if isinstance(turn, Facet):
            self._touch(turn)
            return value
        return turn(value)


def wired(scope: Scope, touch: Touch) -> Scope:
    """The same scope for one check; `touch` is called with every facet that it comes upon."""
    turns: dict[str, _Turn] = {
        "assembly": partial(_assembly, touch=touch),
        "loads": partial(_loads, touch=touch),
        "of_role": lambda of_role: partial(_of_role, of_role, touch),
        "hold": lambda hold: partial(_held, hold, scope, touch),
        "least": lambda least: partial(_held, least, scope, touch),
        "hold_lifted": lambda hold: partial(_lifted, hold, scope, touch),
    }
    return cast(Scope, _Wired(scope, touch, turns))


def _loads(loads: Any, touch: Touch) -> Any:
    """Weights and forces, worked out without tripwires; the tractor's share in them is noted."""
    turns: dict[str, _Turn] = dict.fromkeys(("lift", "balances"), Facet.LIFT)
    turns["assembly"] = partial(_assembly, touch=touch)

    def both(value: Any) -> Any:
        for facet in Facet:
            touch(facet)
        return value

    return _Wired(loads, touch, {**turns, **dict.fromkeys(("axles", "unknown", "pull"), both)})


def _assembly(assembly: Any, touch: Touch) -> Any:
    turns: dict[str, _Turn] = {
        "scene": partial(_scene, touch=touch),
        "mechanism": partial(_mechanism, touch=touch),
    }
    return _Wired(assembly, touch, turns)


def _scene(scene: Any, touch: Touch) -> Any:
    tractor: dict[str, _Turn] = {**_AXLES, "lift": Facet.LIFT}

    def turned(value: Any) -> Any:
        return _Wired(value, touch, tractor)

    turns: dict[str, _Turn] = {
        "axles": Facet.TYRES,
        "lift_range_mm": Facet.LIFT,
        "tractor": turned,
        "spec": lambda spec: _Wired(spec, touch, {"tractor": turned}),
    }
    return _Wired(scene, touch, turns)


def _mechanism(mechanism: Any, touch: Touch) -> Any:
    def part(value: Part) -> Any:
        if value.role is not Role.TYRE:
            return value
        return _Wired(value, touch, {"solid": Facet.TYRES})  # numbers of frames belong to the rest

    def joint(value: Any) -> Any:
        if value is None or value.kind not in (JointKind.LIFT, JointKind.STEER):
            return value
        facet = Facet.LIFT if value.kind is JointKind.LIFT else Facet.TYRES
        return _Wired(value, touch, {"low": facet, "high": facet})

    def frame(value: Frame) -> Any:
        if value.name.startswith(TYRE_FRAMES):
            return _Wired(value, touch, {"placement": Facet.TYRES, "joint": joint})
        return _Wired(value, touch, {"joint": joint}) if value.joint is not None else value

    turns: dict[str, _Turn] = {
        "parts": lambda parts: tuple(map(part, parts)),
        "part": lambda of_name: lambda name: part(of_name(name)),
        "joints": lambda joints: {name: joint(value) for name, value in joints.items()},
        "frames": lambda frames: tuple(map(frame, frames)),
    }
    return _Wired(mechanism, touch, turns)


def _of_role(of_role: Callable[[Role], IntArray], touch: Touch, role: Role) -> IntArray:
    if role is Role.TYRE:
        touch(Facet.TYRES)
    return of_role(role)


def _held(
    hold: Callable[[Pairs, MotionRange], Any],
    scope: Scope,
    touch: Touch,
    pairs: Pairs,
    motion: MotionRange,
) -> Any:
    _note_tyres(scope, touch, pairs.bodies)
    if JointKind.LIFT in motion.kinds:
        touch(Facet.LIFT)
    return hold(pairs, motion)


def _lifted(
    hold: Callable[[IntArray, float], Any],
    scope: Scope,
    touch: Touch,
    others: IntArray,
    limit: float,
) -> Any:
    _note_tyres(scope, touch, others)
    touch(Facet.LIFT)
    return hold(others, limit)


def _note_tyres(scope: Scope, touch: Touch, bodies: IntArray) -> None:
    tyre = np.zeros(len(scope.bodies), dtype=np.bool_)
    tyre[scope.of_role(Role.TYRE)] = True
    if tyre[bodies].any():
        touch(Facet.TYRES)
