"""Of a lot of pairs only the worst is worked out, and that is the worst of all of them."""

from __future__ import annotations

import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Role
from rigmodel.clearance.checks import part_clash
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import ERROR_BOUND_MM, ClearanceSolver, Status
from rigmodel.clearance.nodes import Budget
from rigmodel.clearance.scope import AT_WORK, LIFTING, Pairs, Scope
from rigmodel.spec.load import scene_from_text

SCENE = """
name: Crowded
units: in
rows: {count: 3, spacing: 13, keep_out: 2}
tractor: {use: small-belly, rear: {track: 48}}
toolbar: {tube: tube-2x1-4, length: 80, height: 20}
stations:
  - {use: finger-pair-10, at: rows, pair_gap: 3/4, depth: 1/2, rank: [0, -6]}
  - {use: blade-spring, at: gaps, depth: 1}
tolerances: {setting: 1/8}
"""
SCOPE = Scope(assemble(scene_from_text(SCENE)))
ASKED = {
    "rig at work": (part_clash.pairs(SCOPE), AT_WORK),
    "rig on the lift, over the tyres": (
        Pairs.across(SCOPE.rig, SCOPE.of_role(Role.TYRE), 40.0),
        LIFTING,
    ),
}


def solver(motion: MotionRange) -> ClearanceSolver:
    enough = Budget(per_pair=20_000, refine=20_000, total=4_000_000)
    return ClearanceSolver(SCOPE.assembly.mechanism, motion, budget=enough, bodies=SCOPE.bodies)


FULL = {name: solver(m).survey(p.bodies, p.limits) for name, (p, m) in ASKED.items()}


@given(st.sampled_from(sorted(ASKED)), st.integers(1, 6), st.integers(0, 2**31))
@settings(max_examples=12, deadline=None, phases=[Phase.explicit, Phase.generate])
def test_the_worst_of_each_lot_is_as_bad_as_if_every_pair_counted(
    name: str, count: int, draw: int
) -> None:
    (pairs, motion), full = ASKED[name], FULL[name]
    short = [k for k in range(len(pairs)) if full.status(k) is Status.VIOLATES]
    assert len(short) > 4
    # Lots overlap; every pair is in one at least.
    lots = np.random.default_rng(draw).random((count, len(pairs))) < 0.4
    lots[0] |= ~lots.any(axis=0)
    quick = solver(motion).survey(pairs.bodies, pairs.limits, lots)
    assert [quick.status(k) for k in range(len(pairs))] == [
        full.status(k) for k in range(len(pairs))
    ]
    # Every interval holds the same true value, so any two of them overlap.
    assert (quick.low <= full.high + 1e-6).all()
    assert (full.low <= quick.high + 1e-6).all()
    margins = full.high - pairs.limits, quick.high - pairs.limits
    for lot in lots:
        wrong = np.intersect1d(np.flatnonzero(lot), short)
        if len(wrong):
            least, found = margins[0][wrong].min(), margins[1][wrong].min()
            assert abs(least - found) <= ERROR_BOUND_MM
            assert (
                quick.low[wrong][margins[1][wrong].argmin()]
                >= found - ERROR_BOUND_MM + (pairs.limits[wrong][margins[1][wrong].argmin()])
            )
    assert quick.calls <= full.calls


def test_one_lot_of_all_asks_the_engine_less() -> None:
    for name, (pairs, motion) in ASKED.items():
        lot = np.ones((1, len(pairs)), dtype=bool)
        assert solver(motion).survey(pairs.bodies, pairs.limits, lot).calls < FULL[name].calls
