"""Projection, edges, covered cells and the room that texts take."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from vtkmodules.vtkRenderingCore import vtkTextProperty, vtkTextRenderer
from vtkmodules.vtkRenderingFreeType import vtkFreeTypeTools

from meshes_generic.shapes import Box, Cylinder, Sphere
from rigmodel.view.camera import directions, framed, hidden_share, pixels_per_mm, project
from rigmodel.view.edges import edge_table
from rigmodel.view.options import View
from rigmodel.view.picture import Area
from rigmodel.view.raster import covered, softened
from rigmodel.view.text import drawable, shortened, text_width

AREA = Area(100.0, 50.0, 800.0, 600.0)
INNER = AREA.shrunk(40.0, 60.0, 20.0, 80.0)
SINGLE = [view for view in View if view is not View.SHEET]
_COORDINATE = st.floats(-4000.0, 4000.0)
_POINTS = st.lists(st.tuples(_COORDINATE, _COORDINATE, _COORDINATE), min_size=2, max_size=9)


@given(points=_POINTS, view=st.sampled_from(SINGLE))
@settings(max_examples=60, deadline=None)
def test_a_framed_camera_shows_every_point(
    points: list[tuple[float, float, float]], view: View
) -> None:
    cloud = np.array(points)
    for way in directions(view):
        flat = project(framed(way, cloud, INNER, AREA), AREA, cloud)
        assert (flat >= np.array((INNER.left, INNER.low)) - 1e-6).all()
        assert (flat <= np.array((INNER.right, INNER.high)) + 1e-6).all()


@pytest.mark.parametrize("view", SINGLE)
def test_lengths_across_the_line_of_sight_are_true_everywhere(view: View) -> None:
    cloud = np.random.default_rng(5).uniform(-900.0, 900.0, (40, 3))
    for way in directions(view):
        camera = framed(way, cloud, INNER, AREA)
        scale = pixels_per_mm(camera, AREA)
        for step in (way.right, way.up):
            moved = project(camera, AREA, cloud + 250.0 * step) - project(camera, AREA, cloud)
            assert np.allclose(np.linalg.norm(moved, axis=1), 250.0 * scale)
        along = project(camera, AREA, cloud + 250.0 * way.toward)
        assert np.allclose(along, project(camera, AREA, cloud))


# Where forward (x), left (y) and up (z) must point on the picture: right +1, left -1, up +1 …
@pytest.mark.parametrize(
    ("view", "title", "forward", "left", "up"),
    [
        (View.TOP, "from above, forward is up", (0, 1), (-1, 0), (0, 0)),
        (View.TOP, "from above, forward is left", (-1, 0), (0, -1), (0, 0)),
        (View.FRONT, "from the front, looking backward", (0, 0), (1, 0), (0, 1)),
        (View.SIDE, "from the left, forward is left", (-1, 0), (0, 0), (0, 1)),
    ],
)
def test_views_are_the_right_way_round(
    view: View,
    title: str,
    forward: tuple[int, int],
    left: tuple[int, int],
    up: tuple[int, int],
) -> None:
    (way,) = [way for way in directions(view) if way.title == title]
    for axis, wanted in zip(np.eye(3), (forward, left, up), strict=True):
        assert (axis @ way.right, axis @ way.up) == pytest.approx(wanted)


def test_three_quarter_looks_down_from_the_left() -> None:
    behind, front = directions(View.THREE_QUARTER)
    assert behind.toward[0] < 0 < front.toward[0]
    assert all(way.toward[1] > 0.3 and way.toward[2] > 0.3 for way in (behind, front))


def test_hidden_share_is_what_stands_between_point_and_eye() -> None:
    boxes = np.array([[(5.0, -1.0, -1.0), (6.0, 1.0, 1.0)], [(-6.0, -9.0, -9.0), (-5.0, 9.0, 9.0)]])
    points = np.array([(0.0, 0.0, 0.0), (0.0, 5.0, 0.0), (7.0, 0.0, 0.0), (5.5, 0.0, 0.0)])
    assert hidden_share(points, np.array((1.0, 0.0, 0.0)), boxes) == pytest.approx((0.5, 0.0))
    assert hidden_share(points[:0], np.array((1.0, 0.0, 0.0)), boxes) == pytest.approx((0.0, 0.0))


def test_a_box_shows_nine_edges_from_a_corner_and_four_head_on() -> None:
    table = edge_table(Box(30.0, 20.0, 10.0).mesh())
    slanted = np.array((1.0, 0.8, 0.6)) / math.sqrt(2.0)
    assert len(table.ends) == 18  # 12 edges and 6 diagonals
    assert len(table.seen(slanted)) == 9
    assert len(table.seen(np.array((1.0, 0.0, 0.0)))) == 4


def test_a_ball_shows_its_outline_only() -> None:
    ends = edge_table(Sphere(50.0).mesh(64)).seen(np.array((0.0, 0.0, 1.0)))
    assert np.linalg.norm(ends[..., :2], axis=-1).min() > 0.95 * 50.0


def test_a_cylinder_seen_across_shows_two_lines_and_its_rims() -> None:
    ends = edge_table(Cylinder(10.0, 40.0).mesh(64)).seen(np.array((1.0, 0.0, 0.0)))
    upright = np.abs(ends[:, 0, 2] - ends[:, 1, 2]) > 1.0
    assert upright.sum() == 2
    assert np.abs(ends[upright][..., 1]) == pytest.approx(10.0, abs=0.1)


_CELL = st.floats(0.0, 40.0)
_CORNER = st.tuples(_CELL, _CELL)


@given(corners=st.tuples(_CORNER, _CORNER, _CORNER), share=st.tuples(_CELL, _CELL, _CELL))
@settings(max_examples=80, deadline=None)
def test_cells_of_a_triangle_are_covered_and_none_far_from_it(
    corners: tuple[tuple[float, float], ...], share: tuple[float, float, float]
) -> None:
    triangle = np.array(corners)
    grid = covered(triangle[None], 42, 42)
    weights = (np.array(share) + 0.1) / (sum(share) + 0.3)
    x, y = np.floor(weights @ triangle).astype(int)
    near = grid[max(0, y - 1) : y + 2, max(0, x - 1) : x + 2]
    assert near.max() == 1.0
    rows, columns = np.nonzero(grid)
    assert columns.min() >= math.floor(triangle[:, 0].min() - 1e-6)
    assert columns.max() <= math.floor(triangle[:, 0].max() + 1e-6)
    assert rows.min() >= math.floor(triangle[:, 1].min() - 1e-6)
    assert rows.max() <= math.floor(triangle[:, 1].max() + 1e-6)


def test_what_lies_off_the_grid_marks_nothing() -> None:
    assert covered(np.full((1, 3, 2), -50.0), 5, 5).sum() == 0.0
    assert covered(np.zeros((0, 3, 2)), 5, 5).sum() == 0.0


def test_softening_keeps_the_amount_and_the_range() -> None:
    grid = np.zeros((21, 31))
    grid[10, 15] = 1.0
    soft = softened(grid, 2)
    assert soft.sum() == pytest.approx(1.0)
    assert soft[10, 15] == soft.max() < 1.0
    assert np.allclose(soft, soft[::-1])
    assert softened(np.ones((9, 9)), 2).max() <= 1.0 + 1e-12


LETTERS = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x17F, exclude_categories=("C", "Z", "M")),
    min_size=1,
    max_size=24,
)


@given(text=LETTERS, bold=st.booleans())
@settings(max_examples=150, deadline=None)
def test_the_room_of_a_text_is_never_too_small(text: str, bold: bool) -> None:
    assert vtkFreeTypeTools is not None  # its import gives the renderer its letters
    look = vtkTextProperty()
    look.SetFontFamilyToArial()
    look.SetFontSize(40)
    look.SetBold(bold)
    box = [0, 0, 0, 0]
    shown = drawable(text)
    assert vtkTextRenderer.GetInstance().GetBoundingBox(look, shown, box, 72)
    assert box[1] - box[0] <= text_width(shown, 40.0)


def test_texts_are_made_drawable() -> None:
    assert drawable("a\nb\tc | d\x1b[0m 中 é ½") == "a b c ¦ d?[0m ? é ½"


@given(text=LETTERS, room=st.floats(60.0, 400.0))
@settings(max_examples=60, deadline=None)
def test_a_shortened_text_fits(text: str, room: float) -> None:
    cut = shortened(text, 20.0, room)
    assert text_width(cut, 20.0) <= room
    assert cut == text or cut.endswith("…")
