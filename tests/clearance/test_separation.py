"""Separation against closed forms, other engines, and the laws any distance obeys."""

from __future__ import annotations

import math
from typing import Any

import fcl
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from meshes_generic.material import Material
from meshes_generic.shapes import Box, Cylinder, Frustum, Hull, RoundedDisc, Shape, Sphere
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import (
    FloatArray,
    Transform,
    identity,
    mirror_y,
    rotation,
    rotation_x,
    rotation_y,
    rotation_z,
    translation,
)
from rigmodel.clearance.engine import DistanceEngine
from rigmodel.clearance.separation import (
    TOUCH_MM,
    NarrowPhase,
    Separation,
    separation,
    separation_along,
    snap,
    solid_separation,
)

NARROW = NarrowPhase()
WIRE = 1e-8  # thickness of a disc that stands for a flat one


def between(a: Shape, pose_a: Transform, b: Shape, pose_b: Transform) -> Separation:
    return NARROW.shapes(a, pose_a, b, pose_b)


def piece(shape: Shape, placement: Transform | None = None) -> Piece:
    return Piece(shape, identity() if placement is None else placement, Material.STEEL)


def solid(*shapes: tuple[Shape, Transform]) -> Solid:
    return Solid(tuple(piece(shape, placement) for shape, placement in shapes))


def disc(radius: float) -> Cylinder:
    return Cylinder(radius, WIRE)


# --- closed forms -------------------------------------------------------------------------------

CUBE = Box(50.0, 50.0, 50.0)
TILTS = [
    pytest.param(tilt, 2.0 * (160.0 - 150.0 * math.cos(math.radians(tilt))), id=f"tilt{tilt}")
    for tilt in (0.0, 10.0, 20.0, 30.0)
]


@pytest.mark.parametrize(("tilt", "gap"), TILTS)
def test_mirrored_discs_about_the_middle_plane(tilt: float, gap: float) -> None:
    left = translation(0.0, 160.0, 0.0) @ rotation_x(tilt)
    found = between(disc(150.0), left, disc(150.0), mirror_y(left))
    assert found.low_mm == pytest.approx(gap, abs=1e-4)
    assert found.high_mm == pytest.approx(gap, abs=1e-4)


CLOSED = [
    pytest.param(disc(150.0), disc(130.0), translation(300.0, 0.0, 0.0), 20.0, id="coplanar"),
    pytest.param(
        disc(150.0), disc(130.0), translation(300.0, 0.0, 30.0), math.hypot(20.0, 30.0), id="offset"
    ),
    pytest.param(disc(150.0), disc(130.0), translation(200.0, 0.0, 30.0), 30.0, id="parallel"),
    pytest.param(disc(150.0), disc(100.0), translation(0.0, 0.0, 120.0), 120.0, id="coaxial"),
    pytest.param(CUBE, CUBE, translation(80.0, 90.0, 0.0), 50.0, id="cubes-edge-to-edge"),
    pytest.param(
        Box(2.0, 2.0, 2.0),
        Box(2.0, 2.0, 2.0),
        translation(4.0, 0.0, 0.0) @ rotation_z(45.0),
        3.0 - math.sqrt(2.0),
        id="cube-turned",
    ),
    pytest.param(Sphere(30.0), Sphere(20.0), translation(0.0, 80.0, 0.0), 30.0, id="balls"),
    pytest.param(Sphere(30.0), Sphere(20.0), translation(0.0, 30.0, 0.0), -20.0, id="balls-deep"),
    pytest.param(
        RoundedDisc(100.0, 20.0),
        RoundedDisc(100.0, 20.0),
        translation(195.0, 0.0, 20.0),
        math.hypot(15.0, 20.0) - 20.0,
        id="rounded-rims",
    ),
    pytest.param(
        Cylinder(10.0, 400.0),
        Cylinder(15.0, 400.0),
        translation(3.0, 40.0, -7.0) @ rotation_x(90.0) @ rotation_y(90.0),
        15.0,
        id="skew-bars",
    ),
    pytest.param(
        Frustum(100.0, 60.0, 40.0),
        Sphere(10.0),
        translation(130.0, 0.0, 10.0),
        (130.0 - (80.0 - 10.0)) * math.sqrt(0.5) - 10.0,
        id="cone-side-to-ball",
    ),
    pytest.param(
        Frustum(100.0, 60.0, 40.0),
        Box(10.0, 10.0, 10.0),
        translation(0.0, 0.0, 32.0),
        7.0,
        id="cap",
    ),
    pytest.param(
        Hull(((0.0, 0.0, 0.0), (10.0, 0.0, 0.0), (0.0, 10.0, 0.0), (0.0, 0.0, 10.0))),
        Sphere(1.0),
        translation(10.0, 10.0, 10.0),
        20.0 / math.sqrt(3.0) - 1.0,
        id="tetrahedron",
    ),
]


