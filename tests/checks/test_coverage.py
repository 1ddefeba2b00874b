"""coverage: missed strips and strips worked twice, on both sides of their limits."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
TAIL = (
    "length: 2 1/2, thickness: 1/4, sweep: 35, tang_height: 3, tang_thickness: 3/8, tang_length: 1"
)


def own_blade(width_mm: float) -> str:
    return f"{{own: {{kind: a-blade, width: {width_mm:.6f} mm, {TAIL}}}}}"


def covered(rig: Rig, width_mm: float, limits: str = "{}") -> Assembly:
    """Two rows 24 in apart with bands of 5 in: a strip of 19 in between them, worked by a blade."""
    stations = (
        "[{use: blade-rigid, at: gaps, depth: 1, swap: {blade: own}},"
        " {use: blade-rigid, at: outside, depth: 1, swap: {blade: blade-10}}]"
    )
    return rig(stations=stations, parts=own_blade(width_mm), limits=limits)


@pytest.mark.parametrize(
    ("missed", "verdict"),
    [
        (0.0, Verdict.PASS),
        (1.0, Verdict.ADVISE),
        (6.35, Verdict.ADVISE),
        (6.36, Verdict.FAIL),
        (50.0, Verdict.FAIL),
    ],
)
def test_a_missed_strip_on_both_sides_of_the_limit(
    rig: Rig, finds: Find, missed: float, verdict: Verdict
) -> None:
    # Arithmetic: the strip of 19 in less the blade, half on each side.
    (finding,) = finds(covered(rig, 19.0 * INCH - 2.0 * missed), "coverage")
    assert finding.value == pytest.approx(missed, abs=1e-5)
    assert finding.verdict is verdict


def test_a_wider_blade_is_the_remedy(rig: Rig, cured: Find) -> None:
    stations = (
        "[{use: blade-rigid, at: gaps, depth: 1, swap: {blade: blade-8}},"
        " {use: blade-rigid, at: outside, depth: 1, swap: {blade: blade-10}}]"
    )
    rows = "{count: 2, spacing: 15, keep_out: 2 1/2}"
    (finding,) = cured(rig(rows=rows, stations=stations), "coverage")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("stations", 0, "swap", "blade")


@pytest.mark.parametrize(("more", "told"), [(-0.01, False), (0.0, False), (0.01, True)])
def test_a_strip_worked_twice_on_both_sides_of_the_limit(
    rig: Rig, finds: Find, more: float, told: bool
) -> None:
    # Arithmetic: two 10 in blades between bands lie over each other by 20 in less the strip.
    strip = 20.0 * INCH - (101.6 + more)
    rows = f"{{count: 2, spacing: {strip + 5.0 * INCH:.6f} mm, keep_out: 2 1/2}}"
    stations = "[{use: blade-spring, at: gaps, sides: both, depth: 1}]"
    found = finds(rig(rows=rows, stations=stations), "coverage")
    twice = [f for f in found if "worked twice" in f.message]
    assert bool(twice) is told
    assert all(f.verdict is Verdict.ADVISE for f in twice)


def test_finger_wheels_work_the_row_and_count_for_no_strip(rig: Rig, finds: Find) -> None:
    wheels = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"
    (finding,) = finds(rig(stations=wheels), "coverage")
    assert finding.value == pytest.approx(19.0 * INCH)
