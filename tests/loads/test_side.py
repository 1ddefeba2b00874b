"""Side draft: what is known of it, what is not, and what it does to bar, shanks, arms, clamps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check, not_checked
from rigmodel.clearance.runner import run
from rigmodel.loads.account import Account, account
from rigmodel.loads.bar import pushes, solve_bar
from rigmodel.loads.member import stressed
from rigmodel.loads.side import acts_at, side_draft
from rigmodel.spec.load import scene_from_text

SCENE = """
name: A rig that is pushed sideways
units: mm
rows: {{count: 3, spacing: 500, keep_out: 50}}
soil: {{texture: medium}}
tractor: {{use: compact-rear, speed_kmh: 5}}
toolbar: {{tube: tube-2x1-4, length: 1900, height: 508, hangers: [400, -400], yield_mpa: 320,
  clamp_torque_nm: 40, clamp_friction: 0.15{bar}}}
stations: [{stations}]
parts:
  flat-on: {{kind: finger-wheel, diameter: 200, finger_length: 50, finger_thickness: 16,
    driver_diameter: 100, driver_thickness: 6, tine_length: 20, hub_diameter: 60, hub_height: 50,
    stub_diameter: 25, stub_length: 25, tilt: 0, toe: 20}}
  known-shank: {{kind: flat-shank, width: 38, thickness: 12, length: 600, yield_mpa: 550}}
