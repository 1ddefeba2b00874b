"""Runs the checks: knows a list of them, and nothing about any of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from types import ModuleType

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks import (
    arm_float,
    bar_level,
    bar_space,
    coverage,
    crop_band,
    frame_fit,
    ground_contact,
    lift,
    load_arm,
    load_axle,
    load_bar,
    load_joint,
    load_lift,
    load_shank,
    load_spring,
    pair_gap,
    part_clash,
    shank_travel,
    stand_off,
    tyre_fit,
    wheel_clash,
)
from rigmodel.clearance.finding import Finding, Key, Verdict
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.nodes import Budget
from rigmodel.clearance.scope import Memo, Pairs, Scope
from rigmodel.loads.account import Account

_VERDICTS = Budget(refine=1)  # how far short of its limit a pair falls is not asked


@dataclass(frozen=True)
class Check:
    """One check: its id, its statement, and the functions that answer it.

    Attributes:
        findings: everything it has to say.
        failing: the parts that each failing finding is about, and nothing else of it; None where
            there is no quicker way than to look for all of it.
        pairs: the pairs of bodies that it holds apart over `motion`; None where it does not.
        motion: how far they move.
    """

    id: str
    statement: str
    findings: Callable[[Scope], Iterator[Finding]]
    failing: Callable[[Scope], Iterator[tuple[str, ...]]] | None = None
    pairs: Callable[[Scope], Pairs] | None = None
    motion: MotionRange | None = None

    def fails(self, scope: Scope) -> Iterator[Key]:
        """What each failing finding is about."""
        if self.failing is not None:
            yield from ((self.id, parts) for parts in self.failing(scope))
        else:
            yield from (f.key for f in self.findings(scope) if f.verdict is Verdict.FAIL)

    def near(self, scope: Scope, parts: Sequence[str]) -> bool:
        """Whether it is known at a glance that two parts come too near; all is not looked at."""
        if self.pairs is None or self.motion is None:
            return False
        return scope.near(self.pairs(scope), self.motion, parts)


def _held(module: ModuleType) -> tuple[Callable[[Scope], Pairs] | None, MotionRange | None]:
    """What a check holds apart, and over which motion, where it does so."""
    motion: MotionRange | None = getattr(module, "MOTION", None)
    return (None, None) if motion is None else (module.pairs, motion)


CHECKS: tuple[Check, ...] = tuple(
    Check(
        module.ID,
        module.STATEMENT,
        module.findings,
        getattr(module, "failing", None),
        *_held(module),
    )
    for module in (
        ground_contact,
        bar_level,
        shank_travel,
        arm_float,
        pair_gap,
        wheel_clash,
        part_clash,
        crop_band,
        stand_off,
        tyre_fit,
        frame_fit,
        bar_space,
        coverage,
        lift,
        load_lift,
        load_axle,
        load_bar,
        load_shank,
        load_arm,
        load_joint,
        load_spring,
    )
)


def run(
    assembly: Assembly,
    memo: Memo | None = None,
    only: Sequence[str] = (),
    loads: Account | None = None,
) -> tuple[Finding, ...]:
    """Findings of all checks, or of those whose ids are given, in the order of the checks.

    Args:
        assembly: what is checked.
        memo: clearances known from earlier checks; it is added to.
        only: ids of the checks to run; all if empty.
        loads: its account of weights and forces, to be used further; one of its own if not given.
    """
    scope = Scope(assembly, memo, loads=loads)
    return tuple(
        finding
        for check in CHECKS
        if not only or check.id in only
        for finding in check.findings(scope)
    )


def failing(
    assembly: Assembly, memo: Memo | None = None, only: Sequence[str] = ()
) -> frozenset[Key]:
    """What fails, and nothing else of it: quicker than `run`, and of one mind with it.

    Args:
        assembly: what is checked.
        memo: clearances known from earlier checks; it is added to.
        only: ids of the checks to run; all if empty.
    """
    full = Scope(assembly, memo)
    quick = Scope(assembly, memo, _VERDICTS, full.loads)
    return frozenset(
        key
        for check in CHECKS
        if not only or check.id in only
        for key in check.fails(full if check.failing is None else quick)
    )


def near(assembly: Assembly, memo: Memo | None, finding: Finding) -> bool:
    """Whether it is plain at a glance that the two parts of a finding are still too near."""
    check = next(check for check in CHECKS if check.id == finding.check)
    return check.near(Scope(assembly, memo, _VERDICTS), finding.parts)


class _Stiff(Scope):
    """What a check sees where the bar does not sag."""

    def sag_between(self, pairs: Pairs) -> FloatArray:
        """Nothing."""
        return np.zeros(len(pairs))


def unsagged(assembly: Assembly, memo: Memo | None, check_id: str) -> frozenset[Key]:
    """What fails a check that holds pairs apart even if the bar does not sag."""
    check = next(check for check in CHECKS if check.id == check_id)
    return frozenset(check.fails(_Stiff(assembly, memo, _VERDICTS)))
