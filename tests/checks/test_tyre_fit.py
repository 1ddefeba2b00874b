"""tyre-fit: bars between tyres, rigs behind them, and rows beside them, by arithmetic."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
LIMIT = 25.4 + 6.35  # clearance and growth


def hitched(rig: Rig, length: str) -> Assembly:
    """A bar on the rear hitch of a tractor with a 60 in track and tyres 12 in wide."""
    return rig(
        tractor="{use: compact-rear, rear: {track: 60, tyre_width: 12}}",
        toolbar=f"{{tube: tube-2x1-4, length: {length}, height: 20}}",
    )


def width_finding(found: tuple[Finding, ...]) -> Finding:
    (finding,) = [f for f in found if f.parts == ("bar",)]
    return finding


@pytest.mark.parametrize(
    ("length", "margin", "verdict", "word"),
    [
        ("72", 0.0, Verdict.ADVISE, "stays within"),
        ("72 1/16", -1 / 32, Verdict.FAIL, "reaches past"),
        ("71 15/16", 1 / 32, Verdict.ADVISE, "stays within"),
        ("70", 1.0, Verdict.PASS, "stays within"),
    ],
)
def test_a_bar_on_the_hitch_as_wide_as_the_tyres(
    rig: Rig, finds: Find, length: str, margin: float, verdict: Verdict, word: str
) -> None:
    # Arithmetic: a 60 in track with 12 in tyres is 72 in over the tyres' outer faces.
    finding = width_finding(finds(hitched(rig, length), "tyre-fit"))
    assert finding.value == pytest.approx(margin * INCH, abs=1e-9)
    assert finding.verdict is verdict
    assert word in finding.message


def test_cutting_the_bar_is_the_remedy(rig: Rig, cured: Find) -> None:
    (finding,) = cured(hitched(rig, "84"), "tyre-fit")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("toolbar", "length")
    assert finding.remedy.changes[0].value == pytest.approx(72 * INCH, abs=1e-6)


@pytest.mark.parametrize(
    ("room", "verdict"),
    [
        (-10.0, Verdict.FAIL),
        (LIMIT - 0.05, Verdict.FAIL),
        (LIMIT, Verdict.ADVISE),
        (LIMIT + 1.55, Verdict.ADVISE),
        (LIMIT + 1.65, Verdict.PASS),
    ],
)
def test_a_bar_between_the_rear_tyres(rig: Rig, finds: Find, room: float, verdict: Verdict) -> None:
    # Arithmetic: half of the track less the tyre's width, less half of the bar.
    length = 60.0 * INCH - 12.0 * INCH - 2.0 * room
    assembly = rig(
        tractor="{use: small-belly, rear: {track: 60, tyre_width: 12}, front: {track: 72}}",
        toolbar=f"{{tube: tube-2x1-4, length: {length:.6f} mm, height: 20, ahead: 0}}",
        stations="[{use: point-rigid, at: [0], depth: 1}]",
    )
    found = [f for f in finds(assembly, "tyre-fit") if "bar" in f.parts]
    assert {f.verdict for f in found} == {verdict}
    for finding in found:
        assert finding.value == pytest.approx(room, abs=2e-3 + finding.error_bound)


@pytest.mark.parametrize(
    ("row", "verdict"),
    [
        (20.0, Verdict.PASS),
        (21.49, Verdict.PASS),
        (21.51, Verdict.ADVISE),
        (24.0, Verdict.ADVISE),
        (24.01, Verdict.FAIL),
        (30.0, Verdict.FAIL),
        (35.99, Verdict.FAIL),
        (36.0, Verdict.ADVISE),
        (38.51, Verdict.PASS),
    ],
)
def test_a_row_beside_and_under_a_tyre(rig: Rig, finds: Find, row: float, verdict: Verdict) -> None:
    # Arithmetic: tyres from 24 to 36 in; within the band of 2 1/2 in beside them is advised.
    assembly = rig(
        tractor="{use: small-belly, rear: {track: 60, tyre_width: 12},"
        " front: {track: 60, tyre_width: 12}}",
        rows=f"{{positions: [{row}, 0], keep_out: 2 1/2}}",
        stations="[{use: point-rigid, at: [0], depth: 1}]",
    )
    (finding,) = [f for f in finds(assembly, "tyre-fit") if f.parts == ("row1",)] or [
        f for f in finds(assembly, "tyre-fit") if f.parts == ("row2",)
    ]
    assert finding.verdict is verdict
    assert ("runs over" in finding.message) == (verdict is Verdict.FAIL)


def test_more_steering_lock_leaves_less_room(rig: Rig, finds: Find) -> None:
    most, least = [], []  # bounds of the least room
    for lock in (0, 20, 45):
        assembly = rig(
            tractor=f"{{use: small-belly, steering_lock: {lock}, rear: {{track: 72}}}}",
            toolbar="{tube: tube-2x1-4, length: 56, height: 12, ahead: 62}",
            stations="[{use: point-rigid, at: [0], depth: 1}]",
        )
        found = [f for f in finds(assembly, "tyre-fit") if "bar" in f.parts]
        nearest = min(f.value for f in found if f.value is not None)
        most.append(nearest)
        least.append(nearest - max(f.error_bound for f in found))
    assert least[1] <= most[0]
    assert least[2] <= most[1]
    assert most[2] < least[0]
