"""pair-gap: the gap that was asked, holes that do not allow it, and the usual start."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
ONE_ROW = "{count: 1, keep_out: 2 1/2}"


def pair(gap: str) -> str:
    return f"[{{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2}}]"


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [
        ("-1/2", Verdict.ADVISE),
        ("7/8", Verdict.ADVISE),
        ("1", Verdict.PASS),
        ("1 1/2", Verdict.PASS),
        ("2", Verdict.PASS),
        ("2 1/8", Verdict.ADVISE),
    ],
)
def test_the_usual_start_is_one_to_two_inches(
    rig: Rig, finds: Find, gap: str, verdict: Verdict
) -> None:
    # common practice, no source: a pair gap of 1 to 2 in is the usual start.
    (finding,) = finds(rig(rows=ONE_ROW, stations=pair(gap)), "pair-gap")
    assert finding.value == pytest.approx(finding.limit, abs=1e-6)
    assert finding.verdict is verdict
    assert ("interleaved" in finding.message) == gap.startswith("-")


def holed(rig: Rig, pitch_mm: float, gap: str = "1 1/2", limits: str = "{}") -> Assembly:
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: 20, hole_pitch: {pitch_mm:.6f} mm}}"
    return rig(rows=ONE_ROW, stations=pair(gap), toolbar=toolbar, limits=limits)


def test_both_sides_of_the_tape_tolerance(rig: Rig, finds: Find) -> None:
    (finding,) = finds(holed(rig, 101.6), "pair-gap")
    assert finding.value is not None
    off = abs(finding.value - 1.5 * INCH)
    assert off > 3.2  # the holes of this bar do not allow the gap
    for more, verdict in ((0.01, Verdict.PASS), (-0.01, Verdict.FAIL)):
        limits = (
            f"{{pair_gap_tolerance: {off + more:.6f} mm, pair_gap_low: -20, pair_gap_high: 20}}"
        )
        (again,) = finds(holed(rig, 101.6, limits=limits), "pair-gap")
        assert again.verdict is verdict


def test_asking_for_a_gap_that_holes_allow_is_the_remedy(rig: Rig, cured: Find) -> None:
    (finding,) = cured(holed(rig, 101.6), "pair-gap")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path == ("stations", 0, "pair_gap")


def test_a_rig_without_pairs_has_nothing_to_say(rig: Rig, finds: Find) -> None:
    assert finds(rig(), "pair-gap") == ()
