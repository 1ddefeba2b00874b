"""The description of a picture: all that can be told without drawing it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings, Verdict
from rigmodel.units import Unit, to_unit
from rigmodel.view.camera import pixels_per_mm, project
from rigmodel.view.describe import describe, pixel_step
from rigmodel.view.labels import crosses_box, leader_end
from rigmodel.view.marks import COLOURS, mark_drawing
from rigmodel.view.options import Ghost, PictureOptions, View
from rigmodel.view.overlay import scale_length, tally
from rigmodel.view.picture import Area, Fill, Mark, Panel, Picture, Shape, Words
from rigmodel.view.text import text_width

SCENES = [
    "three-rows-belly",
    "four-narrow-rows-clash",
    "two-wide-rows-paths-rear",
    "raised-bed-furrow",
]
SINGLE = [view for view in View if view is not View.SHEET]


def _words(picture: Picture) -> list[str]:
    return [item.text for item in picture.overlay if isinstance(item, Words)]


@pytest.mark.parametrize("view", list(View))
@pytest.mark.parametrize("scene", SCENES)
def test_labels_never_overlap(
    scene: str, view: View, rig_of: Callable[[str], Assembly], findings: Findings
) -> None:
    picture = describe(rig_of(scene), findings, PictureOptions(view))
    whole = Area(0, 0, picture.width, picture.height)
    for panel in picture.panels:
        assert panel.labels
        for label in panel.labels:
            assert panel.area.holds(label.box)
            assert whole.holds(label.box)
            assert text_width(label.text, label.size) <= label.box.width
        for one, other in combinations(panel.labels, 2):
            assert not one.box.overlaps(other.box), (one.text, other.text)
            stroke = (one.anchor, leader_end(one.box, one.anchor))
            assert not crosses_box(stroke, other.box), (one.text, other.text)
        for label in panel.labels:
            for mark in panel.marks:
                for x, y in mark.ends:
                    assert not label.box.overlaps(Area(x - 5, y - 5, 10, 10))


@pytest.mark.parametrize("view", SINGLE)
def test_rows_bar_and_stations_are_named(rig: Assembly, view: View) -> None:
    (panel,) = describe(rig, None, PictureOptions(view)).panels
    said = " ".join(label.text for label in panel.labels)
    assert "bar 72 in" in said
    if view is View.SIDE:  # one behind the other: the first is named, the others counted
        assert "row1 +2" in said
        assert "row1.left +3" in said
    else:
        assert {"row1", "row2", "row3", "row1.left", "gap2", "outside.right"} <= set(said.split())


@pytest.mark.parametrize("ghosts", [(), tuple(Ghost)])
@pytest.mark.parametrize("view", list(View))
def test_nothing_is_cropped(rig: Assembly, view: View, ghosts: tuple[Ghost, ...]) -> None:
    for panel in describe(rig, None, PictureOptions(view, ghosts=ghosts)).panels:
        for surface in panel.surfaces:
            flat = project(panel.camera, panel.area, surface.mesh.vertices)
            assert (flat >= (panel.area.left, panel.area.low)).all(), surface.name
            assert (flat <= (panel.area.right, panel.area.high)).all(), surface.name


@pytest.mark.parametrize("view", SINGLE)
def test_the_scene_is_all_there(rig: Assembly, view: View) -> None:
    (panel,) = describe(rig, None, PictureOptions(view)).panels
    names = {surface.name for surface in panel.surfaces}
    for part in rig.mechanism.parts:
        assert any(name.startswith(f"{part.name}/") for name in names)
    assert any(name.startswith("soil/") for name in names)
    lines = {line.name for line in panel.lines}
    for row in rig.rows:
        assert f"{row.name}/keep_out" in names
        assert f"{row.name}/plants" in names
        assert f"{row.name}/line" in lines
    assert ("centre" in lines) == (view is not View.SIDE)


@pytest.mark.parametrize("view", SINGLE)
def test_keep_out_bands_have_their_width(rig: Assembly, view: View) -> None:
    (panel,) = describe(rig, None, PictureOptions(view)).panels
    bands = {surface.name: surface.mesh.vertices for surface in panel.surfaces}
    for row in rig.rows:
        ys = bands[f"{row.name}/keep_out"][:, 1]
        low, high = row.y_mm - row.keep_out_mm, row.y_mm + row.keep_out_mm
        assert (ys.min(), ys.max()) == pytest.approx((low, high))


def test_plants_fill_the_crops_sizes(rig: Assembly) -> None:
    (panel,) = describe(rig, None, PictureOptions(View.TOP)).panels
    for row in rig.rows:
        (plants,) = [s.mesh for s in panel.surfaces if s.name == f"{row.name}/plants"]
        crop = row.plants
        away = np.abs(plants.vertices[:, 1] - row.y_mm).max()
        assert 0.85 * crop.canopy_width / 2 <= away <= crop.canopy_width / 2 + 1e-6
        assert plants.vertices[:, 2].max() - row.soil_mm == pytest.approx(crop.height)
        assert plants.vertices[:, 2].min() - row.soil_mm == pytest.approx(0.0)


def test_soil_follows_its_profile(rig_of: Callable[[str], Assembly]) -> None:
    rig = rig_of("raised-bed-furrow")
    (panel,) = describe(rig, None, PictureOptions(View.TOP)).panels
    (top,) = [s for s in panel.surfaces if s.name == "soil/top"]
    heights = [rig.soil.height(float(y)) for y in top.mesh.vertices[:, 1]]
    assert top.mesh.vertices[:, 2] == pytest.approx(heights)
    assert top.shade is not None
    assert top.shade.min() < 0.8 < top.shade.max() <= 1.0


@pytest.mark.parametrize("view", [View.FRONT, View.SIDE])
def test_seen_level_the_soil_hides_no_tool(rig: Assembly, view: View) -> None:
    (panel,) = describe(rig, None, PictureOptions(view)).panels
    toward = panel.camera.toward
    soil = [s.mesh.vertices @ toward for s in panel.surfaces if s.name.startswith("soil/")]
    others = [s.mesh.vertices @ toward for s in panel.surfaces if "blade/" in s.name]
    assert max(depth.max() for depth in soil) < min(depth.min() for depth in others)


def test_a_tyre_before_the_tools_is_seen_through(rig: Assembly) -> None:
    (panel,) = describe(rig, None, PictureOptions()).panels
    shown = {s.name: s.style.opacity for s in panel.surfaces if s.name.endswith("tyre/rubber")}
    assert len(shown) == 4
    assert shown["tractor.rear.left.tyre/rubber"] < 0.5
    assert shown["tractor.rear.right.tyre/rubber"] == 1.0


def test_what_shows_through_comes_last(rig: Assembly) -> None:
    for panel in describe(rig, None, PictureOptions(View.SHEET, ghosts=tuple(Ghost))).panels:
        opaque = [surface.style.opacity >= 1.0 for surface in panel.surfaces]
        assert opaque == sorted(opaque, reverse=True)


@pytest.mark.parametrize("view", SINGLE)
def test_marks_tell_fail_from_advise_by_shape(
    rig: Assembly, findings: Findings, view: View
) -> None:
    (panel,) = describe(rig, findings, PictureOptions(view)).panels
    by_finding = {mark.finding: mark for mark in panel.marks}
    assert set(by_finding) == {0, 1, 2}
    assert by_finding[0].shape is Shape.RING
    assert by_finding[1].shape is by_finding[2].shape is Shape.DIAMOND
    assert [mark.shape for mark in panel.marks][:2] == [Shape.DIAMOND] * 2
    assert by_finding[0].text == "1 in"
    assert by_finding[1].text == "1/2 in"
    assert by_finding[2].text == "some-check"
    for index, mark in by_finding.items():
        at = project(panel.camera, panel.area, np.array(findings.findings[index].at))
        assert mark.ends[0] == pytest.approx(tuple(at[0]))
        assert mark.ends[-1] == pytest.approx(tuple(at[-1]), abs=1.5)


@pytest.mark.parametrize("shape", list(Shape))
def test_a_mark_has_its_shape_at_both_ends_and_a_line_between(shape: Shape) -> None:
    drawn = mark_drawing(Mark(shape, ((100.0, 100.0), (200.0, 100.0)), "", 0), 10.0)
    fills = [item for item in drawn if isinstance(item, Fill) and item.colour == COLOURS[shape]]
    spans = [(min(x for x, _ in fill.points), max(x for x, _ in fill.points)) for fill in fills]
    assert (100.0, 200.0) in spans
    at_ends = [fill for fill in fills if len(fill.points) == 4 and fill is not fills[0]]
    assert len(at_ends) == (2 if shape is Shape.DIAMOND else 56)
    middle = [
        fill
        for fill in at_ends
        if min(x for x, _ in fill.points) <= 100.0 <= max(x for x, _ in fill.points)
        and min(y for _, y in fill.points) <= 100.0 <= max(y for _, y in fill.points)
    ]
    assert len(middle) == (1 if shape is Shape.DIAMOND else 0)  # a ring is open


def test_equal_findings_at_one_place_are_marked_once(rig: Assembly, findings: Findings) -> None:
    twice = replace(findings, findings=(*findings.findings, *findings.findings))
    (panel,) = describe(rig, twice, PictureOptions()).panels
    assert len(panel.marks) == 3


def test_title_verdict_and_counts_are_written(rig: Assembly, findings: Findings) -> None:
    said = _words(describe(rig, findings, PictureOptions()))
    assert rig.scene.spec.name in said
    assert Verdict.FAIL.value in said
    assert tally(findings) in said
    assert tally(findings) == "3 fail · 1 not checked · 1 advise · 1 pass"
    assert "not checked" in _words(describe(rig, None, PictureOptions()))


def _scale_strokes(picture: Picture, text: str) -> tuple[Fill, Words]:
    index = next(
        i for i, item in enumerate(picture.overlay) if isinstance(item, Words) and item.text == text
    )
    bar, words = picture.overlay[index - 2], picture.overlay[index]
    assert isinstance(bar, Fill)
    assert isinstance(words, Words)
    return bar, words


@pytest.mark.parametrize(
    ("view", "text", "length_mm"),
    [
        (View.THREE_QUARTER, "36 in across", 914.4),
        (View.TOP, "24 in", 609.6),
        (View.FRONT, "12 in", 304.8),
        (View.SIDE, "24 in", 609.6),
    ],
)
def test_the_scale_bar_is_as_long_as_it_says(
    rig: Assembly, view: View, text: str, length_mm: float
) -> None:
    picture = describe(rig, None, PictureOptions(view))
    (panel,) = picture.panels
    bar, words = _scale_strokes(picture, text)
    start = np.array(bar.points[0]) + np.array(bar.points[3])
    end = np.array(bar.points[1]) + np.array(bar.points[2])
    steps = [pixel_step(panel.camera, panel.area, axis) for axis in np.eye(3)[:2]]
    step = max(steps, key=lambda found: abs(found[0]))
    assert float(np.linalg.norm(end - start)) / 2 == pytest.approx(
        length_mm * float(np.linalg.norm(step))
    )
    if view is not View.THREE_QUARTER:
        assert float(np.linalg.norm(step)) == pytest.approx(pixels_per_mm(panel.camera, panel.area))
    assert words.at[0] > max(x for x, _ in bar.points)


@pytest.mark.parametrize("unit", list(Unit))
@pytest.mark.parametrize("most", [1.0, 130.0, 333.0, 912.0, 2600.0])
def test_scale_bars_have_round_lengths(unit: Unit, most: float) -> None:
    length = scale_length(unit, most)
    rounded = to_unit(length, Unit.IN if unit in (Unit.IN, Unit.FT) else Unit.CM)
    assert rounded == pytest.approx(round(rounded))
    assert length <= most or length in (50.0, 50.8)


def test_a_sheet_shows_the_four_views_side_by_side(rig: Assembly, findings: Findings) -> None:
    picture = describe(rig, findings, PictureOptions(View.SHEET))
    titles = [panel.title for panel in picture.panels]
    assert len(set(titles)) == 4
    assert set(titles) <= set(_words(picture))
    for one, other in combinations(picture.panels, 2):
        assert not one.area.overlaps(other.area)


@pytest.mark.parametrize(("width", "height"), [(320, 320), (320, 2000), (3000, 320), (4000, 3000)])
@pytest.mark.parametrize("view", [View.THREE_QUARTER, View.SHEET])
def test_any_allowed_size_can_be_described(
    rig: Assembly, view: View, width: int, height: int
) -> None:
    picture = describe(rig, None, PictureOptions(view, width, height))
    assert (picture.width, picture.height) == (width, height)

    def inside(panel: Panel) -> bool:
        return 0 <= panel.area.left < panel.area.right <= width and panel.area.high <= height

    assert all(inside(panel) for panel in picture.panels)


def test_describing_needs_no_drawing_library() -> None:
    code = (
        "import sys, rigmodel.view.render; "
        "sys.exit(any(n.split('.')[0] in ('vtk', 'vtkmodules', 'pyvista') for n in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
