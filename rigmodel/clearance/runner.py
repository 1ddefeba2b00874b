"""Runs the checks: knows a list of them, and nothing about any of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

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
from rigmodel.clearance.finding import Finding
from rigmodel.clearance.scope import Memo, Scope


@dataclass(frozen=True)
class Check:
    """One check: its id, its statement, and the function that answers it."""

    id: str
    statement: str
    findings: Callable[[Scope], Iterator[Finding]]


CHECKS: tuple[Check, ...] = tuple(
    Check(module.ID, module.STATEMENT, module.findings)
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
        load_joint,
        load_spring,
    )
)


def run(
    assembly: Assembly, memo: Memo | None = None, only: Sequence[str] = ()
) -> tuple[Finding, ...]:
    """Findings of all checks, or of those whose ids are given, in the order of the checks."""
    scope = Scope(assembly, memo)
    return tuple(
        finding
        for check in CHECKS
        if not only or check.id in only
        for finding in check.findings(scope)
    )
