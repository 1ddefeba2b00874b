"""Triangles and closed surfaces: support, mass in closed form, what is inside, boxes over them."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from meshes_generic.mesh import Mesh
from meshes_generic.shapes import Box, ClosedSurface, Frustum, Hull, Triangle
from meshes_generic.surface import shells, unmatched_edges, winding_numbers
from meshes_generic.transform import apply, mirror_y, roll_pitch_yaw, translation

coordinates = st.floats(-500, 500)
points = st.tuples(coordinates, coordinates, coordinates)


def directions(seed: int = 0, count: int = 100) -> np.ndarray:
    random = np.random.default_rng(seed).normal(size=(count, 3))
    return np.concatenate([random, np.eye(3), -np.eye(3)])


def as_trimesh(mesh: Mesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)


def surface_of(shape: Box | Frustum | Hull) -> ClosedSurface:
    mesh = shape.mesh()
    return ClosedSurface.of(mesh.vertices, mesh.faces)


@given(points, points, points)
def test_a_triangles_support_is_the_greatest_of_its_corners(a, b, c):
    triangle, ways = Triangle(a, b, c), directions(1, 20)
    expected = (ways @ np.array((a, b, c)).T).max(axis=1)
    assert_allclose(triangle.support(ways), expected)
    assert_allclose(np.einsum("ij,ij->i", ways, triangle.support_points(ways)), expected)
    assert [triangle.reach(*way) for way in ways] == pytest.approx(expected.tolist(), abs=1e-9)
    assert triangle.volume_mm3 == 0.0
    assert triangle.bounding_radius == pytest.approx(
        max(map(math.hypot, *zip(a, b, c, strict=True)))
    )


def test_a_triangle_faces_the_way_its_corners_run_round():
    triangle = Triangle((0, 0, 0), (2, 0, 0), (0, 3, 0))
    assert triangle.normal.tolist() == [0, 0, 1]
    assert triangle.mirrored_y().normal.tolist() == [0, 0, 1]
    assert Triangle((0, 0, 0), (1, 1, 1), (2, 2, 2)).normal.tolist() == [0, 0, 0]
    assert unmatched_edges(triangle.mesh().faces).size == 0
    with pytest.raises(ValueError, match="finite"):
        Triangle((0, 0, 0), (math.nan, 0, 0), (0, 3, 0))


@pytest.mark.parametrize(
    "shape",
    [
        Box(30, 40, 50),
        Hull.skewed_box((500, -30, 80), ((60, 0, 0), (-40, 100, 0), (0, 0, 6))),
        Hull(((0, 0, 0), (30, 0, 0), (0, 20, 0), (0, 0, 10))),
    ],
    ids=str,
)
def test_the_surface_of_a_flat_sided_shape_has_its_volume_and_mass(shape):
    surface = surface_of(shape)
    assert surface.volume_mm3 == pytest.approx(shape.volume_mm3, rel=1e-12)
    ours, true = surface.mass_properties(7850.0), shape.mass_properties(7850.0)
    assert ours.mass_kg == pytest.approx(true.mass_kg, rel=1e-12)
    assert_allclose(ours.centroid_mm, true.centroid_mm, atol=1e-9)
    assert_allclose(ours.inertia_kg_mm2, true.inertia_kg_mm2, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("name", ["ell", "ball", "ring", "hollow"])
def test_mass_agrees_with_another_library(name, request):
    surface = request.getfixturevalue(name)
    place = translation(300, -200, 100) @ roll_pitch_yaw(20, 30, 40)
    moved = ClosedSurface.of(apply(place, surface.vertices), surface.triangles)
    other = as_trimesh(moved.mesh())
    other.density = 7850e-9
    ours = moved.mass_properties(7850.0)
    assert other.is_volume
    assert ours.mass_kg == pytest.approx(other.mass, rel=1e-9)
    assert_allclose(ours.centroid_mm, other.center_mass, atol=1e-6)
    assert_allclose(ours.inertia_kg_mm2, other.moment_inertia, rtol=1e-6, atol=1e-6)


def test_volumes_known_without_a_computer(ell, hollow):
    assert ell.volume_mm3 == pytest.approx((100 * 30 + 30 * 70) * 50)
    assert hollow.volume_mm3 == pytest.approx(100**3 - 60**3)


@pytest.mark.parametrize("name", ["ell", "ball", "ring", "hollow"])
def test_support_is_that_of_the_hull_and_the_mirror_image_is_a_body_too(name, request):
    surface = request.getfixturevalue(name)
    ways, flip = directions(), np.diag((1.0, -1.0, 1.0))
    expected = (ways @ surface.vertices.T).max(axis=1)
    assert_allclose(surface.support(ways), expected)
    assert_allclose(np.einsum("ij,ij->i", ways, surface.support_points(ways)), expected)
    assert surface.reach(0.6, 0.0, 0.8) == pytest.approx((surface.vertices @ (0.6, 0, 0.8)).max())
    mirrored = surface.mirrored_y()
    assert_allclose(mirrored.support(ways @ flip), expected)
    assert mirrored.volume_mm3 == pytest.approx(surface.volume_mm3)
    assert mirrored.mirrored_y() == surface
    place = translation(10, 20, 30) @ roll_pitch_yaw(1, 2, 3)
    there = apply(place, surface.vertices) @ flip
    assert_allclose(apply(mirror_y(place), mirrored.vertices), there, atol=1e-9)


def test_equal_surfaces_are_equal_and_hash_alike(ell):
    again = ClosedSurface(ell.points, ell.faces)
    assert again == ell
    assert hash(again) == hash(ell)
    assert again.mirrored_y() != ell


@given(st.tuples(*[st.floats(-20, 120)] * 3))
def test_inside_the_ell_is_where_its_outline_says(ell, point):
    x, y, z = point
    if min(abs(v - w) for v in (x, y, z) for w in (0, 30, 50, 100)) < 1e-6:
        return
    truth = 0 < z < 50 and 0 < x < 100 and 0 < y < 100 and (x < 30 or y < 30)
    assert bool(ell.contains(np.array([point]))[0]) is truth


def test_inside_a_ring_and_a_hollow_body(ring, hollow):
    assert ring.contains(np.array([(80, 0, 0), (0, 0, 0), (0, -80, 10), (0, 0, 19)])).tolist() == [
        *(True, False, True, False)
    ]
    # The middle of the cavity is outside the body; its wall is inside.
    assert hollow.contains(np.array([(0, 0, 0), (40, 0, 0), (60, 0, 0)])).tolist() == [
        *(False, True, False)
    ]
    assert winding_numbers(hollow.corners, np.zeros((0, 3))).shape == (0,)


@given(st.tuples(*[st.floats(-100, 100)] * 3))
def test_distance_from_a_box_of_triangles_is_that_from_the_box(point):
    box = Box(60, 40, 20)
    surface, p = surface_of(box), np.array(point)
    beyond = np.abs(p) - box.half_sizes
    outside = float(np.linalg.norm(np.maximum(beyond, 0.0)))
    expected = outside if outside > 0.0 else -float(beyond.max())
    distance, nearest = surface.distances(p[None])
    assert distance[0] == pytest.approx(expected, abs=1e-9)
    assert np.linalg.norm(nearest[0] - p) == pytest.approx(expected, abs=1e-9)
    assert surface.distances(nearest)[0][0] == pytest.approx(0.0, abs=1e-9)


def test_shells_are_told_apart(hollow, ell):
    assert len(hollow.shell_points) == 2
    assert len(ell.shell_points) == 1
    # A long strip of triangles, numbered against its order, is still one shell.
    strip = np.array([(k, k + 1, k + 2) for k in range(500)])[::-1]
    assert np.unique(shells(501 - strip, 502)).size == 1


@pytest.mark.parametrize("count", [4, 8, 9, 20, 320, 1280])
def test_boxes_hold_all_that_is_under_them(count):
    level = {20: 0, 320: 2, 1280: 3}.get(count)
    made = trimesh.creation.icosphere(subdivisions=level or 0, radius=100.0)
    triangles = made.triangles[: count if level is None else None]
    tree = _tree([Triangle(*map(tuple, corners)) for corners in triangles.tolist()])
    parents = np.zeros(len(tree.shapes), dtype=int)
    for node, (first, children) in enumerate(zip(tree.first, tree.count, strict=True)):
        assert first > node or children == 0
        assert children <= 8
        parents[first : first + children] += 1
        for child in range(first, first + children):
            low, high = _extent(tree, child)
            least, most = _extent(tree, node)
            assert (low >= least - 1e-6).all()
            assert (high <= most + 1e-6).all()
    assert parents[0] == 0
    assert (parents[1:] == 1).all()
    leaves = [shape for shape in tree.shapes if isinstance(shape, Triangle)]
    assert len(leaves) == len(set(leaves)) == len(triangles)


def _tree(triangles):
    from meshes_generic.covers import cover_tree  # noqa: PLC0415

    return cover_tree(triangles)


def _extent(tree, node):
    shape, centre = tree.shapes[node], tree.centres[node]
    if isinstance(shape, Triangle):
        return shape.vertices.min(axis=0), shape.vertices.max(axis=0)
    return centre - shape.half_sizes, centre + shape.half_sizes


@settings(max_examples=30)
@given(st.integers(0, 11), st.sampled_from(["gone", "turned"]))
def test_a_surface_with_any_one_triangle_gone_or_turned_is_refused(which, how):
    mesh = Box(10, 20, 30).mesh()
    faces = mesh.faces.copy()
    if how == "gone":
        faces = np.delete(faces, which, axis=0)
    else:
        faces[which] = faces[which][::-1]
    with pytest.raises(ValueError, match="closed, but 3 edges"):
        ClosedSurface.of(mesh.vertices, faces)


def test_other_surfaces_without_a_volume_are_refused():
    mesh = Box(10, 20, 30).mesh()
    with pytest.raises(ValueError, match="outwards"):
        ClosedSurface.of(mesh.vertices, mesh.faces[:, ::-1])
    with pytest.raises(ValueError, match="finite"):
        ClosedSurface.of(np.where(mesh.vertices > 0, np.inf, mesh.vertices), mesh.faces)
    with pytest.raises(ValueError, match="three of the points"):
        ClosedSurface.of(mesh.vertices[:-1], mesh.faces)
    with pytest.raises(ValueError, match="at least four"):
        ClosedSurface.of(mesh.vertices, mesh.faces[:0])


def test_pieces_of_a_surface_are_its_triangles(ell, solid_of):
    piece = solid_of(ell).pieces[0]
    triangles = piece.convex_pieces()
    assert [t.shape for t in triangles] == list(ell.pieces)
    assert {t.label for t in triangles} == {"piece"}
    box = solid_of(Box(1, 2, 3)).pieces[0]
    assert box.convex_pieces() == (box,)
