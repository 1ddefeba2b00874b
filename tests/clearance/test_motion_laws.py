"""Least clearance over motion: sampled poses, mirror images, order, surveys of random rigs."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from meshes_generic.shapes import Box, Cylinder, Frustum, RoundedDisc, Shape, Sphere
from meshes_generic.transform import (
    Transform,
    identity,
    mirror_y,
    rotation_x,
    rotation_y,
    translation,
)
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism, Part, Pose
from rigmodel.clearance.motion import ClearanceSolver, Status
from rigmodel.clearance.nodes import Budget
from rigmodel.clearance.separation import TOUCH_MM
from tests.clearance.mechanisms import NARROW, check_pose, part, sliding, turning

SHAPES: list[Shape] = [
    Box(300.0, 30.0, 40.0),
    Cylinder(20.0, 250.0),
    RoundedDisc(100.0, 16.0),
    Frustum(80.0, 50.0, 30.0),
    Sphere(40.0),
]
shapes = st.sampled_from(SHAPES)
placements = st.builds(
    lambda x, y, z, pitch, roll: translation(x, y, z) @ rotation_y(pitch) @ rotation_x(roll),
    st.floats(-400.0, 0.0),
    st.floats(-60.0, 60.0),
    st.floats(-100.0, 100.0),
    st.floats(-90.0, 90.0),
    st.floats(-90.0, 90.0),
)


@st.composite
def rigs(draw: st.DrawFn) -> Mechanism:
    """Two arms on settings, perhaps with a trip at the end of the second."""
    number = st.floats(-150.0, 150.0)
    frames = [
        Frame("world", -1, identity()),
        Frame("s1", 0, translation(0.0, draw(st.floats(80.0, 200.0)), 0.0), sliding("s1", 3.0)),
        Frame("f1", 1, identity(), turning("f1", -20.0, draw(st.floats(-10.0, 20.0)))),
        Frame("s2", 0, translation(draw(number), -80.0, draw(number)), sliding("s2", 3.0)),
        Frame("f2", 3, identity(), turning("f2", draw(st.floats(-20.0, 10.0)), 20.0)),
    ]
    end = 4
    if draw(st.booleans()):
        trip = turning("t2", 0.0, 60.0, JointKind.TRIP)
        frames.append(Frame("t2", 4, translation(-100.0, 0.0, 0.0), trip))
        end = 5
    one: list[tuple[Shape, Transform]] = [(draw(shapes), draw(placements)) for _ in range(2)]
    other: list[tuple[Shape, Transform]] = [(draw(shapes), draw(placements)) for _ in range(2)]
    return Mechanism(tuple(frames), (part("one", 2, *one), part("two", end, *other)))


def mirrored(mechanism: Mechanism) -> Mechanism:
    """The mirror image: turns about y keep their sign, slides along y change it."""
    frames = []
    for frame in mechanism.frames:
        moving = frame.joint
        if moving is not None and not moving.turns:
            moving = Joint(
                moving.name, moving.kind, False, (0.0, -1.0, 0.0), 0.0, moving.low, moving.high
            )
        frames.append(Frame(frame.name, frame.parent, mirror_y(frame.placement), moving))
    parts = [Part(p.name, p.role, "", p.frame, p.solid.mirrored_y()) for p in mechanism.parts]
    return Mechanism(tuple(frames), tuple(parts))


@settings(max_examples=25, deadline=None)
@given(rigs(), st.integers(0, 2**32 - 1))
def test_no_sampled_pose_has_less(mechanism: Mechanism, seed: int) -> None:
    found = ClearanceSolver(mechanism, narrow=NARROW, budget=Budget(per_pair=1500)).pair(0, 1)
    assert found.low_mm <= found.high_mm
    assert found.settled == (found.high_mm - found.low_mm <= 0.1)
    check_pose(mechanism, found)
    for moving in mechanism.joints.values():
        assert moving.low <= found.pose[moving.name] <= moving.high
    random = np.random.default_rng(seed)
    joints = list(mechanism.joints.values())
    one, other = mechanism.parts
    # Half of the poses anywhere and at the ends, half close to the one that was found.
    for k in range(200):
        shares = random.choice((0.0, 0.5, 1.0, random.random()), size=len(joints))
        values = {
            j.name: j.low + share * (j.high - j.low)
            if k % 2
            else float(np.clip(found.pose[j.name] + random.normal() * 0.3, j.low, j.high))
            for j, share in zip(joints, shares, strict=True)
        }
        poses = mechanism.frame_poses(Pose("sampled", values))
        there = NARROW.solids(one.solid, poses[one.frame], other.solid, poses[other.frame])
        assert there.high_mm >= found.low_mm - 1e-6


@settings(max_examples=20, deadline=None)
@given(rigs())
def test_order_and_mirror_make_no_difference(mechanism: Mechanism) -> None:
    budget = Budget(per_pair=1500)
    found = ClearanceSolver(mechanism, narrow=NARROW, budget=budget).pair(0, 1)
    assume(found.settled)
    turned = ClearanceSolver(mechanism, narrow=NARROW, budget=budget).pair(1, 0)
    image = ClearanceSolver(mirrored(mechanism), narrow=NARROW, budget=budget).pair(0, 1)
    for other in (turned, image):
        assert other.low_mm <= found.high_mm + 1e-4
        assert other.high_mm >= found.low_mm - 1e-4


@settings(max_examples=20, deadline=None)
@given(rigs(), st.floats(-20.0, 60.0))
def test_survey_agrees_with_the_value(mechanism: Mechanism, off: float) -> None:
    found = ClearanceSolver(mechanism, narrow=NARROW, budget=Budget(per_pair=1500)).pair(0, 1)
    assume(found.settled)
    limit = found.high_mm + off
    survey = ClearanceSolver(mechanism, narrow=NARROW).survey([(0, 1)], limit)
    if survey.status(0) is Status.CLEAR:
        assert found.high_mm >= limit - TOUCH_MM - 1e-6
    if survey.status(0) is Status.VIOLATES:
        assert found.low_mm < limit
    if off < -0.2:
        assert survey.status(0) is Status.CLEAR
    if off > 0.2:
        assert survey.status(0) is Status.VIOLATES