"""
ANGLED_BLADE = """{at: gaps, depth: 25, build: {mount: bar-clamp-2, tool: {name: holder,
  part: rigid-holder, carries: [{name: shank, part: shank-straight-26, carries: [{name: blade,
  part: blade-8, turn: [0, 0, %s]}]}]}}}"""
WHEELS = "use: finger-pair, at: rows, pair_gap: 30, depth: 15, draft_n: 40"
HALVES = "use: half-blade-rigid, at: rows, depth: 25"


def rig(*stations: str, bar: str = "") -> Assembly:
    listed = ", ".join(one if one.startswith("{") else f"{{{one}}}" for one in stations)
    return assemble(scene_from_text(SCENE.format(stations=listed, bar=bar)))


def loads(*stations: str, bar: str = "") -> Account:
    return account(rig(*stations, bar=bar))


@pytest.mark.parametrize(
    "station",
    [
        "use: blade-rigid, at: gaps, depth: 25",
        "use: point-rigid, at: gaps, depth: 25",
        "use: blade-arm, at: gaps, depth: 25",
        f"{WHEELS}, swap: {{finger_wheel: flat-on}}",
        ANGLED_BLADE % 0,
    ],
)
@pytest.mark.parametrize("bar", ["", ", roll: 2, pitch: 3"])
def test_a_tool_that_is_its_own_mirror_image_is_not_pushed_to_a_side(
    station: str, bar: str
) -> None:
    side = side_draft(rig(station, bar=bar))
    assert set(side.tools.values()) == {0.0}
    assert (side.sum_n, side.yaw_nm, side.missing) == (0.0, 0.0, "")


@pytest.mark.parametrize("station", [HALVES, WHEELS, ANGLED_BLADE % 15, ANGLED_BLADE % -1])
def test_of_any_other_it_is_not_known_and_told_what_to_give(station: str) -> None:
    assembly = rig(station)
    side = side_draft(assembly)
    assert not side.tools
    assert sorted(t for group in side.open for t in group.tools) == sorted(
        tool.part for tool in assembly.tools
    )
    told = [n for n in not_checked(assembly) if n.reason.startswith("side draft of ")]
    assert {"load-bar", "load-shank", "load-joint"} <= {n.check for n in told}
    assert all("give side_n on the station" in n.reason for n in told)
    assert check(assembly).loads is not None


def test_blades_all_of_one_hand_leave_the_whole_unknown() -> None:
    side = side_draft(rig(ANGLED_BLADE % 15))
    (group,) = side.open
    assert group.over == 2
    assert (side.sum_n, side.yaw_nm) == (None, None)
    assert "zero" not in side.missing


@pytest.mark.parametrize("station", [HALVES, WHEELS, f"{WHEELS}, rank: [0, -200]"])
def test_mirror_images_side_by_side_add_up_to_zero_and_it_is_said(station: str) -> None:
    side = side_draft(rig(station))
    assert [len(group.tools) for group in side.open] == [6]
    assert (side.sum_n, side.yaw_nm) == (0.0, 0.0)
    assert "mirror images, so over the rig it adds up to zero" in side.missing
    assert "turn it" not in side.missing


def test_mirror_images_of_two_stations_find_each_other() -> None:
    """One behind the other they still add up to zero, but turn the rig: by 3 ranks for each N."""
    left, right = (f"{WHEELS}, sides: {side}, name: {side}" for side in ("left", "right"))
    even = side_draft(rig(left, right))
    assert (even.sum_n, even.yaw_nm) == (0.0, 0.0)
    behind = rig(left, f"{right}, rank: -200")
    staggered = side_draft(behind)
    (group,) = staggered.open
    assert group.lever_mm == pytest.approx(
        -3 * next(s.rank_mm for s in behind.stations if s.side < 0), abs=1.0
    )
    assert (staggered.sum_n, staggered.yaw_nm) == (0.0, None)
    assert "turn it" in staggered.missing
    deeper = side_draft(rig(left, right.replace("depth: 15", "depth: 20")))
    assert len(deeper.open) == 2
    assert deeper.sum_n is None


def test_a_stated_push_turns_round_with_its_mirror_image() -> None:
    side = side_draft(rig(f"{HALVES}, side_n: 60"))
    for part, push in side.tools.items():
        assert push == (60.0 if ".left." in part else -60.0)
    assert len(side.stated) == 6
    assert (side.sum_n, side.open) == (0.0, ())
    assert side.yaw_nm == pytest.approx(0.0, abs=1e-9)
    single = side_draft(rig("use: blade-rigid, at: gaps, depth: 25, hand: [left, right], "
                            "side_n: -8"))  # fmt: skip
    assert sorted(single.tools.values()) == [-8.0, 8.0]


def test_yaw_is_draft_times_offset_and_side_draft_times_distance_behind() -> None:
    """Worked by hand for one blade: M = D·y + S·x, x ahead of the rear axle (negative behind)."""
    found = loads("use: blade-rigid, at: [300], depth: 25, draft_n: 500, side_n: 90")
    (tool,) = found.assembly.tools
    x, y, _ = acts_at(found.assembly, tool).tolist()
    assert x < -500.0
    pull = found.pull
    assert pull is not None
    assert pull.side_n == 90.0
    assert pull.side_yaw_nm is not None
    assert pull.side_yaw_nm == pytest.approx(90.0 * x / 1000.0)
    assert pull.side_yaw_nm < 0.0  # pushed left behind the axle, the tractor turns to the right
    assert pull.turning_nm == pytest.approx((500.0 * y + 90.0 * x) / 1000.0)
    base = found.assembly.scene.tractor.wheelbase
    assert pull.front_n == pytest.approx(-(500.0 * y + 90.0 * x) / base)


def test_a_push_under_the_bar_bends_it_as_a_couple_in_the_books() -> None:
    """A couple C in the middle of a simple span bends it by C/2 on both sides (from memory)."""
    still, pushed = (
        rig(f"use: point-rigid, at: [0], depth: 25, draft_n: 0, side_n: {push}")
        for push in (0, 800)
    )
    (force,) = pushes(pushed)
    couple = -float(force.arm_mm[2] * force.force_n[1])
    at = np.array([force.at_mm])
    moments = [solve_bar(one).upright.moments(at)[:, 0] for one in (still, pushed)]
    assert abs(couple) == pytest.approx(800.0 * (508.0 + 12.5), rel=1e-3)
    more = moments[1] - moments[0]
    assert abs(more[1] - more[0]) == pytest.approx(abs(couple), rel=1e-9)
    assert np.abs(more) == pytest.approx(np.full(2, abs(couple) / 2.0), rel=0.05)


def test_a_push_on_tools_under_the_bar_moves_other_tools_up_and_down() -> None:
    still, pushed = (
        solve_bar(rig(f"use: point-rigid, at: [800, -800], depth: 25, draft_n: 0, side_n: {push}"))
        for push in (0, 800)
    )
    rises = [pushed.dips_mm[k] - still.dips_mm[k] for k in still.dips_mm]
    assert min(rises) < -0.1
    assert max(rises) > 0.1  # pushed left, the left end goes up


def test_a_flat_shank_is_bent_the_weak_way_by_a_push() -> None:
    """F·L over t²·w/6, and F·L³/3EI with I = w·t³/12: a cantilever of any handbook."""
    station = "use: blade-rigid, at: gaps, depth: 25, swap: {blade_shank: known-shank}"
    found = loads(f"{station}, draft_n: 200, side_n: 50")
    shank = found.shanks[0]
    sideways = 50.0 * shank.free_mm / (38.0 * 12.0**2 / 6.0)
    assert shank.stress_mpa(0.0, 50.0) == pytest.approx(sideways, rel=0.02)
    assert shank.stress_mpa(0.0, 50.0) >= sideways
    assert shank.stress_mpa(0.0, 50.0) > 3.0 * shank.stress_mpa(50.0)  # 38/12 times
    give = 50.0 * shank.free_mm**3 / (3.0 * 207e3 * 38.0 * 12.0**3 / 12.0)
    assert shank.give_aside_mm(50.0) == pytest.approx(give)
    finding = next(f for f in run(found.assembly, None, ("load-shank",)))
    assert finding.value == pytest.approx(shank.stress_mpa(200.0, 50.0))
    assert "side draft of 50.0 N" in finding.message
    assert "to the side" in finding.message


@pytest.mark.parametrize("push", [90.0, -90.0])
def test_an_arm_is_bent_and_twisted_by_a_push_times_its_distance(push: float) -> None:
    station = "use: blade-arm, at: [0], depth: 25, draft_n: 0"
    pushed = loads(f"{station}, side_n: {push}")
    (tool,) = pushed.assembly.tools
    (arm,) = (one for one in pushed.carrying if one.what == "arm")
    assert len(arm.cuts) == 2
    for cut in arm.cuts:
        still, after = (
            stressed(pushed.assembly, replace(arm, cuts=(cut,)), {}, aside)
            for aside in ({}, pushed.side.tools)
        )
        assert after.stress_mpa != still.stress_mpa
        away = acts_at(pushed.assembly, tool) - cut.middle_mm
        level = after.bending_nm[1] - still.bending_nm[1]
        torque = after.torque_nm - still.torque_nm
        lever = math.hypot(away[0], away[2]) / 1000.0
        assert math.hypot(level, torque) == pytest.approx(abs(push) * lever, rel=1e-9)
    # The bar feels all of it about an upright line: an arm does not turn that way.
    (force,) = pushes(pushed.assembly)
    assert float(force.moment_nmm[2]) == pytest.approx(float(force.arm_mm[0]) * push)
    assert float(force.arm_mm[0]) < float(
        acts_at(pushed.assembly, tool)[0] - arm.cuts[0].middle_mm[0]
    )


def test_friction_holds_the_resultant_of_turning_and_sliding() -> None:
    """Drawn across each face by M/(b/2) in all and along it by S: √(M² + (S·b/2)²) in all."""
    station = "use: blade-rigid, at: gaps, depth: 25, draft_n: 300"
    still, pushed = (loads(f"{station}, side_n: {push}") for push in (0, 4000))
    for one, other in zip(still.clamps, pushed.clamps, strict=True):
        assert one.moment_nm == one.turning_nm == other.turning_nm
        assert other.along_n == pytest.approx(4000.0)
        resultant = math.hypot(other.turning_nm / 0.0254, 4000.0)
        assert other.moment_nm == pytest.approx(resultant * 0.0254)
        assert other.holds_nm == one.holds_nm
    (finding,) = run(pushed.assembly, None, ("load-joint",))
    assert "4000 N along it" in finding.message
    assert finding.value == pytest.approx(max(c.moment_nm for c in pushed.clamps))


@pytest.mark.parametrize("push", [70.0, -140.0])
def test_a_rig_and_its_mirror_image_are_pushed_alike_and_opposite(push: float) -> None:
    left, right = (loads(f"{HALVES}, sides: {side}, side_n: {push}") for side in ("left", "right"))
    one, other = left.pull, right.pull
    assert one is not None
    assert other is not None
    for values in (
        (one.side_n, other.side_n),
        (one.side_yaw_nm, other.side_yaw_nm),
        (one.turning_nm, other.turning_nm),
        (one.front_n, other.front_n),
        (one.rear_n, other.rear_n),
    ):
        assert values[0] is not None
        assert values[1] is not None
        assert values[0] == pytest.approx(-values[1], rel=1e-9)
    assert left.bar is not None
    assert right.bar is not None
    assert left.bar.stress_mpa == pytest.approx(right.bar.stress_mpa, rel=1e-9)
    for a, b in zip(left.hangers, reversed(right.hangers), strict=True):
        assert (a.at_mm, a.up_n, a.ahead_n) == pytest.approx((-b.at_mm, b.up_n, b.ahead_n))
