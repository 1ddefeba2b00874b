"""Room between a finding's value and its limit."""

from __future__ import annotations

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

AT_MOST = frozenset(  # values that must not be more
    (
        "ground-contact",
        "bar-level",
        "coverage",
        "load-lift",
        "load-bar",
        "load-shank",
        "load-joint",
    )
)
ASKED = "pair-gap"  # its limit is what was asked, right within a tolerance


def room_of(assembly: Assembly, finding: Finding) -> float | None:
    """How far a finding's value lies inside its limit, or None where it has no numbers."""
    if finding.value is None or finding.limit is None:
        return None
    away = finding.value - finding.limit
    if finding.check == ASKED:
        return assembly.scene.spec.limits.pair_gap_tolerance - abs(away)
    if finding.verdict is Verdict.FAIL:
        return -abs(away)
    return -away if finding.check in AT_MOST else away
