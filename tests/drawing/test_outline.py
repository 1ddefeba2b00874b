"""Outlines and hidden lines against scenes whose answer is plain, and against sampled points."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from meshes_generic.material import Material
from meshes_generic.shapes import Box, ClosedSurface, Cylinder, Hull, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import Transform, roll_pitch_yaw, translation
from rigmodel.drawing.hidden import chained, visible_edges
from rigmodel.drawing.outline import Look, Seen, Silhouette


def _piece(shape: Shape, place: Transform) -> Piece:
    return Piece(shape, place, Material.STEEL)


def _seen(look: Look, *pieces: Piece) -> list[Silhouette]:
    return Seen(look).solids([Solid(pieces)])


def _length(edges: tuple[tuple[tuple[float, float], tuple[float, float]], ...]) -> float:
    return sum(math.dist(a, b) for a, b in edges)


@pytest.mark.parametrize(
    ("look", "sizes"),
    [
        (Look.ABOVE, (20.0, 10.0)),
        (Look.PLAN, (10.0, 20.0)),
        (Look.BEHIND, (20.0, 40.0)),
        (Look.RIGHT, (10.0, 40.0)),
    ],
)
def test_a_box_is_a_rectangle_of_its_sizes(look: Look, sizes: tuple[float, float]) -> None:
    (found,) = _seen(look, _piece(Box(10.0, 20.0, 40.0), translation(3.0, 5.0, 7.0)))
    low, high = found.box
    assert (high - low).tolist() == pytest.approx(sizes)
    assert _length(visible_edges([found])) == pytest.approx(2.0 * sum(sizes))


@pytest.mark.parametrize("look", list(Look))
def test_left_is_left_and_forward_is_up_or_right(look: Look) -> None:
    """The driver's left is left on paper; from the right, forward is right; up is up."""
    right, up, eye = np.array(look.value)
    assert np.cross(right, up) == pytest.approx(eye)  # not mirrored
    wanted = {
        Look.ABOVE: ((0.0, -1.0, 0.0), (1.0, 0.0, 0.0)),
        Look.PLAN: ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
        Look.BEHIND: ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
        Look.RIGHT: ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    }
    assert (tuple(right), tuple(up)) == wanted[look]


def test_what_lies_behind_is_left_out() -> None:
    near = _piece(Box(100.0, 100.0, 10.0), translation(0.0, 0.0, 50.0))
    far = _piece(Box(20.0, 20.0, 10.0), translation(0.0, 0.0, 0.0))
    half = _piece(Box(20.0, 20.0, 10.0), translation(50.0, 0.0, 0.0))
    only = visible_edges(_seen(Look.ABOVE, near))
    assert visible_edges(_seen(Look.ABOVE, near, far)) == only
    with_half = visible_edges(_seen(Look.ABOVE, near, half))
    assert _length(with_half) == pytest.approx(400.0 + 20.0 + 2 * 10.0, abs=0.1)
    assert _length(visible_edges(_seen(Look.ABOVE, near))) == pytest.approx(400.0)


def test_a_leaning_bar_passes_in_front_of_one_and_behind_the_other() -> None:
    """Depth is decided where the lines cross, not by the pieces' middles."""
    bar = _piece(Box(200.0, 10.0, 10.0), roll_pitch_yaw(0.0, -45.0, 0.0))  # rises forward
    low = _piece(Box(10.0, 60.0, 10.0), translation(50.0, 0.0, 0.0))
    high = _piece(Box(10.0, 60.0, 10.0), translation(-50.0, 0.0, 0.0))
    edges = visible_edges(_seen(Look.ABOVE, bar, low, high))
    across = [(a, b) for a, b in edges if abs(a[1] - b[1]) < 1e-6]
    assert any(b[1] == pytest.approx(-45.0) and abs(a[0] - b[0]) > 59.0 for a, b in across)
    broken = [abs(a[0] - b[0]) for a, b in across if a[1] == pytest.approx(45.0)]
    assert max(broken) == pytest.approx(25.0, abs=0.1)  # 60 less the bar's 10, in two