@pytest.mark.parametrize(("a", "b", "pose", "gap"), CLOSED)
@pytest.mark.parametrize("far", [0.0, 100_000.0], ids=["near", "100m-away"])
def test_closed_forms(a: Shape, b: Shape, pose: Transform, gap: float, far: float) -> None:
    away = translation(far, -far, far) @ rotation((1.0, 2.0, -0.5), 0.0 if far == 0.0 else 33.0)
    found = between(a, away, b, away @ pose)
    assert found.low_mm - 1e-7 <= gap <= found.high_mm + 1e-7
    assert found.high_mm - found.low_mm < 1e-3


@pytest.mark.parametrize("turn", np.linspace(0.0, 7.0, 8).tolist())
def test_facets_never_add_clearance(turn: float) -> None:
    """Two wheels of radius 7 with a true gap of 0.1, whatever corner faces the other."""
    shapes: list[Shape] = [Cylinder(7.0, 1.0), Frustum(6.0, 7.0, 2.0), RoundedDisc(7.0, 1.0)]
    for shape in shapes:
        for other in shapes:
            rise = sum(0.5 * s.height if isinstance(s, Frustum) else 0.0 for s in (shape, other))
            lower = -1.0 if isinstance(other, Frustum) and isinstance(shape, Frustum) else 0.0
            step = 0.0 if lower else (-1.0 if isinstance(other, Frustum) else 1.0) * rise
            pose = translation(14.1, 0.0, step) @ rotation_z(3.0 * turn)
            found = between(shape, rotation_z(turn), other, rotation_z(turn) @ pose)
            assert found.low_mm <= 0.1 + 1e-9
            assert found.low_mm == pytest.approx(0.1, abs=1e-3)
            assert found.high_mm == pytest.approx(0.1, abs=1e-3)


# --- the touching policy ------------------------------------------------------------------------


@pytest.mark.parametrize("off", [-1e-7, 0.0, 1e-7])
@pytest.mark.parametrize("shape", [CUBE, Cylinder(25.0, 50.0), RoundedDisc(80.0, 50.0)])
def test_touching_is_exactly_nothing(off: float, shape: Shape) -> None:
    found = between(CUBE, identity(), shape, translation(0.0, 0.0, 50.0 + off))
    assert snap(found.low_mm) == 0.0
    assert snap(found.high_mm) == 0.0


def test_snap_keeps_what_is_farther_off() -> None:
    assert snap(TOUCH_MM) == 0.0
    assert snap(-TOUCH_MM) == 0.0
    assert snap(1.01 * TOUCH_MM) == 1.01 * TOUCH_MM
    assert snap(-3.0) == -3.0


# --- sliding apart ------------------------------------------------------------------------------

