"""Stand-off under steering error, drill passes and chance: arithmetic and a closed form.

Steering of ±40 mm is the accuracy given for automatic steering up to 10 km/h in
link.springer.com/article/10.1007/s10343-020-00523-5; deviations of 9 to 28 mm are those of a
satellite-steered side-shift hoe (abstract, paperexplained.cn). 25 mm from blade to row is given for
camera steering in a practice abstract (farmknowledge.org). The sums are plain arithmetic.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.lateral import (
    BELL_SIGMAS,
    DRAWS,
    LateralError,
    Spread,
    miss_share,
    odds,
)
from rigmodel.clearance.runner import run
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.passes import beyond_pass

SCENE = """
name: Stand-off
units: mm
rows: {{count: {rows}, spacing: 750, keep_out: {own}, drill_rows: {drill}}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 8000, height: 508}}
stations:
  - {{use: blade-rigid, at: rows, depth: 25}}
tolerances: {{setting: 0, {errors}}}
"""


def stand_off(
    own: float, errors: str, rows: int = 1, drill: int | None = None
) -> tuple[Finding, ...]:
    text = SCENE.format(own=own, errors=errors, rows=rows, drill=drill or rows)
    return run(assemble(scene_from_text(text)), only=("stand-off",))


@pytest.mark.parametrize(("own", "left"), [(25.0, -15.0), (45.0, 5.0)])
def test_stand_off_less_steering_error(own: float, left: float) -> None:
    (found,) = stand_off(own, "steering: 40")
    assert found.value == pytest.approx(left, abs=0.1)
    assert (found.verdict is Verdict.FAIL) == (left < 0.0)


def test_errors_add_in_the_worst_case() -> None:
    (found,) = stand_off(60.0, "steering: 20, side_hill: 10, link_play: 5")
    assert found.value == pytest.approx(60.0 - 35.0, abs=0.1)


@pytest.mark.parametrize(
    ("rows", "drill", "own", "fails"),
    [
        (9, 6, 25.0, True),  # spans two passes: needs the pass error of 30 by itself
        (9, 6, 30.0, False),
        (6, 6, 5.0, False),  # as wide as the drill
        (3, 6, 5.0, False),  # goes into it
    ],
)
def test_hoe_across_two_drill_passes(rows: int, drill: int, own: float, fails: bool) -> None:
    found = stand_off(own, "guess_row: 30", rows, drill)
    assert any(f.verdict is Verdict.FAIL for f in found) == fails


def test_at_a_guess_gap_the_stand_off_is_the_own_one_plus_the_pass_error() -> None:
    for steering in (0.0, 15.0):
        found = stand_off(50.0, f"guess_row: 30, steering: {steering}", 9, 6)
        wanted = [50.0 - steering - (30.0 if beyond_pass(6, i, 9) else 0.0) for i in range(9)]
        assert [f.value for f in found] == pytest.approx(wanted, abs=0.1)


def test_which_rows_lie_beyond_a_pass() -> None:
    # nine on six: boundaries fall after three or six rows, so three each side may be strange
    assert [beyond_pass(6, i, 9) for i in range(9)] == [True] * 3 + [False] * 3 + [True] * 3
    assert not any(beyond_pass(6, i, 6) for i in range(6))
    assert not any(beyond_pass(6, i, 3) for i in range(3))
    assert not any(beyond_pass(None, i, 5) for i in range(5))
    assert any(beyond_pass(6, i, 4) for i in range(4))


@given(st.integers(1, 12), st.integers(1, 16))
def test_rows_beyond_a_pass_are_the_same_from_both_sides(drill: int, count: int) -> None:
    beyond = [beyond_pass(drill, i, count) for i in range(count)]
    if drill % count == 0:
        assert not any(beyond)
    else:
        assert beyond == beyond[::-1]


@pytest.mark.parametrize(
    ("deviation", "share"),
    [(9.0, 0.000858), (12.0, 0.01242), (16.0, 0.06079), (25.0, 0.23014), (28.0, 0.28398)],
)
def test_share_beyond_a_band_of_thirty(deviation: float, share: float) -> None:
    # erfc(c / (s sqrt 2)) with c = 30 mm
    assert miss_share(30.0, deviation) == pytest.approx(share, rel=1e-3)


@pytest.mark.parametrize("deviation", [9.0, 16.0, 28.0])
def test_draws_agree_with_the_closed_form(deviation: float) -> None:
    steering = LateralError("steering", "steering", deviation * BELL_SIGMAS, Spread.BELL)
    still = LateralError("setting", "setting", 0.0, Spread.EVEN)
    found = odds(30.0, 30.0, (steering,), still, 0.0)
    share = miss_share(30.0, deviation)
    assert found.touching == pytest.approx(share, abs=4.0 * math.sqrt(share * (1 - share) / DRAWS))
    # 95 % half-band 1.96 s
    assert 30.0 - found.usual_mm == pytest.approx(1.96 * deviation, rel=0.03)


def test_the_draws_are_seeded() -> None:
    error = LateralError("steering", "steering", 20.0, Spread.BELL)
    own = LateralError("setting", "setting", 2.0, Spread.EVEN)
    assert odds(30.0, 25.0, (error,), own, 2.0) == odds(30.0, 25.0, (error,), own, 2.0)


def test_even_errors_against_the_exact_share() -> None:
    # One even error of ±40 on 30 mm each side: a quarter of the range lies beyond the band.
    error = LateralError("link_play", "play", 40.0, Spread.EVEN)
    still = LateralError("setting", "setting", 0.0, Spread.EVEN)
    found = odds(30.0, 30.0, (error,), still, 0.0)
    assert found.touching == pytest.approx(0.25, abs=0.01)


def test_one_side_without_steel() -> None:
    error = LateralError("steering", "steering", 20.0, Spread.BELL)
    still = LateralError("setting", "setting", 0.0, Spread.EVEN)
    assert np.isfinite(odds(30.0, math.inf, (error,), still, 0.0).usual_mm)
