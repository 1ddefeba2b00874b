"""lift: reserve of the lift's range, and heights over ground and plants by arithmetic."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import not_checked
from rigmodel.clearance.checks.lift import raised_pose
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
POINT = "[{use: point-rigid, at: [0], depth: 1}]"


def lifting(rig: Rig, lowest_mm: float, highest_mm: float, **more: str) -> Assembly:
    lift = f"{{lowest: {lowest_mm:.6f} mm, highest: {highest_mm:.6f} mm}}"
    tractor = f"{{use: small-belly, frame: {{clearance: 80}}, lift: {lift}}}"
    return rig(**{"stations": POINT, "tractor": tractor, **more})


@pytest.mark.parametrize("end", ["lowest", "highest"])
@pytest.mark.parametrize(
    ("left", "verdict"),
    [
        (-0.01, Verdict.FAIL),
        (0.0, Verdict.ADVISE),
        (25.4 - 0.01, Verdict.ADVISE),
        (25.4, Verdict.PASS),
        (100.0, Verdict.PASS),
    ],
)
def test_reserve_of_the_range_on_both_sides(
    rig: Rig, finds: Find, end: str, left: float, verdict: Verdict
) -> None:
    height = 20.0 * INCH
    ends = {"lowest": height - 200.0, "highest": height + 200.0}
    ends[end] = height - left if end == "lowest" else height + left
    found = finds(lifting(rig, ends["lowest"], ends["highest"]), "lift")
    assert found[0].value == pytest.approx(left, abs=1e-5)
    assert found[0].verdict is verdict
    assert ("only goes" in found[0].message) == (verdict is Verdict.FAIL)


def test_working_inside_the_range_is_the_remedy(rig: Rig, cured: Find) -> None:
    found = cured(lifting(rig, 21.0 * INCH, 36.0 * INCH), "lift")
    assert found[0].remedy is not None
    assert found[0].remedy.changes[0].path == ("toolbar", "height")


@pytest.mark.parametrize(("more", "verdict"), [(-0.01, Verdict.FAIL), (0.0, Verdict.PASS)])
def test_height_over_the_soil_on_both_sides(
    rig: Rig, finds: Find, more: float, verdict: Verdict
) -> None:
    # Arithmetic: a rigid tool 1 in deep goes up by the lift's travel.
    travel = 100.0 + more + 1.0 * INCH
    found = finds(lifting(rig, 14.0 * INCH, 20.0 * INCH + travel), "lift")
    assert found[1].value == pytest.approx(100.0 + more, abs=1e-5)
    assert found[1].verdict is verdict


def test_a_higher_lift_is_the_remedy(rig: Rig, cured: Find) -> None:
    (finding,) = cured(lifting(rig, 14.0 * INCH, 22.0 * INCH), "lift")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("tractor", "lift", "highest")


@pytest.mark.parametrize(("more", "verdict"), [(-0.01, Verdict.PASS), (0.01, Verdict.FAIL)])
def test_height_over_plants_on_both_sides(
    rig: Rig, finds: Find, more: float, verdict: Verdict
) -> None:
    # Arithmetic: lifted 10 in from 1 in deep, the tool passes 9 in over the soil.
    plants = f"{{height: {9.0 * INCH - 50.0 + more:.6f} mm}}"
    rows = f"{{count: 2, spacing: 24, keep_out: 2 1/2, plants: {plants}}}"
    found = finds(lifting(rig, 14.0 * INCH, 30.0 * INCH, rows=rows), "lift")
    assert found[2].value == pytest.approx(50.0 - more, abs=1e-5)
    assert found[2].verdict is verdict


def test_plants_that_are_not_given_are_said_not_to_be_checked(rig: Rig, finds: Find) -> None:
    assembly = rig(stations=POINT)
    assert len(finds(assembly, "lift")) == 2
    assert any(n.check == "lift" and "plants" in n.reason for n in not_checked(assembly))


def test_arms_hang_on_their_down_stops_when_lifted(rig: Rig, finds: Find) -> None:
    wheels = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"
    assembly = rig(stations=wheels)
    pose = raised_pose(assembly).values
    arms = [j for j in assembly.mechanism.joints.values() if j.name.endswith(".float")]
    assert len(arms) == 4
    assert all(pose[arm.name] == arm.low for arm in arms)
    found = finds(assembly, "lift")
    assert found[1].pose == pose
