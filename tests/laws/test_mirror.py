"""A rig mirrored left to right clears exactly as the rig itself."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigmodel.clearance.finding import Finding, Verdict

Find = Callable[[str], tuple[Finding, ...]]
Same = Callable[[tuple[Finding, ...], tuple[Finding, ...]], None]

SCENE = """
name: a rig and its mirror
units: in
rows: {{positions: {rows}, keep_out: 2 1/2}}
tractor: {{use: small-belly, frame: {{offset: {frame}}}}}
toolbar: {{tube: tube-2x1-4, length: 66, height: 20, offset: {offset}, roll: {roll}}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2, rank: -8}}
  - {{use: blade-rigid, at: gaps, depth: 1, hand: {hand}, shift: {shift}}}
  - {{use: blade-spring, at: outside, sides: {side}, depth: 1}}
"""
SWAPPED = {"left": "right", "right": "left", "row1": "row2", "row2": "row1"}


def swapped(name: str) -> str:
    return ".".join(SWAPPED.get(word, word) for word in name.split("."))


@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    left=st.sampled_from([6.0, 8.5, 11.0]),
    right=st.sampled_from([-6.0, -9.0]),
    offset=st.sampled_from([0.0, 1.5]),
    roll=st.sampled_from([0.0, 0.75]),
    shift=st.sampled_from([0.0, 1.0]),
    hand=st.sampled_from(["left", "right"]),
    side=st.sampled_from(["left", "right"]),
)
def test_a_mirrored_rig_has_mirrored_findings(
    found: Find,
    same: Same,
    left: float,
    right: float,
    offset: float,
    roll: float,
    shift: float,
    hand: str,
    side: str,
) -> None:
    # One rank for both rows: a list of ranks counts from the left.
    one = found(
        SCENE.format(
            rows=[left, right], frame=4, offset=offset, roll=roll, gap=1.5,
            hand=hand, shift=shift, side=side,
        )
    )  # fmt: skip
    other = found(
        SCENE.format(
            rows=[-left, -right], frame=-4, offset=-offset, roll=-roll, gap=1.5,
            hand=SWAPPED[hand], shift=-shift, side=SWAPPED[side],
        )
    )  # fmt: skip
    same(one, other)
    broken = [
        {(f.check, frozenset(map(name, f.parts))) for f in list_ if f.verdict is Verdict.FAIL}
        for list_, name in ((one, swapped), (other, str))
    ]
    assert broken[0] == broken[1]