SLIDES = [
    # Thin discs overlapped sideways by 3: a slide across their thickness is no help sideways.
    pytest.param(Cylinder(7.0, 1.0), translation(11.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.0, 3.0),
    pytest.param(Cylinder(7.0, 1.0), translation(11.0, 0.0, 0.0), (0.0, 0.0, 1.0), 0.0, 1.0),
    pytest.param(Cylinder(7.0, 1.0), translation(11.0, 0.0, 0.0), (2.0, 0.0, 0.0), 5.0, 8.0),
    pytest.param(Cylinder(7.0, 1.0), translation(20.0, 0.0, 0.0), (1.0, 0.0, 0.0), 5.0, 0.0),
    pytest.param(Cylinder(7.0, 1.0), translation(-20.0, 0.0, 0.0), (1.0, 0.0, 0.0), 0.0, 0.0),
    pytest.param(
        Cylinder(7.0, 1.0), translation(0.0, 0.0, 0.0), (0.0, 3.0, 0.0), 2.0, 16.0, id="coincide"
    ),
    pytest.param(
        Sphere(10.0), translation(0.0, 6.0, 0.0), (1.0, 0.0, 0.0), 0.0, math.sqrt(400.0 - 36.0)
    ),
]


@pytest.mark.parametrize(("shape", "pose", "direction", "gap", "slide"), SLIDES)
def test_least_slide(
    shape: Shape, pose: Transform, direction: tuple[float, float, float], gap: float, slide: float
) -> None:
    one = Solid((piece(shape),))
    assert separation_along(one, identity(), one, pose, direction, gap) == pytest.approx(
        slide, abs=1e-4
    )


def test_slide_past_every_piece() -> None:
    """Free of the first piece, B runs into the second: the slide goes on until both are clear."""
    fork = solid((CUBE, identity()), (CUBE, translation(80.0, 0.0, 0.0)))
    pin = Solid((piece(Box(40.0, 40.0, 40.0)),))
    slide = separation_along(fork, identity(), pin, identity(), (1.0, 0.0, 0.0))
    assert slide == pytest.approx(125.0, abs=1e-6)


@pytest.mark.parametrize("direction", [(0.0, 0.0, 0.0), (math.nan, 0.0, 1.0)])
def test_slide_needs_a_direction(direction: tuple[float, float, float]) -> None:
    one = Solid((piece(CUBE),))
    with pytest.raises(ValueError, match="direction"):
        separation_along(one, identity(), one, identity(), direction)


def test_solids_take_their_nearest_pieces() -> None:
    a = solid((CUBE, identity()), (Sphere(5.0), translation(0.0, 60.0, 0.0)))
    b = solid((CUBE, identity()))
    found = solid_separation(a, identity(), b, translation(0.0, 100.0, 0.0))
    assert found.low_mm == pytest.approx(10.0, abs=1e-6)
    assert found.point_a == pytest.approx([0.0, 65.0, 0.0], abs=1e-3)
    assert found.point_b == pytest.approx([0.0, 75.0, 0.0], abs=1e-3)
    one = separation(a.pieces[1], identity(), b.pieces[0], translation(0.0, 100.0, 0.0))
    assert one.low_mm == found.low_mm


CENTRED = [CUBE, Cylinder(5.0, 5.0), Sphere(5.0), RoundedDisc(20.0, 4.0), Frustum(9.0, 5.0, 6.0)]


@pytest.mark.parametrize("one", CENTRED)
@pytest.mark.parametrize("other", CENTRED)
def test_one_middle_for_both(one: Shape, other: Shape) -> None:
    """Centred on one point no direction stands out; the depth is still that of a way out."""
    found = between(one, identity(), other, identity())
    ways = np.concatenate((np.eye(3), -np.eye(3)))
    out = float((piece(one).support(ways) + piece(other).support(-ways)).min())
    assert -out - 1e-6 <= found.high_mm < 0.0
    assert -out - 1e-6 <= found.low_mm <= found.high_mm


# --- a failing engine ---------------------------------------------------------------------------


class Broken(DistanceEngine):
    """An engine that answers what it is told to."""

    def __init__(self, value: float, direction: tuple[float, float, float]) -> None:
        super().__init__()
        self.value, self.direction = value, np.array(direction)

    def distance(
        self, shape_a: Shape, shape_b: Shape, turn: FloatArray, offset: FloatArray
    ) -> tuple[float, FloatArray, FloatArray]:
        return self.value, self.direction, np.zeros(3)


LIES = [
    (math.nan, (1.0, 0.0, 0.0)),
    (math.inf, (1.0, 0.0, 0.0)),
    (1.7e308, (0.0, 0.0, 1.0)),
    (50.0, (math.nan, 0.0, 0.0)),
    (-50.0, (0.0, 0.0, 0.0)),
    (50.0, (-1.0, 0.0, 0.0)),
    (99.0, (0.6, 0.8, 0.0)),
    (-40.0, (1.0, 0.0, 0.0)),
]


@pytest.mark.parametrize(("value", "direction"), LIES)
@pytest.mark.parametrize("apart", [70.0, 20.0])
def test_wrong_engine_never_makes_a_clash_clear(
    value: float, direction: tuple[float, float, float], apart: float
) -> None:
    narrow = NarrowPhase(Broken(value, direction))
    found = narrow.shapes(CUBE, identity(), CUBE, translation(apart, 3.0, 2.0))
    assert found.low_mm <= apart - 50.0 + 1e-9
    assert found.high_mm >= found.low_mm
    assert math.isfinite(found.low_mm)
    assert math.isfinite(found.high_mm)


class BrokenPolish(DistanceEngine):
    """An engine that is right at first, and answers what it is told to when asked once more."""

    def __init__(self, answer: tuple[float, tuple[float, float, float], float]) -> None:
        super().__init__()
        self.answer = answer

    def polished(
        self,
        shape_a: Shape,
        shape_b: Shape,
        turn: FloatArray,
        offset: FloatArray,
        direction: FloatArray,
    ) -> tuple[float, FloatArray, FloatArray]:
        value, way, far = self.answer
        return value, np.array(way), np.full(3, far)


@pytest.mark.parametrize(
    "answer",
    [
        (-1.7976931348623157e308, (-1.0, 0.0, 0.0), 8.9e307),
        (math.nan, (1.0, 0.0, 0.0), 0.0),
        (-5.0, (0.0, 0.0, 0.0), 0.0),
        (-5.0, (1.0, 0.0, 0.0), math.nan),
        (-5.0, (1.0, 0.0, 0.0), 8.9e307),
    ],
)
@pytest.mark.parametrize("apart", [150.0, 70.0])
def test_an_answer_that_is_none_spoils_no_better_one(
    answer: tuple[float, tuple[float, float, float], float], apart: float
) -> None:
    drum, place = Frustum(80.0, 50.0, 30.0), translation(apart, 3.0, 2.0) @ rotation_x(20.0)
    found = NarrowPhase(BrokenPolish(answer)).shapes(drum, identity(), CUBE, place)
    right = NarrowPhase().shapes(drum, identity(), CUBE, place)
    assert found.low_mm - 0.1 <= right.high_mm
    assert found.high_mm >= right.low_mm - 1e-9
    assert np.abs(np.array((found.point_a, found.point_b))).max() < 1000.0


# --- oracles and laws ---------------------------------------------------------------------------

sizes = st.floats(5.0, 200.0)
angles = st.floats(-180.0, 180.0)
units = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: math.hypot(*v) > 0.1)
corners = st.lists(st.tuples(*[st.floats(-150.0, 150.0)] * 3), min_size=6, max_size=12)


