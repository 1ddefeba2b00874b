"""The flattened mechanism moves as the mechanism itself does."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meshes_generic.material import Material
from meshes_generic.shapes import Box, Cylinder, Frustum, Hull, RoundedDisc, Shape, Sphere
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, Transform, identity, rotation, translation
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism, Part, Pose, Role
from rigmodel.clearance.broad import BodyTable, Stage, bodies_of
from rigmodel.clearance.kinematics import Linkage, MotionRange, compiled
from rigmodel.clearance.limbs import LimbTable

KINDS = tuple(JointKind)
SHAPES: tuple[Shape, ...] = (
    Box(60.0, 20.0, 90.0),
    Cylinder(30.0, 80.0),
    Frustum(50.0, 20.0, 40.0),
    RoundedDisc(60.0, 12.0),
    Hull(
        ((0.0, 0.0, 0.0), (40.0, 0.0, 0.0), (0.0, 50.0, 0.0), (5.0, 5.0, 60.0), (30.0, 30.0, 9.0))
    ),
    Sphere(25.0),
)


def joint(name: str, low: float, high: float, **over: object) -> Joint:
    values = {"kind": JointKind.FLOAT, "turns": True, "axis": (0.0, 1.0, 0.0), "value": low, **over}
    return Joint(name, low=low, high=high, **values)  # type: ignore[arg-type]


@st.composite
def mechanisms(draw: st.DrawFn, frames: int = 7) -> Mechanism:
    """A random tree of frames, some with joints about slanting axes, a part on every frame."""
    number = st.floats(-200.0, 200.0)
    found = [Frame("world", -1, identity())]
    parts = []
    for k in range(1, frames):
        axis = draw(st.sampled_from([(0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.6, 0.0, 0.8)]))
        turn = rotation((1.0, draw(st.floats(-1.0, 1.0)), 0.5), draw(st.floats(-180.0, 180.0)))
        place = translation(draw(number), draw(number), draw(number)) @ turn
        what = draw(st.sampled_from(["turn", "slide", "none"]))
        low = draw(st.floats(-70.0, 30.0))
        high = low + draw(st.sampled_from([0.0, 4.0, 55.0, 170.0]))
        moving = joint(
            f"j{k}", low, high, turns=what == "turn", axis=axis, kind=draw(st.sampled_from(KINDS))
        )
        parent = draw(st.integers(0, k - 1))
        found.append(Frame(f"f{k}", parent, place, None if what == "none" else moving))
        spot = translation(draw(number), 0.0, draw(number)) @ rotation(axis, 30.0)
        piece = Piece(SHAPES[k % len(SHAPES)], spot, Material.STEEL)
        parts.append(Part(f"p{k}", Role.TUBE, "", k, Solid((piece,))))
    return Mechanism(tuple(found), tuple(parts))


def staged(mechanism: Mechanism, motion: MotionRange) -> tuple[Linkage, BodyTable, LimbTable]:
    """A limb from the world to every part."""
    linkage = compiled(mechanism, motion)
    table = BodyTable(linkage, bodies_of(mechanism))
    tops = np.zeros(len(table.numbers), dtype=np.int64)
    limbs = LimbTable(linkage, table.shapes, table.links, tops, table.placements, table.numbers)
    return linkage, table, limbs


def values_of(linkage: Linkage, limbs: LimbTable, pose: dict[str, float]) -> FloatArray:
    """Joint values of every limb in a pose given in the units of the model."""
    values = np.zeros(limbs.columns.shape)
    for at in np.argwhere(limbs.columns >= 0):
        link = int(limbs.columns[tuple(at)])
        moving = linkage.joints[link]
        assert moving is not None
        value = pose[moving.name]
        values[tuple(at)] = math.radians(value) if moving.turns else value
    return values


def sampled(linkage: Linkage, shares: FloatArray) -> dict[str, float]:
    """A pose within the ranges: each joint at its share of the way up."""
    found = {}
    for share, moving in zip(shares, linkage.joints, strict=False):
        if moving is not None:
            low, high = linkage.motion.span(moving)
            found[moving.name] = low + share * (high - low)
    return found


@settings(max_examples=40, deadline=None)
@given(mechanisms(), st.lists(st.floats(0.0, 1.0), min_size=8, max_size=8))
def test_limbs_stand_where_the_mechanism_does(mechanism: Mechanism, shares: list[float]) -> None:
    linkage, _, limbs = staged(mechanism, MotionRange())
    pose = sampled(linkage, np.array(shares))
    turns, places = limbs.poses(np.arange(len(mechanism.parts)), values_of(linkage, limbs, pose))
    for k, part in enumerate(mechanism.parts):
        placed = mechanism.placed(part, Pose("there", pose)).pieces[0].placement
        assert placed[:3, :3] == pytest.approx(turns[k], abs=1e-9)
        assert placed[:3, 3] == pytest.approx(places[k], abs=1e-7)
        assert linkage.worlds(part.frame, pose) == pytest.approx(
            mechanism.frame_poses(Pose("there", pose))[part.frame], abs=1e-9
        )


@settings(max_examples=40, deadline=None)
@given(mechanisms(), st.integers(0, 2**32 - 1))
def test_no_pose_reaches_out_of_the_swept_bounds(mechanism: Mechanism, seed: int) -> None:
    linkage, table, limbs = staged(mechanism, MotionRange())
    random = np.random.default_rng(seed)
    every = np.arange(len(mechanism.parts))
    ways = random.normal(size=(len(every), 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    bound = limbs.swept(every, ways, limbs.centre, limbs.half)
    boxes = limbs.boxes(every)
    for shares in random.integers(0, 5, size=(40, len(linkage.joints))) / 4.0:
        pose = sampled(linkage, shares)
        turns, places = limbs.poses(every, values_of(linkage, limbs, pose))
        for k in every:
            placed = np.eye(4)
            placed[:3, :3], placed[:3, 3] = turns[k], places[k]
            piece = Piece(table.shapes.shapes[table.numbers[k]], placed, Material.STEEL)
            assert piece.support(ways[k : k + 1])[0] <= bound[k] + 1e-7
            axes = np.concatenate((np.eye(3), -np.eye(3)))
            reach = piece.support(axes)
            assert (reach[:3] <= boxes[k, 1] + 1e-7).all()
            assert (-reach[3:] >= boxes[k, 0] - 1e-7).all()


@settings(max_examples=25, deadline=None)
@given(mechanisms(), st.integers(0, 2**32 - 1))
def test_a_single_pose_is_swept_exactly(mechanism: Mechanism, seed: int) -> None:
    linkage, table, limbs = staged(mechanism, MotionRange())
    random = np.random.default_rng(seed)
    every = np.arange(len(mechanism.parts))
    ways = random.normal(size=(len(every), 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    values = values_of(linkage, limbs, sampled(linkage, random.random(len(linkage.joints))))
    bound = limbs.swept(every, ways, values, np.zeros_like(values))
    turns, places = limbs.poses(every, values)
    for k in every:
        shape = table.shapes.shapes[table.numbers[k]]
        exact = shape.support((ways[k] @ turns[k])[None])[0] + ways[k] @ places[k]
        assert bound[k] == pytest.approx(exact, abs=1e-8)


@settings(max_examples=25, deadline=None)
@given(mechanisms(), st.integers(0, 2**32 - 1))
def test_speeds_are_what_a_small_step_shows(mechanism: Mechanism, seed: int) -> None:
    linkage, _, limbs = staged(mechanism, MotionRange())
    random = np.random.default_rng(seed)
    every = np.arange(len(mechanism.parts))
    values = values_of(linkage, limbs, sampled(linkage, random.random(len(linkage.joints))))
    local = random.normal(size=(len(every), 3)) * 50.0

    def points(at: FloatArray) -> FloatArray:
        turns, places = limbs.poses(every, at)
        moved: FloatArray = (turns @ local[:, :, None])[:, :, 0] + places
        return moved

    speeds = limbs.speeds(every, values, points(values))
    for column in range(values.shape[1]):
        step = np.zeros_like(values)
        step[:, column] = 1e-5 * (limbs.columns[:, column] >= 0)
        slope = (points(values + step) - points(values - step)) / 2e-5
        moving = limbs.columns[:, column] >= 0
        assert speeds[moving, column] == pytest.approx(slope[moving], abs=1e-2)


def chain() -> Mechanism:
    """World - lift - arm, and beside the arm a blade that swings from the lift too."""
    frames = (
        Frame("world", -1, identity()),
        Frame(
            "lift",
            0,
            translation(0.0, 0.0, 500.0),
            joint("lift", 0.0, 300.0, kind=JointKind.LIFT, turns=False, axis=(0.0, 0.0, 1.0)),
        ),
        Frame("arm", 1, translation(-100.0, 200.0, 0.0), joint("arm", -20.0, 20.0, value=-5.0)),
        Frame("wheel", 2, translation(-300.0, 0.0, 0.0)),
        Frame(
            "trip",
            1,
            translation(-100.0, -200.0, 0.0),
            joint("trip", 0.0, 60.0, kind=JointKind.TRIP),
        ),
    )
    body = Solid((Piece(Sphere(10.0), identity(), Material.STEEL),))
    parts = tuple(Part(f.name, Role.TUBE, "", k, body) for k, f in enumerate(frames))
    return Mechanism(frames, parts)


def test_joints_above_both_do_not_count() -> None:
    linkage = compiled(chain(), MotionRange())
    assert linkage.joints_between(3, 4) == ("arm", "trip")
    assert linkage.joints_between(2, 3) == ()
    assert linkage.joints_between(0, 3) == ("lift", "arm")
    assert linkage.joints_between(1, 4) == ("trip",)


def test_kinds_that_stand_still_drop_out() -> None:
    linkage = compiled(chain(), MotionRange.only(JointKind.TRIP))
    assert linkage.joints_between(0, 4) == ("trip",)
    assert linkage.joints_between(0, 3) == ()
    assert linkage.worlds(3)[:3, 3] == pytest.approx(chain().frame_poses()[3][:3, 3], abs=1e-9)


def test_ranges_overrule_kinds_and_points_drop_out() -> None:
    moving = MotionRange(frozenset({JointKind.TRIP}), {"lift": 250.0}, {"trip": (30.0, 30.0)})
    linkage = compiled(chain(), moving)
    assert linkage.joints_between(0, 4) == ()
    expected = chain().frame_poses(Pose("there", {"lift": 250.0, "trip": 30.0}))
    assert linkage.worlds(4) == pytest.approx(expected[4], abs=1e-9)


def test_still_takes_a_pose() -> None:
    pose = Pose("raised", {"lift": 300.0, "arm": 12.0})
    linkage = compiled(chain(), MotionRange.still(pose))
    assert len(linkage.parent) == 1
    assert linkage.in_link == pytest.approx(chain().frame_poses(pose), abs=1e-9)


@pytest.mark.parametrize("span", [(5.0, -5.0), (math.nan, 1.0), (0.0, math.inf)])
def test_a_range_must_be_one(span: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="range of trip"):
        compiled(chain(), MotionRange(ranges={"trip": span}))


def test_two_joints_of_one_name_are_refused() -> None:
    frames = (
        Frame("a", -1, identity(), joint("same", 0.0, 1.0)),
        Frame("b", 0, identity(), joint("same", 0.0, 1.0)),
    )
    with pytest.raises(ValueError, match="same"):
        compiled(Mechanism(frames, ()), MotionRange())


def test_box_gaps_are_lower_bounds() -> None:
    mechanism = chain()
    linkage = compiled(mechanism, MotionRange())
    table = BodyTable(linkage, bodies_of(mechanism))
    stage = Stage(linkage, table, np.array([[1, 3], [3, 4], [0, 1]]))
    # The wheel's ball swings 300 from the arm's pivot, 400 behind and 200 beside the lift.
    low = math.hypot(100.0 + 300.0 * math.cos(math.radians(20.0)) - 20.0, 180.0)
    assert stage.low[0] == pytest.approx(low, abs=0.5)
    assert stage.low[0] <= low
    behind = 300.0 * math.cos(math.radians(20.0)) - 20.0
    assert stage.low[1] == pytest.approx(math.hypot(behind, 380.0), abs=2.0)
    assert stage.low[1] <= math.hypot(behind, 380.0)
    assert stage.low[2] == pytest.approx(480.0, abs=1e-9)


def test_transform_of_a_pose_is_read_only_work() -> None:
    """Compiling changes nothing in the mechanism."""
    mechanism = chain()
    before: list[Transform] = [frame.placement.copy() for frame in mechanism.frames]
    compiled(mechanism, MotionRange())
    for frame, placement in zip(mechanism.frames, before, strict=True):
        assert (frame.placement == placement).all()
