"""Random rigs: among thousands of sampled poses none has less clearance than was certified."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks import part_clash
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.scope import AT_WORK, LIFTING, Pairs, Scope
from rigmodel.clearance.separation import NarrowPhase
from rigmodel.spec.load import scene_from_text

POSES, PAIRS = 250, 8

SCENE = """
name: Random
units: in
rows: {{count: {count}, spacing: {spacing}, keep_out: 2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 90, height: {height}}}
stations:
  - {{use: {wheels}, at: rows, pair_gap: {gap}, depth: 1/2, rank: [0, {rank}]}}
  - {{use: {blades}, at: gaps, depth: 1, rank: {behind}}}
tolerances: {{setting: 1/8, link_play: 1/4}}
"""

rigs = st.builds(
    SCENE.format,
    count=st.integers(2, 3),
    spacing=st.integers(10, 22),
    height=st.sampled_from([18, 19.5, 21]),
    wheels=st.sampled_from(["finger-pair", "finger-pair-10", "finger-pair-12"]),
    gap=st.sampled_from([-0.5, 0.75, 2]),
    rank=st.integers(-14, -1),
    blades=st.sampled_from(["blade-spring", "blade-arm", "blade-rigid"]),
    behind=st.sampled_from([0, -6, -11]),
)


def nearest_pairs(scope: Scope, motion: MotionRange) -> Pairs:
    """The pairs with the least clearance that the certified survey knows of."""
    every = part_clash.pairs(scope)
    tyres = np.flatnonzero([body.name.endswith(".tyre") for body in scope.bodies])
    if motion is LIFTING:
        every = Pairs.across(scope.rig, tyres, 50.0)
    survey = scope._survey(every, motion)
    order = np.argsort(survey.low)[:PAIRS]
    return Pairs(every.bodies[order], every.limits[order])


def sampled(assembly: Assembly, motion: MotionRange, seed: int) -> list[Pose]:
    random = np.random.default_rng(seed)
    joints = assembly.mechanism.joints.values()
    spans = {j.name: motion.span(j) for j in joints}
    poses = []
    for k in range(POSES):
        # every other pose has its joints at their ends, where clearances are least
        ends = random.random(len(spans)) < (0.8 if k % 2 else 0.1)
        values = {}
        for (name, (low, high)), at_end in zip(spans.items(), ends, strict=True):
            share = random.integers(0, 2) if at_end else random.random()
            values[name] = low + (high - low) * float(share)
        poses.append(Pose("sampled", values))
    return poses


def check_rig(text: str, motion: MotionRange, seed: int) -> None:
    assembly = assemble(scene_from_text(text))
    scope = Scope(assembly)
    pairs = nearest_pairs(scope, motion)
    held = scope.least(pairs, motion)
    narrow = NarrowPhase()
    for pose in sampled(assembly, motion, seed):
        worlds = assembly.mechanism.frame_poses(pose)
        for (a, b), known in zip(pairs.bodies.tolist(), held, strict=True):
            one, other = scope.bodies[a], scope.bodies[b]
            found = narrow.solids(one.solid, worlds[one.frame], other.solid, worlds[other.frame])
            assert found.high_mm >= known.low_mm - 1e-6, (known, pose.values)


@settings(max_examples=6)
@given(rigs, st.integers(0, 10_000))
def test_no_sampled_pose_at_work_beats_the_proof(text: str, seed: int) -> None:
    check_rig(text, AT_WORK, seed)


@settings(max_examples=3)
@given(rigs, st.integers(0, 10_000))
def test_no_sampled_pose_of_lift_and_steering_beats_the_proof(text: str, seed: int) -> None:
    check_rig(text, LIFTING, seed)
