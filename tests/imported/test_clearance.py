"""Clearance of bodies given by triangles: true gaps, hits inside, certified over all motion."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from meshes_generic.material import Material
from meshes_generic.shapes import Box, ClosedSurface, Cylinder, Hull, RoundedDisc, Sphere, Triangle
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import identity, roll_pitch_yaw, rotation, translation
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism, Part, Role
from rigmodel.clearance.inside import inside
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import ClearanceSolver, Status
from rigmodel.clearance.nodes import Budget
from rigmodel.clearance.separation import NarrowPhase

STILL = MotionRange.still()
NARROW = NarrowPhase()
TURN = Joint("turn", JointKind.FLOAT, True, (0.0, 0.0, 1.0), 0.0, -60.0, 60.0)


def two(one: Solid, other: Solid, joint: Joint | None = None) -> Mechanism:
    frames = (Frame("world", -1, identity()), Frame("moving", 0, identity(), joint))
    parts = (Part("one", Role.TRACTOR, "", 0, one), Part("other", Role.HOLDER, "", 1, other))
    return Mechanism(frames, parts)


def cube(x: float, y: float, z: float, size: float = 10.0) -> Solid:
    return Solid((Piece(Box(size, size, size), translation(x, y, z), Material.STEEL, "cube"),))


def boxed(box: Box) -> ClosedSurface:
    mesh = box.mesh()
    return ClosedSurface.of(mesh.vertices, mesh.faces)


def least(one: Solid, other: Solid):
    return ClearanceSolver(two(one, other), STILL).pair(0, 1)


@pytest.mark.parametrize(
    ("place", "gap"),
    [
        ((60, 60, 25), 25.0),  # in the notch: the hull would have it 5 * sqrt 2 deep or so
        ((60, 40, 25), 5.0),
        ((38, 40, 25), 3.0),
        ((35, 60, 25), 0.0),  # touching the leg from within the notch
        ((200, 15, 25), 95.0),
        ((65, 65, 25), 30.0),
        ((65, 65, 65), math.hypot(30.0, 10.0)),
    ],
)
def test_a_cube_in_the_notch_reads_its_true_gap_not_the_hulls(ell, solid_of, place, gap):
    body, small = solid_of(ell), cube(*place)
    hull = solid_of(Hull.around(ell.vertices))
    for one, other in ((body, small), (small, body)):
        found = least(one, other)
        assert found.high_mm == pytest.approx(gap, abs=1e-6)
        assert found.low_mm == pytest.approx(gap, abs=1e-6)
        assert found.settled
        assert not found.at_least
    if place[0] < 66:
        assert least(hull, small).high_mm < gap - 0.5


@pytest.mark.parametrize(
    ("place", "size", "depth"),
    [
        ((15, 60, 25), 10, 15.0),  # buried in a leg, its surface 10 from the nearest face
        ((15, 15, 25), 10, 15.0),
        ((15, 15, 25), 1, 15.0),
        ((25, 60, 25), 10, 5.0),  # buried, and touching the face from within
        ((30, 60, 25), 10, 5.0),  # half way through the face
        ((15, 60, 25), 31, 15.0),  # wider than the leg
    ],
)
def test_a_cube_buried_in_a_leg_is_a_hit(ell, solid_of, place, size, depth):
    body, small = solid_of(ell), cube(place[0], place[1], place[2], size)
    for one, other in ((body, small), (small, body)):
        solver = ClearanceSolver(two(one, other), STILL)
        found = solver.pair(0, 1)
        assert found.high_mm <= -depth + 1e-6
        assert found.low_mm <= found.high_mm
        assert found.at_least
        for limit in (0.0, 2.0):
            survey = solver.survey([(0, 1)], limit)
            assert survey.status(0) is Status.VIOLATES
            again = survey.clearance(0)
            assert again is not None
            assert again.high_mm == found.high_mm


def test_points_of_a_hit_inside_are_on_the_bodies_and_as_far_apart_as_it_says(ell, solid_of):
    place = translation(1000, 200, 300) @ roll_pitch_yaw(10, 20, 30)
    body, small = solid_of(ell, place), cube(14, 60, 25, 4).moved(place)
    for one, other, sign in ((body, small, 1), (small, body, -1)):
        found = least(one, other)
        assert found.high_mm == pytest.approx(-14.0)
        a, b = (found.point_a, found.point_b)[::sign]
        assert a == pytest.approx((place @ (0, 60, 25, 1))[:3])
        assert b == pytest.approx((place @ (14, 60, 25, 1))[:3])
        assert found.direction * sign == pytest.approx(place[:3, :3] @ (-1, 0, 0))
        assert found.pieces in {("piece", "cube"), ("cube", "piece")}


@pytest.mark.parametrize(
    "shape",
    [
        Box(9, 8, 7),
        Cylinder(4, 9),
        Sphere(5),
        RoundedDisc(8, 3),
        Hull(((1, 2, 3), (6, 2, 3), (1, 7, 3), (1, 2, 8))),
    ],
    ids=lambda shape: type(shape).__name__,
)
def test_any_shape_wholly_inside_a_bigger_body_is_a_hit_and_outside_is_none(ball, solid_of, shape):
    within, out = solid_of(shape, translation(20, 0, 0)), solid_of(shape, translation(150, 0, 0))
    assert least(solid_of(ball), within).high_mm < -60.0
    assert least(within, solid_of(ball)).high_mm < -60.0
    assert least(solid_of(ball), out).low_mm > 30.0


def test_a_mesh_inside_a_mesh_is_a_hit_whichever_is_the_bigger(ball, ell, solid_of):
    small = ClosedSurface.of(ell.vertices * 0.1, ell.triangles)
    for one, other in ((ball, small), (small, ball)):
        found = least(solid_of(one), solid_of(other))
        assert found.high_mm < -80.0
        assert found.at_least


def test_a_mesh_inside_a_plain_part_is_a_hit(ell, solid_of):
    found = least(solid_of(ell), solid_of(Box(300, 300, 300)))
    assert found.high_mm < -50.0


def test_what_stands_in_a_cavity_or_through_a_ring_is_clear(hollow, ring, solid_of):
    found = least(solid_of(hollow), cube(0, 0, 0))
    assert (found.low_mm, found.high_mm) == pytest.approx((25.0, 25.0))
    pin = solid_of(Cylinder(30, 400))
    found = least(solid_of(ring), pin)
    assert 29.0 < found.low_mm <= found.high_mm < 31.0
    assert least(solid_of(hollow), cube(40, 0, 0)).high_mm == pytest.approx(-10.0)


@pytest.mark.parametrize("angle", [0, 7, 33])
@pytest.mark.parametrize("gap", [0.0, 0.5, 40.0])
def test_a_mesh_of_a_box_has_the_clearance_of_the_box(solid_of, gap, angle):
    box = Box(60, 40, 20)
    place = roll_pitch_yaw(angle, angle / 2, 0)
    for other in (cube(0, 20 + 5 + gap + 30, 0), solid_of(Sphere(9), translation(50, 60 + gap, 0))):
        true = least(solid_of(box, place), other)
        ours = least(solid_of(boxed(box), place), other)
        assert ours.high_mm == pytest.approx(true.high_mm, abs=1e-6)
        assert true.low_mm - 1e-6 <= ours.low_mm <= true.high_mm + 1e-6
        assert ours.settled


@settings(max_examples=25)
@given(
    st.tuples(*[st.floats(-90, 90)] * 3),
    st.tuples(*[st.floats(-180, 180)] * 3),
)
def test_a_mesh_of_a_box_is_apart_just_when_the_box_is(at, turned):
    box, small = Box(60, 40, 20), Box(12, 14, 16)
    place = translation(*at) @ roll_pitch_yaw(*turned)
    made = [
        Solid((Piece(shape, identity(), Material.STEEL),)) for shape in (box, boxed(box), small)
    ]
    true, ours = (least(one, made[2].moved(place)) for one in made[:2])
    if true.high_mm > 0.0:
        assert ours.high_mm == pytest.approx(true.high_mm, abs=1e-4)
    else:
        # No triangle is deeper than the whole; and a hit is never taken for a clearance.
        assert true.low_mm - 1e-4 <= ours.high_mm <= 1e-4


@pytest.mark.parametrize("reach", [90, 130, 240])
@pytest.mark.parametrize("name", ["ell", "ball", "ring"])
def test_certified_over_a_turn_is_never_more_than_any_sample(name, reach, request, solid_of):
    surface = request.getfixturevalue(name)
    arm = solid_of(Box(80, 12, 8), translation(reach, 5, 20))
    body = solid_of(surface, translation(0, 60, 0))
    solver = ClearanceSolver(two(body, arm, TURN))
    found = solver.pair(0, 1)
    triangles = some_of(body)
    samples = []
    for angle in np.linspace(-60, 60, 61):
        moved = arm.moved(rotation((0, 0, 1), float(angle)))
        samples.append(NARROW.solids(triangles, identity(), moved, identity()).high_mm)
    assert found.low_mm <= min(samples) + 1e-6
    if not found.at_least:
        assert found.high_mm <= min(samples) + 0.1
        assert found.settled
    there = arm.moved(rotation((0, 0, 1), found.pose["turn"]))
    at_pose = NARROW.solids(triangles, identity(), there, identity()).high_mm
    assert found.high_mm <= at_pose + 1e-6


def some_of(body: Solid) -> Solid:
    """Some of the triangles of a body: it is no nearer to anything than all of them are."""
    pieces = body.pieces[0].convex_pieces()
    return Solid(tuple(pieces[:: max(1, len(pieces) // 60)]))


def test_what_moves_inside_a_body_is_a_hit_in_every_pose(ball, solid_of):
    """The surfaces never come near each other, so no distance between them shows it."""
    small = cube(30, 0, 0)
    solver = ClearanceSolver(two(solid_of(ball), small, TURN))
    found = solver.pair(0, 1)
    assert found.high_mm < -60.0
    assert solver.survey([(0, 1)], 25.0).status(0) is Status.VIOLATES
    assert solver.survey([(0, 1)], 0.0).all_clear is False


def test_what_moves_inside_a_ring_without_touching_it_is_clear(ring, solid_of):
    solver = ClearanceSolver(two(solid_of(ring), cube(20, 0, 0), TURN))
    survey = solver.survey([(0, 1)], 25.0)
    assert survey.status(0) is Status.CLEAR


def test_a_big_mesh_needs_few_looks(solid_of):
    """5120 triangles, and a part that swings round them, nearest to many of them in turn."""
    made = trimesh.creation.icosphere(subdivisions=4, radius=300.0)
    body = solid_of(ClosedSurface.of(made.vertices, made.faces))
    arm = solid_of(Box(200, 20, 20), translation(420, 0, 0))
    solver = ClearanceSolver(two(body, arm, TURN))
    survey = solver.survey([(0, 1)], 15.0)
    assert survey.status(0) is Status.CLEAR
    assert survey.calls < 4000
    aside = ClearanceSolver(two(body.moved(translation(-100, 80, 40)), arm, TURN))
    survey = aside.survey([(0, 1)], 15.0)
    assert survey.status(0) is Status.CLEAR
    assert survey.calls < 2000
    assert survey.closest is not None
    assert survey.closest.settled


def test_a_spent_budget_is_never_clear_and_never_forgotten(ball, solid_of):
    arm = solid_of(Box(80, 12, 8), translation(145, 5, 20))
    solver = ClearanceSolver(two(solid_of(ball), arm, TURN), budget=Budget(1, 1, 1))
    survey = solver.survey([(0, 1)], 20.0)
    assert survey.status(0) is not Status.CLEAR
    found = survey.clearance(0)
    assert found is not None
    assert found.low_mm <= found.high_mm


def test_an_open_budget_and_a_known_result_agree(ell, solid_of):
    memo = ClearanceMemo()
    for other in (cube(15, 60, 25), cube(60, 60, 25)):
        first = ClearanceSolver(two(solid_of(ell), other), STILL, memo=memo).pair(0, 1)
        again = ClearanceSolver(two(solid_of(ell), other), STILL, memo=memo)
        assert again.pair(0, 1).high_mm == first.high_mm
        assert again.pair(0, 1).at_least == first.at_least
        assert again.survey([(0, 1)], 10.0).status(0) is (
            Status.VIOLATES if first.high_mm < 10.0 else Status.CLEAR
        )


def test_mirrored_bodies_have_mirrored_clearances(ell, solid_of):
    body, small = solid_of(ell), cube(60, 40, 25)
    found = least(body.mirrored_y(), small.mirrored_y())
    assert found.high_mm == pytest.approx(5.0)
    assert least(body.mirrored_y(), small).high_mm == pytest.approx(35.0)


def test_inside_asks_every_piece_and_every_shell(ball, hollow, solid_of):
    out, within = cube(500, 0, 0).pieces[0], cube(10, 0, 0).pieces[0]
    found = inside(solid_of(ball), identity(), Solid((out, within)), identity())
    assert found is not None
    assert found.pieces[1] is within
    assert inside(solid_of(ball), identity(), Solid((out,)), identity()) is None
    assert inside(cube(0, 0, 0), identity(), cube(1, 0, 0), identity()) is None
    # Only the third shell of this body lies in the ball.
    far = trimesh.Trimesh(hollow.vertices, hollow.triangles, process=False)
    far.apply_translation((900, 0, 0))
    pair = trimesh.util.concatenate([far, trimesh.creation.box((9,) * 3)])
    body = ClosedSurface.of(pair.vertices, pair.faces)
    found = inside(solid_of(ball), identity(), solid_of(body), identity())
    assert found is not None
    assert found.depth_mm > 80.0


@pytest.mark.parametrize("turned", [0.0, 25.0])
def test_flat_triangles_in_one_plane_touch_and_are_not_lost(turned):
    place = rotation((1, 2, 3), turned)
    one, other = (
        Triangle((0, 0, 0), (10, 0, 0), (0, 10, 0)),
        Triangle((1, 1, 0), (9, 1, 0), (1, 9, 0)),
    )
    for a, b in ((one, other), (one, one), (other, one)):
        found = NARROW.shapes(a, place, b, place)
        assert found.low_mm == pytest.approx(0.0, abs=1e-3)
        assert found.high_mm == pytest.approx(0.0, abs=1e-3)
        lifted = NARROW.shapes(a, place, b, place @ translation(0, 0, 4))
        assert lifted.low_mm == pytest.approx(4.0, abs=1e-6)