def _hull(points: list[tuple[float, float, float]]) -> Hull | None:
    spread = np.linalg.svd(np.array(points) - np.mean(points, axis=0), compute_uv=False)
    return Hull(tuple(points)) if spread[2] > 20.0 else None


hulls = corners.map(_hull).filter(lambda hull: hull is not None)
discs = st.builds(RoundedDisc, st.floats(50.0, 200.0), st.floats(5.0, 40.0))
shapes = st.one_of(
    st.builds(Box, sizes, sizes, sizes),
    st.builds(Cylinder, sizes, sizes),
    st.builds(Frustum, sizes, sizes, sizes),
    discs,
    st.builds(Sphere, sizes),
    hulls,
)
poses = st.builds(
    lambda axis, angle, x, y, z: translation(x, y, z) @ rotation(axis, angle),
    units,
    angles,
    *[st.floats(-300.0, 300.0)] * 3,
)


@settings(max_examples=60, deadline=None)
@given(shapes, poses, shapes, poses, poses)
def test_laws_of_a_distance(
    a: Shape, pose_a: Transform, b: Shape, pose_b: Transform, motion: Transform
) -> None:
    found = between(a, pose_a, b, pose_b)
    assert found.low_mm <= found.high_mm
    assert found.high_mm - found.low_mm < 0.5
    assert np.linalg.norm(found.direction) == pytest.approx(1.0, abs=1e-12)
    spread = 2e-3 + 2.0 * (found.high_mm - found.low_mm)
    turned = between(b, pose_b, a, pose_a)
    moved = between(a, motion @ pose_a, b, motion @ pose_b)
    mirrored = between(a.mirrored_y(), mirror_y(pose_a), b.mirrored_y(), mirror_y(pose_b))
    for other in (turned, moved, mirrored):
        assert other.low_mm == pytest.approx(found.low_mm, abs=spread + 0.3 * (found.low_mm < 0))
    # A slide along the certified direction adds its own length at least.
    farther = translation(*(10.0 * found.direction).tolist()) @ pose_b
    assert between(a, pose_a, b, farther).high_mm >= found.low_mm + 10.0 - 1e-6