@pytest.mark.parametrize("seed", range(12))
def test_a_point_is_drawn_if_and_only_if_no_box_stands_over_it(seed: int) -> None:
    """Against rays, on points sampled along the edges of boxes at random that do not touch."""
    rng = np.random.default_rng(seed)
    shape = Box(40.0, 30.0, 8.0)
    pieces = [
        _piece(shape, translation(x, y, 60.0 * k) @ roll_pitch_yaw(*rng.uniform(-80.0, 80.0, 3)))
        for k, (x, y) in enumerate(rng.uniform(-30.0, 30.0, (5, 2)).tolist())
    ]
    seen = _seen(Look.PLAN, *pieces)
    drawn = np.array(visible_edges(seen))
    for i, silhouette in enumerate(seen):
        a, b = silhouette.edges[:, 0], silhouette.edges[:, 1]
        for share in (0.13, 0.5, 0.81):
            for point in a + (b - a) * share:
                depth = [_over(p, point) for j, p in enumerate(pieces) if j != i]
                if any(
                    abs(d - point[2]) < 0.2 or _near_edge(s, point)
                    for d, s in zip(depth, seen[:i] + seen[i + 1 :], strict=True)
                ):
                    continue  # too close to call
                hidden = any(d > point[2] for d in depth)
                assert _on(drawn, point[:2]) is not hidden


def _over(piece: Piece, point: np.ndarray) -> float:
    """Height of a box's upper face over a point of the plane, or minus infinity (slab method)."""
    inverse = np.linalg.inv(piece.placement)
    start = inverse @ (point[0], point[1], 0.0, 1.0)
    way = inverse @ (0.0, 0.0, 1.0, 0.0)
    assert isinstance(piece.shape, Box)
    low, high = -math.inf, math.inf
    for s, w, half in zip(start[:3], way[:3], piece.shape.half_sizes, strict=True):
        if abs(w) < 1e-12:
            if abs(s) > half:
                return -math.inf
            continue
        one, two = sorted(((-half - s) / w, (half - s) / w))
        low, high = max(low, one), min(high, two)
    return high if high > low else -math.inf


def _near_edge(silhouette: Silhouette, point: np.ndarray) -> bool:
    level = silhouette.inward @ point[:2] - silhouette.levels
    return bool(abs(level.min()) < 0.1)


def _on(segments: np.ndarray, point: np.ndarray) -> bool:
    a, way = segments[:, 0], segments[:, 1] - segments[:, 0]
    share = np.clip(((point - a) * way).sum(axis=1) / (way * way).sum(axis=1), 0.0, 1.0)
    return bool(np.hypot(*(a + way * share[:, None] - point).T).min() < 0.01)


def test_a_hull_is_drawn_as_the_box_it_is() -> None:
    box = Box(30.0, 20.0, 10.0)
    corners = [(x, y, z) for x in (-15.0, 15.0) for y in (-10.0, 10.0) for z in (-5.0, 5.0)]
    place = roll_pitch_yaw(20.0, 30.0, 40.0)
    for look in Look:
        one = visible_edges(_seen(look, _piece(box, place)))
        two = visible_edges(_seen(look, _piece(Hull(tuple(corners)), place)))
        assert set(one) == set(two)


def test_a_cylinder_along_the_eye_is_round() -> None:
    (found,) = _seen(Look.ABOVE, _piece(Cylinder(50.0, 20.0), translation(0.0, 0.0, 0.0)))
    assert np.hypot(found.hull[:, 0], found.hull[:, 1]) == pytest.approx(50.0)
    assert found.high == pytest.approx(10.0)


def test_a_body_from_a_mesh_is_drawn_by_contour_and_creases() -> None:
    mesh = Box(30.0, 20.0, 10.0).mesh()
    surface = ClosedSurface.of(mesh.vertices, mesh.faces)
    (found,) = _seen(Look.PLAN, _piece(surface, translation(0.0, 0.0, 0.0)))
    edges = visible_edges([found])
    assert _length(edges) == pytest.approx(100.0)  # the flat faces' diagonals are not drawn
    below = _piece(Box(4.0, 4.0, 1.0), translation(0.0, 0.0, -30.0))
    seen = _seen(Look.PLAN, _piece(surface, translation(0.0, 0.0, 0.0)), below)
    assert _length(visible_edges(seen)) == pytest.approx(116.0)  # it hides nothing


def test_joined_lines_are_the_same_segments() -> None:
    pieces = [
        _piece(Box(40.0, 30.0, 8.0), translation(9.0 * k, 7.0 * k, 20.0 * k)) for k in range(4)
    ]
    edges = visible_edges(_seen(Look.PLAN, *pieces))
    lines = chained(edges)
    parts = [tuple(sorted(pair)) for line in lines for pair in pairwise(line)]
    assert sorted(parts) == sorted(edges)
    assert len(lines) < len(edges) / 2
