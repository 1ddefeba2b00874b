"""arm-float: reserve to each stop, and arms that lie against one."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
WHEELS = "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"


def reserve(found: tuple[Finding, ...]) -> Finding:
    (finding,) = [f for f in found if f.unit == "deg"]
    return finding


def test_reserve_is_the_angle_to_the_nearer_stop(rig: Rig, finds: Find) -> None:
    assembly = rig(stations=WHEELS)
    finding = reserve(finds(assembly, "arm-float"))
    joint = assembly.mechanism.joints[f"{finding.parts[0]}.float"]
    assert finding.value == min(joint.value - joint.low, joint.high - joint.value)
    assert finding.unit == "deg"
    assert finding.verdict is Verdict.PASS


@pytest.mark.parametrize(("more", "verdict"), [(-0.1, Verdict.PASS), (0.1, Verdict.ADVISE)])
def test_both_sides_of_the_reserve(rig: Rig, finds: Find, more: float, verdict: Verdict) -> None:
    finding = reserve(finds(rig(stations=WHEELS), "arm-float"))
    assert finding.value is not None
    limits = f"{{arm_reserve: {finding.value + more:.6f} deg}}"
    again = reserve(finds(rig(stations=WHEELS, limits=limits), "arm-float"))
    assert again.verdict is verdict


@pytest.mark.parametrize(("height", "stop"), [(32, "down"), (3, "up")])
def test_an_arm_against_a_stop_fails_and_the_bars_height_cures_it(
    rig: Rig, cured: Find, height: float, stop: str
) -> None:
    lift = "{use: small-belly, frame: {clearance: 60}, lift: {lowest: 1, highest: 40}}"
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: {height}}}"
    found = cured(rig(stations=WHEELS, toolbar=toolbar, tractor=lift), "arm-float")
    stuck = [f for f in found if f.unit == "deg"]
    assert len(stuck) == 4
    for finding in stuck:
        assert f"{stop} stop" in finding.message
        assert finding.remedy is not None
        assert finding.remedy.changes[0].path == ("toolbar", "height")


def test_a_rig_without_arms_has_nothing_to_say(rig: Rig, finds: Find) -> None:
    assert finds(rig(), "arm-float") == ()


def test_roughness_that_the_stops_allow_on_both_sides(rig: Rig, finds: Find) -> None:
    (_, follow) = finds(rig(stations=WHEELS), "arm-float")
    assert follow.value is not None
    assert "not given" in follow.message
    for more, fails in ((-0.01, False), (0.01, True)):
        tolerances = f"{{roughness: {follow.value + more:.6f} mm}}"
        found = finds(rig(stations=WHEELS, tolerances=tolerances), "arm-float")
        assert (found[1].verdict is Verdict.FAIL) is fails
        assert found[1].value == pytest.approx(follow.value, abs=1e-6)
