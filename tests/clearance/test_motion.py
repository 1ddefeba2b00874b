"""Least clearance over motion: closed forms, limits, budgets, the memo."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from meshes_generic.shapes import Box, Cylinder, Frustum, RoundedDisc, Sphere
from meshes_generic.transform import (
    identity,
    mirror_y,
    rotation_x,
    rotation_y,
    translation,
)
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism
from rigmodel.clearance.broad import Body
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import ClearanceSolver, Status
from rigmodel.clearance.nodes import Budget
from tests.clearance.mechanisms import NARROW, check_pose, fixed, least, part, sliding, turning

# --- closed forms -------------------------------------------------------------------------------


def arm_over_ball(low: float, high: float, radius: float = 10.0) -> Mechanism:
    """A trailing arm with a ball 400 behind its pivot, and a ball fixed 90 below the pivot line."""
    frames = (
        Frame("world", -1, identity()),
        Frame("arm", 0, translation(0.0, 0.0, 100.0), turning("arm", low, high)),
    )
    tip = part("tip", 1, (Sphere(radius), translation(-400.0, 0.0, 0.0)))
    return Mechanism(
        frames, (tip, part("stone", 0, (Sphere(radius), translation(-350.0, 0.0, -60.0))))
    )


@pytest.mark.parametrize(
    ("low", "high"), [(-40.0, 12.0), (-10.0, 12.0), (-40.0, -30.0), (0.0, 60.0)]
)
def test_trailing_arm_passes_a_stone(low: float, high: float) -> None:
    """The ball runs on a circle of 400 about the pivot; the stone lies inside that circle."""
    mechanism = arm_over_ball(low, high)
    found = least(mechanism)
    # The stone lies 350 behind and 160 below the pivot: the arm hangs down for positive angles
    # only if its tip, at (-400 cos θ, 400 sin θ), goes there; the nearest angle is clipped.
    bearing = math.degrees(math.atan2(-160.0, 350.0))
    angle = min(max(bearing, low), high)
    x, z = -400.0 * math.cos(math.radians(angle)), 400.0 * math.sin(math.radians(angle))
    gap = math.hypot(x + 350.0, z + 160.0) - 20.0
    assert found.low_mm - 1e-6 <= gap <= found.high_mm + 1e-6
    assert found.pose["arm"] == pytest.approx(angle, abs=2.0)
    check_pose(mechanism, found)


@pytest.mark.parametrize("tilt", [0.0, 10.0, 20.0, 30.0])
def test_mirrored_discs_with_settings_off_by_two(tilt: float) -> None:
    """Both clamps of a pair may stand 2 nearer: the slides cost exactly their 4 mm sideways."""
    frames = [Frame("world", -1, identity())]
    for name, side in (("left", 1.0), ("right", -1.0)):
        place = translation(0.0, side * 160.0, 0.0)
        frames.append(Frame(name, 0, place, sliding(name, 2.0)))
    disc = Cylinder(150.0, 1e-8)
    left, right = rotation_x(tilt), mirror_y(rotation_x(tilt))
    mechanism = Mechanism(tuple(frames), (part("l", 1, (disc, left)), part("r", 2, (disc, right))))
    found = least(mechanism)
    gap = 2.0 * (158.0 - 150.0 * math.cos(math.radians(tilt)))
    assert found.low_mm - 1e-6 <= gap <= found.high_mm + 1e-6
    assert found.high_mm - found.low_mm < 1e-3
    assert dict(found.pose) == {"left": -2.0, "right": 2.0}
    check_pose(mechanism, found)


def test_tripping_shank_clears_by_its_arc() -> None:
    """A foot of radius 20 on a 500 shank trips back 60°: it passes a bar along y on its arc."""
    frames = (
        Frame("world", -1, identity()),
        Frame("trip", 0, identity(), turning("trip", 0.0, 60.0, JointKind.TRIP)),
    )
    foot = part("foot", 1, (Sphere(20.0), translation(0.0, 0.0, -500.0)))
    bar = part(
        "bar",
        0,
        (Cylinder(10.0, 300.0), translation(-424.2640687, 0.0, -424.2640687) @ rotation_x(90.0)),
    )
    found = least(Mechanism(frames, (foot, bar)))
    assert found.low_mm - 1e-6 <= 70.0 <= found.high_mm + 1e-6
    assert found.pose["trip"] == pytest.approx(45.0, abs=2.0)


def test_arms_about_one_line_count_only_by_their_difference() -> None:
    """Equal arms side by side: least sideways gap 80 in every pose in which they hang alike."""
    frames = [Frame("world", -1, identity())]
    for k, y in enumerate((0.0, 130.0)):
        frames.append(Frame(f"s{k}", 0, translation(0.0, y, 0.0), sliding(f"s{k}", 2.0)))
        frames.append(
            Frame(f"a{k}", 2 * k + 1, identity(), turning(f"a{k}", -20.0 + 5.0 * k, 20.0))
        )
    bar = (Box(400.0, 50.0, 30.0), translation(-200.0, 0.0, 0.0))
    mechanism = Mechanism(tuple(frames), (part("one", 2, bar), part("two", 4, bar)))
    found = least(mechanism)
    assert found.low_mm - 1e-6 <= 76.0 <= found.high_mm + 1e-6
    assert found.calls < 60
    for moving in mechanism.joints.values():
        assert moving.low <= found.pose[moving.name] <= moving.high
    check_pose(mechanism, found)


def test_shared_joints_above_do_not_matter() -> None:
    lift = Joint("lift", JointKind.LIFT, False, (0.0, 0.0, 1.0), 0.0, 0.0, 500.0)
    frames = (
        Frame("world", -1, identity()),
        Frame("bar", 0, translation(0.0, 0.0, 500.0), lift),
        Frame("arm", 1, identity(), turning("arm", -20.0, 20.0)),
    )
    mechanism = Mechanism(
        frames,
        (
            part("a", 1, (Sphere(10.0), translation(0.0, 100.0, 0.0))),
            part("b", 2, (Sphere(10.0), identity())),
        ),
    )
    found = least(mechanism)
    assert "lift" not in found.pose
    assert found.high_mm == pytest.approx(80.0, abs=1e-6)


@pytest.mark.parametrize("far", [0.0, 100_000.0])
def test_far_from_the_origin_keeps_its_digits(far: float) -> None:
    frames = (
        Frame("world", -1, identity()),
        Frame("far", 0, translation(far, far, 0.0) @ rotation_y(30.0)),
        Frame("arm", 1, identity(), turning("arm", -20.0, 20.0)),
    )
    cube = Box(50.0, 50.0, 50.0)
    one = part("one", 1, (cube, translation(0.0, 60.0, 0.0)))
    found = least(Mechanism(frames, (one, part("two", 2, (cube, identity())))))
    assert found.high_mm == pytest.approx(10.0, abs=1e-6)
    assert found.low_mm == pytest.approx(10.0, abs=0.1)


# --- limits and the touching policy -------------------------------------------------------------

TOUCHES = [(-1e-7, 0.0), (0.0, 0.0), (1e-7, 0.0), (10.0 - 1e-7, 10.0), (10.0, 10.0)]


@pytest.mark.parametrize(("gap", "limit"), TOUCHES)
def test_what_meets_its_limit_is_clear(gap: float, limit: float) -> None:
    cube = Box(50.0, 50.0, 50.0)
    mechanism = fixed(
        part("a", 0, (cube, identity())), part("b", 0, (cube, translation(0.0, 50.0 + gap, 0.0)))
    )
    survey = ClearanceSolver(mechanism, narrow=NARROW).survey([(0, 1)], limit)
    assert survey.status(0) is Status.CLEAR
    assert survey.all_clear


@pytest.mark.parametrize(("gap", "limit"), [(-0.01, 0.0), (9.99, 10.0), (0.0, 1.0)])
def test_what_falls_short_violates(gap: float, limit: float) -> None:
    cube = Box(50.0, 50.0, 50.0)
    mechanism = fixed(
        part("a", 0, (cube, identity())), part("b", 0, (cube, translation(0.0, 50.0 + gap, 0.0)))
    )
    survey = ClearanceSolver(mechanism, narrow=NARROW).survey([(0, 1)], limit)
    assert survey.which(Status.VIOLATES) == (0,)
    found = survey.clearance(0)
    assert found is not None
    assert found.high_mm == pytest.approx(gap, abs=1e-4)
    assert found.pieces == ("a0", "b0")


def test_far_pairs_need_no_engine_and_still_have_a_closest() -> None:
    ball = Sphere(10.0)
    parts = [part(f"p{k}", 0, (ball, translation(300.0 * k * k, 0.0, 0.0))) for k in range(60)]
    pairs = list(combinations(range(60), 2))
    survey = ClearanceSolver(fixed(*parts), narrow=NARROW).survey(pairs, 10.0)
    assert survey.all_clear
    assert survey.closest is not None
    assert survey.closest.parts == ("p0", "p1")
    assert survey.closest.high_mm == pytest.approx(280.0, abs=1e-6)
    assert survey.calls < 300
    far = survey.which(Status.CLEAR)[-1]
    assert survey.high[far] == math.inf
    assert survey.clearance(far) is None


def test_limits_of_their_own() -> None:
    ball = Sphere(10.0)
    parts = [part(f"p{k}", 0, (ball, translation(0.0, 40.0 * k, 0.0))) for k in range(3)]
    survey = ClearanceSolver(fixed(*parts), narrow=NARROW).survey(
        [(0, 1), (1, 2), (0, 2)], [20.0, 25.0, 30.0]
    )
    assert survey.which(Status.VIOLATES) == (1,)
    assert survey.which(Status.CLEAR) == (0, 2)
    assert survey.closest is not None
    assert survey.closest.parts == ("p1", "p2")


@pytest.mark.parametrize(
    ("pairs", "limits"),
    [([(0, 0)], 1.0), ([(0, 1)], math.nan), ([(0, 1)], -math.inf), ([(0, 1)], [1.0, 2.0])],
)
def test_nonsense_is_refused(pairs: list[tuple[int, int]], limits: float | list[float]) -> None:
    mechanism = arm_over_ball(0.0, 1.0)
    with pytest.raises(ValueError, match=r"pair|limit"):
        ClearanceSolver(mechanism, narrow=NARROW).survey(pairs, limits)


def test_nothing_to_survey() -> None:
    survey = ClearanceSolver(arm_over_ball(0.0, 1.0), narrow=NARROW).survey(np.empty((0, 2)))
    assert survey.closest is None
    assert survey.all_clear


def test_bodies_may_be_pieces_of_parts() -> None:
    mechanism = arm_over_ball(-40.0, 12.0)
    tip, stone = mechanism.parts
    bodies = (Body("tip.rim", 1, tip.solid), Body("stone", 0, stone.solid))
    found = ClearanceSolver(mechanism, bodies=bodies, narrow=NARROW).pair("tip.rim", "stone")
    assert found.parts == ("tip.rim", "stone")


# --- budgets ------------------------------------------------------------------------------------


def knot() -> Mechanism:
    """Two tilted wheels on arms of different ranks that come near each other in some poses."""
    frames = (
        Frame("world", -1, identity()),
        Frame("a", 0, translation(0.0, 160.0, 0.0), turning("a", -20.0, 20.0)),
        Frame("s", 0, translation(120.0, -160.0, 30.0), sliding("s", 5.0)),
        Frame("b", 2, identity(), turning("b", -20.0, 20.0)),
    )
    left = translation(-420.0, -40.0, 0.0) @ rotation_x(20.0)
    right = translation(-420.0, 40.0, 0.0) @ rotation_x(-20.0)
    wheel = RoundedDisc(110.0, 16.0)
    tines = Frustum(60.0, 90.0, 20.0)
    under = translation(0.0, 0.0, -18.0)
    return Mechanism(
        frames,
        (
            part("one", 1, (wheel, left), (tines, left @ under)),
            part("two", 3, (wheel, right), (tines, right @ under)),
        ),
    )


@pytest.mark.parametrize("calls", [1, 5, 20, 60])
def test_out_of_budget_is_never_clear(calls: int) -> None:
    mechanism = knot()
    exact = ClearanceSolver(mechanism, error_bound_mm=0.02, narrow=NARROW).pair(0, 1)
    assert exact.settled
    limit = exact.low_mm - 0.05  # kept, but only just
    solver = ClearanceSolver(mechanism, budget=Budget(per_pair=calls), narrow=NARROW)
    survey = solver.survey([(0, 1)], limit)
    assert survey.low[0] <= exact.high_mm + 1e-6
    assert survey.high[0] >= exact.low_mm - 1e-6
    if survey.calls < 100:
        assert survey.status(0) is Status.UNDECIDED
    total = ClearanceSolver(mechanism, budget=Budget(total=calls), narrow=NARROW)
    assert total.survey([(0, 1)], limit).status(0) is not Status.VIOLATES


def test_enough_budget_decides_both_ways() -> None:
    mechanism = knot()
    exact = ClearanceSolver(mechanism, error_bound_mm=0.02, narrow=NARROW).pair(0, 1)
    for off, status in ((-0.5, Status.CLEAR), (0.5, Status.VIOLATES)):
        survey = ClearanceSolver(mechanism, narrow=NARROW).survey([(0, 1)], exact.high_mm + off)
        assert survey.status(0) is status


def test_error_bound_must_be_positive() -> None:
    with pytest.raises(ValueError, match="error_bound_mm"):
        ClearanceSolver(knot(), error_bound_mm=0.0)


# --- the memo -----------------------------------------------------------------------------------


def rows(count: int, pitch: float = 500.0, gap: float = 30.0) -> Mechanism:
    """Equal pairs of arms along a bar."""
    frames = [Frame("world", -1, identity())]
    parts = []
    for row in range(count):
        for k, side in enumerate((1.0, -1.0)):
            place = translation(0.0, row * pitch + side * (gap / 2.0 + 25.0), 0.0)
            frames.append(Frame(f"s{row}{k}", 0, place, sliding(f"s{row}{k}", 2.0)))
            frames.append(
                Frame(f"f{row}{k}", len(frames) - 1, identity(), turning(f"f{row}{k}", -20.0, 20.0))
            )
            bar = (Cylinder(25.0, 300.0), translation(-150.0, 0.0, 0.0) @ rotation_y(90.0))
            parts.append(part(f"p{row}{k}", len(frames) - 1, bar))
    return Mechanism(tuple(frames), tuple(parts))


def test_equal_rows_are_worked_out_once() -> None:
    pairs = list(combinations(range(10), 2))
    one = ClearanceSolver(rows(1), narrow=NARROW).survey([(0, 1)], 40.0)
    survey = ClearanceSolver(rows(5), narrow=NARROW).survey(pairs, 40.0)
    assert survey.calls <= one.calls + 128
    broken = survey.which(Status.VIOLATES)
    assert [pairs[k] for k in broken] == [(0, 1), (2, 3), (4, 5), (6, 7), (8, 9)]
    for k in broken:
        found = survey.clearance(k)
        assert found is not None
        assert found.high_mm == pytest.approx(26.0, abs=1e-4)
        assert set(found.pose) == {
            f"{letter}{found.parts[0][1]}{n}" for letter in "sf" for n in "01"
        }
        check_pose(rows(5), found)


def test_a_memo_serves_the_next_survey() -> None:
    pairs = list(combinations(range(6), 2))
    memo = ClearanceMemo()
    first = ClearanceSolver(rows(3), memo=memo, narrow=NARROW).survey(pairs, 40.0)
    again = ClearanceSolver(rows(3), memo=memo, narrow=NARROW).survey(pairs, 40.0)
    moved = ClearanceSolver(rows(3, pitch=650.0), memo=memo, narrow=NARROW).survey(pairs, 40.0)
    glance = len(pairs)
    for later in (again, moved):
        assert later.calls <= glance
        broken = first.which(Status.VIOLATES)
        assert later.which(Status.VIOLATES) == broken
        assert later.high[list(broken)] == pytest.approx(first.high[list(broken)], abs=1e-6)
    wider = ClearanceSolver(rows(3, gap=50.0), memo=memo, narrow=NARROW).survey(pairs, 40.0)
    assert wider.all_clear


def test_a_memo_knows_other_ranges_for_what_they_are() -> None:
    memo = ClearanceMemo()
    mechanism = arm_over_ball(-40.0, 12.0)
    swinging = ClearanceSolver(mechanism, memo=memo, narrow=NARROW).pair(0, 1)
    still = ClearanceSolver(mechanism, MotionRange.still(), memo=memo, narrow=NARROW).pair(0, 1)
    assert still.high_mm > swinging.high_mm + 1.0
    assert (
        ClearanceSolver(mechanism, memo=memo, narrow=NARROW).pair(0, 1).high_mm == swinging.high_mm
    )


def test_a_tighter_bound_is_worked_out_anew() -> None:
    memo = ClearanceMemo()
    rough = ClearanceSolver(knot(), error_bound_mm=5.0, memo=memo, narrow=NARROW).pair(0, 1)
    fine = ClearanceSolver(knot(), error_bound_mm=0.05, memo=memo, narrow=NARROW).pair(0, 1)
    assert fine.settled
    assert fine.high_mm - fine.low_mm <= 0.05
    assert rough.low_mm - 1e-9 <= fine.high_mm <= rough.high_mm + 1e-9
