"""Shapes: support functions, closed-form volume and mass, meshes; each shape in turn."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from meshes_generic.mesh import Mesh, circle, merge, revolve
from meshes_generic.shapes import Box, Cylinder, Frustum, Hull, RoundedDisc, Sphere
from meshes_generic.transform import translation

sizes = st.floats(0.1, 1000)
coordinates = st.floats(-500, 500)


def _disc(radius, share):
    return RoundedDisc(radius, 2 * radius * share)


def _skewed(centre, a, b, c, lean):
    return Hull.skewed_box(centre, ((a, 0, 0), (lean, b, 0), (0, -lean, c)))


shapes = st.one_of(
    st.builds(Box, sizes, sizes, sizes),
    st.builds(Cylinder, sizes, sizes),
    st.builds(Frustum, sizes, sizes, sizes),
    st.builds(_disc, sizes, st.floats(0.01, 1)),
    st.builds(Sphere, sizes),
    st.builds(_skewed, st.tuples(*[coordinates] * 3), sizes, sizes, sizes, st.floats(-50, 50)),
)
SAMPLES = [
    Box(30, 40, 50),
    Cylinder(7, 1),
    Cylinder(20, 300),
    Frustum(150, 100, 60),
    Frustum(2, 9, 4),
    RoundedDisc(185, 20),
    RoundedDisc(5, 10),
    Sphere(12),
    Hull(((0, 0, 0), (30, 0, 0), (0, 20, 0), (0, 0, 10), (1, 1, 1))),
    Hull.skewed_box((5, -3, 8), ((60, 0, 0), (-40, 100, 0), (0, 0, 6))),
]
by_shape = pytest.mark.parametrize("shape", SAMPLES, ids=str)


def _directions(seed=0, count=200):
    random = np.random.default_rng(seed).normal(size=(count, 3))
    return np.concatenate([random, np.eye(3), -np.eye(3)])


@settings(max_examples=100, deadline=None)
@given(shapes, st.tuples(*[st.floats(-3, 3)] * 3))
def test_support_is_attained_by_its_point_and_by_no_other(shape, direction):
    directions = np.array([direction, *_directions(count=20)])
    values = shape.support(directions)
    points = shape.support_points(directions)
    scale = 1e-12 * (shape.bounding_radius * np.linalg.norm(directions, axis=1) + 1)
    assert (np.abs(np.einsum("ij,ij->i", directions, points) - values) <= scale).all()
    # No point of the shape reaches farther in a direction than the support there.
    assert (directions @ points.T <= (values + scale)[:, None]).all()
    assert (np.linalg.norm(points, axis=1) <= shape.bounding_radius * (1 + 1e-12)).all()
    for row, value in zip(directions[:5], values[:5], strict=True):
        assert abs(shape.reach(*row) - value) <= scale.max()


@settings(max_examples=50, deadline=None)
@given(shapes, st.floats(0.01, 100))
def test_support_grows_with_the_direction_and_adds_at_most(shape, factor):
    first, second = _directions(1, 30), _directions(2, 30)
    one, two = shape.support(first), shape.support(second)
    slack = 1e-9 * (shape.bounding_radius + 1)
    assert_allclose(shape.support(factor * first), factor * one, rtol=1e-9, atol=slack)
    assert (shape.support(first + second) <= one + two + slack).all()


@by_shape
def test_support_bounds_a_fine_mesh_closely_from_outside(shape):
    directions = _directions()
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    meshed = (directions @ shape.mesh(720).vertices.T).max(axis=1)
    gap = shape.support(directions) - meshed
    # A polygon of n corners lies at most r (1 - cos(pi/n)) inside its circle; a ball's mesh is
    # such a polygon both ways round.
    assert gap.min() >= -1e-9
    assert gap.max() <= 2.001 * shape.bounding_radius * (1 - math.cos(math.pi / 360)) + 1e-9


@by_shape
@pytest.mark.parametrize("sides", [4, 8, 12, 48])
def test_meshes_are_closed_convex_and_as_large_as_the_shape(shape, sides):
    mesh = shape.mesh(sides)
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.is_convex
    assert 0 < body.volume <= shape.volume_mm3 * (1 + 1e-9)
    assert len(np.unique(mesh.faces)) == len(mesh.vertices)
    axes = np.eye(3)
    assert_allclose(mesh.vertices.max(axis=0), shape.support(axes), atol=1e-9)
    assert_allclose(mesh.vertices.min(axis=0), -shape.support(-axes), atol=1e-9)


@by_shape
def test_mass_agrees_with_a_fine_mesh(shape):
    mesh = shape.mesh(720)
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    mass = shape.mass_properties(1e9)
    inertia = body.moment_inertia
    assert mass.mass_kg == pytest.approx(shape.volume_mm3)
    assert shape.volume_mm3 == pytest.approx(body.volume, rel=1e-3)
    assert_allclose(mass.centroid_mm, body.center_mass, atol=1e-3 * shape.bounding_radius)
    assert_allclose(mass.inertia_kg_mm2, inertia, rtol=1e-3, atol=1e-4 * np.trace(inertia))


def test_frustum_has_its_published_volume_and_centroid():
    # Source: the textbook frustum forms V = pi h (R2 + Rr + r2)/3 and
    # z = h (R2 + 2Rr + 3r2) / (4 (R2 + Rr + r2)) from the large base, worked by hand.
    small, large = Frustum(3, 2, 4), Frustum(150, 100, 60)
    assert small.volume_mm3 == pytest.approx(79.5870139, abs=1e-7)
    assert large.volume_mm3 == pytest.approx(2984513.02, abs=1e-2)
    assert small.mass_properties(1).centroid_mm[2] + 2 == pytest.approx(1.73684211, abs=1e-8)
    assert large.mass_properties(1).centroid_mm[2] + 30 == pytest.approx(26.0526316, abs=1e-7)


@settings(max_examples=30, deadline=None)
@given(sizes, sizes)
def test_a_frustum_without_taper_is_a_cylinder_and_a_full_disc_a_ball(radius, height):
    for one, two in (
        (Frustum(radius, radius, height), Cylinder(radius, height)),
        (RoundedDisc(radius, 2 * radius), Sphere(radius)),
    ):
        assert one.volume_mm3 == pytest.approx(two.volume_mm3)
        assert_allclose(one.support(_directions()), two.support(_directions()), rtol=1e-9)
        inertia = two.mass_properties(7850).inertia_kg_mm2
        assert_allclose(one.mass_properties(7850).inertia_kg_mm2, inertia, rtol=1e-9)


def test_a_skewed_box_hull_weighs_what_its_edges_say():
    edges = np.array(((60, 0, 0), (-40, 100, 0), (3, 5, 6)), float)
    shape = Hull.skewed_box((1, 2, 3), edges)
    mass = shape.mass_properties(1e9)
    assert mass.mass_kg == pytest.approx(abs(np.linalg.det(edges)))
    assert_allclose(mass.centroid_mm, (1, 2, 3), atol=1e-9)


@by_shape
def test_mirroring_twice_gives_the_same_value(shape):
    assert shape.mirrored_y().mirrored_y() == shape
    assert hash(shape.mirrored_y().mirrored_y()) == hash(shape)
    flip = np.array((1.0, -1.0, 1.0))
    values = shape.mirrored_y().support(_directions() * flip)
    assert_allclose(values, shape.support(_directions()), atol=1e-12)


BAD_SIZES = [0, -1, math.nan, math.inf, -math.inf]


@pytest.mark.parametrize("bad", BAD_SIZES)
@pytest.mark.parametrize(
    ("make", "fields"),
    [
        (Box, ("size_x", "size_y", "size_z")),
        (Cylinder, ("radius", "height")),
        (Frustum, ("radius_bottom", "radius_top", "height")),
        (RoundedDisc, ("radius", "thickness")),
        (Sphere, ("radius",)),
    ],
)
def test_every_size_must_be_finite_and_above_zero(make, fields, bad):
    for field in fields:
        sizes = dict.fromkeys(fields, 1.0) | {field: bad}
        with pytest.raises(ValueError, match=f"{field} .*{bad}"):
            make(**sizes)


def test_a_disc_thicker_than_a_ball_is_refused():
    with pytest.raises(ValueError, match="thickness"):
        RoundedDisc(5, 10.001)


@pytest.mark.parametrize(
    "points",
    [
        (),
        ((0, 0, 0), (1, 0, 0), (0, 1, 0)),
        ((0, 0, 0), (1, 0, 0), (0, 1, 0), (1, 1, 0)),
        ((0, 0, 0), (1, 1, 1), (2, 2, 2), (3, 3, 3)),
        ((1, 1, 1),) * 5,
        ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, math.nan)),
        ((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, math.inf)),
    ],
)
def test_hulls_without_volume_are_refused(points):
    with pytest.raises(ValueError, match="points"):
        Hull(points)


@pytest.mark.parametrize("sides", [0, -4, 3, 6, 50])
def test_circles_need_their_four_axis_points(sides):
    with pytest.raises(ValueError, match="sides"):
        Cylinder(1, 1).mesh(sides)


def test_circle_holds_its_axis_points_exactly():
    ring = circle(12)
    for point in ((1, 0), (0, 1), (-1, 0), (0, -1)):
        assert (ring == point).all(axis=1).any()


def test_revolved_cone_with_poles_is_closed():
    mesh = revolve([(0.0, 0.0), (5.0, 3.0), (0.0, 10.0)], 64)
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert body.is_watertight
    assert body.volume == pytest.approx(math.pi * 25 * 10 / 3, rel=2e-3)


def test_meshes_are_values_that_move_and_merge():
    cube = Box(2, 2, 2).mesh()
    both = merge((cube, cube.moved(translation(5, 0, 0))))
    assert trimesh.Trimesh(both.vertices, both.faces, process=False).volume == pytest.approx(16)
    assert merge(()).faces.shape == (0, 3)
    with pytest.raises(ValueError, match="read-only"):
        cube.vertices[0, 0] = 9.0
    source = np.array(cube.vertices)
    copy = Mesh(source, cube.faces)
    source[0, 0] = 9.0
    assert copy.vertices[0, 0] == -1.0


@pytest.mark.parametrize("across", [5e-324, 1e-310, 1e-200, 1e-12])
@pytest.mark.parametrize("shape", [Cylinder(150.0, 20.0), Frustum(90.0, 60.0, 40.0)])
def test_a_direction_all_but_along_the_axis_still_has_its_point(shape, across):
    direction = np.array(((across, 0.0, 1.0), (0.0, -across, -1.0)))
    points = shape.support_points(direction)
    assert np.isfinite(points).all()
    assert_allclose((points * direction).sum(axis=1), shape.support(direction), atol=1e-9)