@settings(max_examples=60, deadline=None)
@given(shapes, poses, shapes, poses, units)
def test_no_direction_and_no_points_beat_the_interval(
    a: Shape, pose_a: Transform, b: Shape, pose_b: Transform, direction: tuple[float, float, float]
) -> None:
    found = between(a, pose_a, b, pose_b)
    ways = np.random.default_rng(1).normal(size=(500, 3))
    ways[0] = direction
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    one, other = piece(a, pose_a), piece(b, pose_b)
    # Every direction's own certificate is below the upper bound ...
    assert (-other.support(-ways) - one.support(ways)).max() <= found.high_mm + 1e-6
    # ... and no two points of the bodies are nearer than the lower.
    points = one.support_points(ways)[:, None] - other.support_points(ways)[None]
    assert np.sqrt((points * points).sum(axis=2)).min() >= found.low_mm - 1e-9
    if found.low_mm > 1.0:
        gap = found.point_b - found.point_a
        assert float(np.linalg.norm(gap)) == pytest.approx(found.high_mm, abs=1e-3)
        for body, point in ((one, found.point_a), (other, found.point_b)):
            assert (ways @ point <= body.support(ways) + 1e-3).all()


@settings(max_examples=30, deadline=None)
@given(shapes, poses, shapes, poses)
def test_agrees_with_a_smooth_minimiser(
    a: Shape, pose_a: Transform, b: Shape, pose_b: Transform
) -> None:
    """The best direction found by a general minimiser is no better than the certificate."""
    one, other = piece(a, pose_a), piece(b, pose_b)
    found = between(a, pose_a, b, pose_b)
    assume(found.low_mm > 1.0)

    def loss(way: FloatArray) -> float:
        unit = (way / np.linalg.norm(way))[None]
        return float(other.support(-unit)[0] + one.support(unit)[0])

    start = found.direction + np.array((0.05, -0.04, 0.03))
    best = -minimize(loss, start, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-9}).fun
    assert best <= found.high_mm + 1e-6
    # A general minimiser stops short now and then; it must never get past the interval.
    assert best == pytest.approx(found.low_mm, abs=0.1 + 0.01 * found.low_mm)


def _fcl(shape: Shape) -> Any:
    if isinstance(shape, Box):
        return fcl.Box(shape.size_x, shape.size_y, shape.size_z)
    if isinstance(shape, Cylinder):
        return fcl.Cylinder(shape.radius, shape.height)
    assert isinstance(shape, Sphere)
    return fcl.Sphere(shape.radius)


plain = st.one_of(
    st.builds(Box, sizes, sizes, sizes),
    st.builds(Cylinder, sizes, sizes),
    st.builds(Sphere, sizes),
)


@settings(max_examples=40, deadline=None)
@given(plain, poses, plain, poses)
def test_agrees_with_another_engine(
    a: Shape, pose_a: Transform, b: Shape, pose_b: Transform
) -> None:
    found = between(a, pose_a, b, pose_b)
    assume(found.low_mm > 0.1)
    one, other = (
        fcl.CollisionObject(_fcl(shape), fcl.Transform(pose[:3, :3], pose[:3, 3]))
        for shape, pose in ((a, pose_a), (b, pose_b))
    )
    value = fcl.distance(one, other, fcl.DistanceRequest(), fcl.DistanceResult())
    # That engine stops early now and then, always on the far side.
    assert value >= found.low_mm - 1e-3
    assert value == pytest.approx(found.low_mm, abs=0.1)


def test_answers_in_bulk_are_those_given_singly() -> None:
    """The engine's result lends out its own memory; no answer may change with the next call."""
    engine = DistanceEngine()
    query = engine.query(CUBE, Cylinder(20.0, 30.0))
    places = np.array([(100.0, 0.0, 0.0), (0.0, 90.0, 5.0), (-60.0, 0.0, 80.0), (10.0, 0.0, 0.0)])
    turns = np.array([rotation((1.0, 2.0, 3.0), 25.0 * k)[:3, :3] for k in range(4)])
    values, normals, points = engine.distances([query] * 4, turns, places)
    for k in range(4):
        value, normal, point = engine.distance(CUBE, Cylinder(20.0, 30.0), turns[k], places[k])
        assert value == values[k]
        assert (normal == normals[k]).all()
        assert (point == points[k]).all()
