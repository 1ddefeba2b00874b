"""frame-fit: room under the tractor's frame over the lift, against arithmetic."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
POINT = "[{use: point-rigid, at: [0], depth: 1}]"
LIFTED = 10.0 * INCH  # from the work height of 20 in to the lift's highest of 30 in


def under(rig: Rig, clearance_mm: float) -> Assembly:
    lift = "lift: {lowest: 14, highest: 30}"
    tractor = f"{{use: small-belly, frame: {{clearance: {clearance_mm:.6f} mm}}, {lift}}}"
    return rig(stations=POINT, tractor=tractor)


def top_mm(assembly: Assembly) -> float:
    return max(float(assembly.at_work(p).bounds()[1, 2]) for p in assembly.rig_parts())


@pytest.mark.parametrize(
    ("room", "verdict"),
    [
        (-10.0, Verdict.FAIL),
        (25.4 - 0.05, Verdict.FAIL),
        (25.4, Verdict.ADVISE),
        (27.0 - 0.05, Verdict.ADVISE),
        (27.0 + 0.05, Verdict.PASS),
        (80.0, Verdict.PASS),
    ],
)
def test_room_under_the_frame_when_fully_lifted(
    rig: Rig, finds: Find, room: float, verdict: Verdict
) -> None:
    # Arithmetic: a rigid tool's top goes straight up by the lift's travel.
    lowest = top_mm(rig(stations=POINT)) + LIFTED + room
    found = finds(under(rig, lowest), "frame-fit")
    assert {f.verdict for f in found} == {verdict}
    finding = found[0]  # the nearest comes first
    if room > 0.0:  # an overlap is as deep as the shortest way out, which may be sideways
        assert finding.value == pytest.approx(room, abs=2e-3 + finding.error_bound)
        assert finding.pose["lift"] == pytest.approx(LIFTED, abs=2e-3)


def test_a_lower_stop_of_the_lift_is_the_remedy(rig: Rig, cured: Find) -> None:
    lowest = top_mm(rig(stations=POINT)) + LIFTED - 10.0
    for finding in cured(under(rig, lowest), "frame-fit"):
        assert finding.remedy is not None
        assert finding.remedy.changes[0].path in (
            ("tractor", "lift", "highest"),
            ("stations", 0, "swap", "point_shank"),
        )


def test_an_obstacle_counts_like_the_frame(rig: Rig, finds: Find) -> None:
    box = "{name: box, at: [48, 0, 20], size: [4, 4, 4]}"
    tractor = f"{{use: small-belly, obstacles: [{box}]}}"
    found = finds(rig(stations=POINT, tractor=tractor), "frame-fit")
    assert {f.verdict for f in found} == {Verdict.FAIL}
    assert all("tractor.box" in f.parts for f in found)
