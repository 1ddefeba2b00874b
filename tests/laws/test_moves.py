"""Moving everything together changes nothing; more room or smaller limits make nothing worse."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigmodel.clearance.finding import Finding, Verdict, worst

Find = Callable[[str], tuple[Finding, ...]]
Same = Callable[[tuple[Finding, ...], tuple[Finding, ...]], None]

SCENE = """
name: a rig that moves
units: in
rows: {{count: 2, spacing: 13, offset: {y}, keep_out: 2 1/2, plants: {plants}}}
tractor:
  use: {tractor}
  frame: {{ahead: {frame}, offset: {y}}}
  obstacles: [{{name: box, at: [{box}, {y}, 34], size: [6, 6, 6]}}]
toolbar: {{tube: tube-2x1-4, length: 56, height: 20, ahead: {bar}, offset: {y}}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, rank: [0, -8]}}
  - {{use: blade-rigid, at: gaps, depth: 1}}
  - {{use: blade-spring, at: outside, depth: 1}}
limits: {limits}
tolerances: {tolerances}
"""
PLANTS = "{canopy_width: 3, height: 3, lowest_leaf: 1}"


def text(
    x: float = 0.0,
    y: float = 0.0,
    tractor: str = "small-belly",
    limits: str = "{}",
    tolerances: str = "{}",
) -> str:
    return SCENE.format(
        tractor=tractor,
        frame=42 + x,
        box=40 + x,
        bar=50 + x,
        y=y,
        limits=limits,
        tolerances=tolerances,
        plants=PLANTS,
    )


def but_tyres(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """All but what is measured to the tyres, which stay where they are."""
    return tuple(f for f in found if f.check != "tyre-fit")


@settings(max_examples=3, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(-9, 9), st.integers(-5, 5), st.sampled_from(["small-belly", "compact-rear"]))
def test_moving_rows_rig_and_frame_together_changes_nothing(
    found: Find, same: Same, x: int, y: int, tractor: str
) -> None:
    one = but_tyres(found(text(tractor=tractor)))
    other = but_tyres(found(text(float(x), float(y), tractor)))
    same(one, other)


def by_check(found: tuple[Finding, ...]) -> dict[str, Verdict]:
    return {
        check: worst(f.verdict for f in found if f.check == check)
        for check in {f.check for f in found}
    }


ROOM = [
    "clearance",
    "fixed_clearance",
    "wheel_clearance",
    "canopy_clearance",
    "tyre_clearance",
    "tyre_growth",
    "frame_clearance",
    "clamp_gap",
    "lift_ground",
    "lift_crop",
    "lift_reserve",
    "shank_end",
    "shank_reserve",
    "tight",
]
ALLOWED = ["depth_tolerance", "pair_gap_tolerance", "missed", "overlap"]
SEVERITY = list(Verdict)


def no_worse(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> None:
    one, other = by_check(before), by_check(after)
    for check, verdict in other.items():
        assert SEVERITY.index(verdict) >= SEVERITY.index(one.get(check, Verdict.PASS)), check


@pytest.mark.parametrize("limit", ROOM)
def test_asking_for_less_room_makes_no_verdict_worse(found: Find, limit: str) -> None:
    much, little = (found(text(limits=f"{{{limit}: {mm} mm}}")) for mm in (40, 1))
    no_worse(much, little)


@pytest.mark.parametrize("limit", ALLOWED)
def test_allowing_more_makes_no_verdict_worse(found: Find, limit: str) -> None:
    little, much = (found(text(limits=f"{{{limit}: {mm} mm}}")) for mm in (0.01, 60))
    no_worse(little, much)


def test_less_reserve_of_the_arms_makes_no_verdict_worse(found: Find) -> None:
    much, little = (found(text(limits=f"{{arm_reserve: {deg} deg}}")) for deg in (15, 1))
    no_worse(much, little)


@pytest.mark.parametrize("tolerance", ["setting", "link_play", "steering", "side_hill"])
def test_setting_more_exactly_makes_no_verdict_worse(found: Find, tolerance: str) -> None:
    wild, exact = (found(text(tolerances=f"{{{tolerance}: {mm} mm}}")) for mm in (30, 0))
    no_worse(wild, exact)


def test_a_limit_in_the_scene_is_the_one_that_is_held(found: Find) -> None:
    names = {
        "wheel_clearance": "wheel-clash",
        "frame_clearance": "frame-fit",
        "lift_ground": "lift",
        "missed": "coverage",
    }
    limits = ", ".join(f"{name}: 11.25 mm" for name in names)
    findings = found(text(limits=f"{{{limits}}}"))
    for check in names.values():
        held = [f for f in findings if f.check == check and f.limit == 11.25]
        assert held, check
        assert all(f.source == "set in the scene" for f in held)
