"""The sheets of whole rigs: numbers are the assembly's, texts stand apart, all is on the paper."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.drawing.draw import drawings
from rigmodel.drawing.furniture import drawing_area, frame_box
from rigmodel.drawing.paint import Letters, mark_box, paint_sheet, text_boxes
from rigmodel.drawing.placing import box_of
from rigmodel.drawing.primitives import Dimension, Hatch, Ordinate
from rigmodel.drawing.sheet import Paper, Sheet, around, scales, usual_paper
from rigmodel.report.cautions import CAUTIONS
from rigmodel.units import Unit, format_setting

SCENES = Path(__file__).parents[2] / "scenes"
Assembled = Callable[[str], Assembly]
ALL = sorted(path.stem for path in SCENES.glob("*.yaml"))


def _dimensions(sheets: tuple[Sheet, ...], name: str) -> list[Dimension]:
    return [
        item
        for sheet in sheets
        if sheet.name.startswith(name)
        for view in sheet.views
        for item in view.items
        if isinstance(item, Dimension)
    ]


def _ordinates(sheets: tuple[Sheet, ...]) -> Iterator[Ordinate]:
    for sheet in sheets:
        for view in sheet.views:
            yield from (item for item in view.items if isinstance(item, Ordinate))


def _measured(found: list[Dimension], text: str) -> list[float]:
    return [d.measured_mm for d in found if d.text == text]


def _texts(sheet: Sheet) -> str:
    return " ".join(text for text, _ in text_boxes(sheet))


@pytest.mark.parametrize("scene", ALL)
def test_texts_of_every_demo_scene_stand_apart_and_on_the_paper(
    scene: str, assembled: Assembled
) -> None:
    for sheet in drawings(assembled(scene)):
        _check_sheet(sheet)
        area, whole = drawing_area(sheet.paper), around(box_of(view) for view in sheet.views)
        if sheet.views:  # nothing is drawn far smaller than it could be
            assert max(whole.width / area.width, whole.height / area.height) > 0.4, sheet.name


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("name", ["inches", "millimetres", "perforated"])
def test_every_paper_takes_every_scene(
    paper: Paper, name: str, request: pytest.FixtureRequest
) -> None:
    for sheet in drawings(request.getfixturevalue(name), paper, "2025-01-31"):
        _check_sheet(sheet)


def _check_sheet(sheet: Sheet) -> None:
    boxes = text_boxes(sheet)
    for (one, a), (other, b) in combinations(boxes, 2):
        assert not a.overlaps(b), f"{sheet.name}: '{one}' and '{other}'"
    frame = frame_box(sheet.paper)
    for mark in paint_sheet(sheet):
        assert mark_box(mark).inside(frame), f"{sheet.name}: {mark}"
    area = drawing_area(sheet.paper)
    for view in sheet.views:
        assert box_of(view).inside(area), f"{sheet.name}: {view.name}"
        assert view.scale in scales(sheet.unit)
    for view, next_view in combinations(sheet.views, 2):
        assert not box_of(view).overlaps(box_of(next_view)), f"{view.name}, {next_view.name}"


@pytest.mark.parametrize("name", ["inches", "millimetres"])
def test_the_tractor_sheet_has_the_assemblys_numbers(
    name: str, request: pytest.FixtureRequest
) -> None:
    assembly: Assembly = request.getfixturevalue(name)
    scene = assembly.scene
    found = _dimensions(drawings(assembly), "General arrangement")
    rear, front = scene.axles
    assert _measured(found, "rear track <>") == [rear.track_mm]
    assert _measured(found, "front track <>") == [front.track_mm]
    assert _measured(found, "wheelbase <>") == [scene.tractor.wheelbase]
    ahead = abs(scene.tractor.toolbar_ahead)
    assert _measured(found, "bar to rear axle <>") == pytest.approx([ahead])
    heights = [d.measured_mm for d in found if d.text == "bar <>" and d.upright]
    assert heights == [scene.spec.toolbar.height]
    lengths = [d.measured_mm for d in found if d.text == "bar <>" and not d.upright]
    assert lengths == pytest.approx([scene.spec.toolbar.length])
    assert _measured(found, "under frame <>") == [scene.tractor.frame.clearance]
    tyres = [assembly.at_work(p).bounds() for p in assembly.mechanism.parts if p.role == "tyre"]
    width = max(b[1, 1] for b in tyres) - min(b[0, 1] for b in tyres)
    assert _measured(found, "over the tyres <>") == pytest.approx([width])


def test_the_rig_sheet_has_rows_ranks_depths_and_gaps(inches: Assembly) -> None:
    found = _dimensions(drawings(inches), "The rig")
    rows = [row.y_mm for row in inches.rows]
    chain = [d.measured_mm for d in found if d.text == "<>" and not d.upright]
    for left, right in pairwise(rows):
        assert left - right in chain
    assert _measured(found, "rows <>") == [rows[0] - rows[-1]]
    ranks = {abs(s.rank_mm) for s in inches.stations if s.rank_mm}
    assert set(np.round(_measured(found, "rank <>"), 6)) == set(np.round(list(ranks), 6))
    depths = {round(t.depth_mm, 6) for t in inches.tools}
    assert set(np.round(_measured(found, "depth <>"), 6)) == depths
    gap = inches.scene.spec.stations[0].pair_gap
    assert _measured(found, "3× gap <>") == pytest.approx([gap])
    blades = {t.high_mm - t.low_mm for t in inches.tools if t.part.endswith("blade")}
    assert _measured(found, "4× <>") == pytest.approx(list(blades)[:1])


@pytest.mark.parametrize("name", ["inches", "millimetres", "perforated"])
def test_the_bar_sheet_marks_every_clamp_from_the_centre(
    name: str, request: pytest.FixtureRequest
) -> None:
    assembly: Assembly = request.getfixturevalue(name)
    unit = assembly.scene.unit
    sheets = drawings(assembly)
    found = list(_ordinates(sheets))
    zero = -assembly.scene.spec.toolbar.offset
    for clamp in assembly.clamps:
        (mark,) = [o for o in found if o.feature[0] == pytest.approx(zero - clamp.centre_mm)]
        assert mark.measured_mm == pytest.approx(abs(clamp.centre_mm))
        assert mark.number == format_setting(abs(clamp.centre_mm), unit)
    bar = _dimensions(sheets, "The bar")
    assert _measured(bar, "length <>") == pytest.approx([assembly.scene.spec.toolbar.length])
    assert _measured(bar, "wall <>") == pytest.approx([assembly.scene.tube.wall])
    words = " ".join(_texts(sheet) for sheet in sheets if sheet.name.startswith("The bar"))
    for station in assembly.stations:
        side = "left" if station.place_mm > 0 else "right"
        assert f"{format_setting(abs(station.place_mm), unit)} {side}" in words


def test_a_perforated_bar_shows_its_holes_and_what_is_kept_free(perforated: Assembly) -> None:
    sheets = drawings(perforated)
    bar = _dimensions(sheets, "The bar")
    pitch = perforated.scene.tube.hole_pitch
    assert _measured(bar, "pitch <>") == pytest.approx([pitch])
    assert pitch == 25.4
    (sheet,) = [s for s in sheets if s.number == 3]
    words = _texts(sheet)
    assert "71 holes" in words  # 72 in long, one at the centre, 35 each way before the ends
    assert "free: hanger & <weld>" in words
    assert "free: no clamp here (rear face)" in words
    hatches = [i for v in sheet.views if v.name.startswith("From above") for i in v.items]
    assert sum(isinstance(item, Hatch) for item in hatches) == 2
    marks = {round(o.measured_mm / 25.4, 6) for o in _ordinates((sheet,))}
    assert {2.0, 30.0, 36.0} <= marks


def test_details_show_each_cut_part_once_with_its_numbers(assembled: Assembled) -> None:
    assembly = assembled("four-narrow-rows-staggered")
    found = _dimensions(drawings(assembly), "Tubes and shanks")
    shank = assembly.scene.spec.parts["shank-crank-5-1-2"]
    assert _measured(found, "crank <>") == pytest.approx([shank.crank])  # type: ignore[union-attr]
    tubes = [p for p in assembly.rig_parts() if p.role == "tube"]
    length = tubes[0].solid.bounds()
    cut = float(length[1, 0] - length[0, 0])
    plain = _measured(found, "<>")
    assert any(d == pytest.approx(cut) for d in plain)
    items = {p.item for p in assembly.rig_parts() if p.role == "shank"}
    parts = assembly.scene.catalogue.parts
    for item in items:
        assert any(d == pytest.approx(parts[item].length) for d in plain)  # type: ignore[union-attr]
    slides = {round(a.value, 1) for a in assembly.adjustments if a.kind == "slide"}
    assert {round(m, 1) for m in _measured(found, "to holder's middle <>")} == slides
    first, pitch = 12.7, 25.4  # of the perforated tube: half a pitch, then one inch each
    holes = math.floor((cut - first) / pitch - 1e-9) + 1
    assert _measured(found, "first hole <>") == pytest.approx([first])
    assert _measured(found, "pitch <>") == pytest.approx([pitch])
    assert _measured(found, f"{holes} holes over <>") == pytest.approx([(holes - 1) * pitch])


def test_every_number_is_printed_as_a_setting(inches: Assembly, millimetres: Assembly) -> None:
    for assembly in (inches, millimetres):
        for sheet in drawings(assembly):
            for view in sheet.views:
                for item in view.items:
                    if isinstance(item, Dimension | Ordinate):
                        assert item.number == format_setting(item.measured_mm, sheet.unit)


def test_title_block_and_cautions_are_on_every_sheet(inches: Assembly) -> None:
    sheets = drawings(inches, Paper.A3, "2025-01-31")
    for k, sheet in enumerate(sheets, start=1):
        words = _texts(sheet)
        for text in (
            "Three rows under the belly",
            f"{k} of {len(sheets)}",
            "2025-01-31",
            "inches",
            "rigmodel 0.1.0",
            *CAUTIONS,
        ):
            assert text in words


def test_no_date_is_made_up(inches: Assembly) -> None:
    labels = [text for text, _ in text_boxes(drawings(inches)[0])]
    assert labels[labels.index("date") + 1] == "made by"


def test_drawing_changes_nothing(inches: Assembly) -> None:
    scene = inches.scene.spec.model_dump()
    solids = [piece.placement.copy() for p in inches.mechanism.parts for piece in p.solid.pieces]
    frames = inches.mechanism.frame_poses().copy()
    drawings(inches, Paper.A4)
    assert inches.scene.spec.model_dump() == scene
    assert np.array_equal(frames, inches.mechanism.frame_poses())
    after = [piece.placement for p in inches.mechanism.parts for piece in p.solid.pieces]
    assert all(np.array_equal(a, b) for a, b in zip(solids, after, strict=True))


def test_a_tilted_bar_is_drawn_level_and_says_so(assembled: Assembled) -> None:
    assembly = assembled("bar-out-of-level")
    sheets = drawings(assembly)
    roll = assembly.scene.spec.toolbar.roll
    assert roll != 0.0
    assert f"rolls {roll:g}°" in _texts(sheets[0])
    lengths = [d for d in _dimensions(sheets, "The rig") if d.text == "bar <>" and not d.upright]
    assert lengths[0].measured_mm == pytest.approx(assembly.scene.spec.toolbar.length)


@pytest.mark.parametrize(
    ("unit", "paper"),
    [(Unit.IN, Paper.TABLOID), (Unit.FT, Paper.TABLOID), (Unit.MM, Paper.A3), (Unit.M, Paper.A3)],
)
def test_the_usual_paper_goes_with_the_unit(unit: Unit, paper: Paper) -> None:
    assert usual_paper(unit) is paper


def test_paper_sizes_are_the_published_ones() -> None:
    """ISO 216 A sizes; Letter 8.5 x 11 in and Tabloid 11 x 17 in (from memory)."""
    assert Paper.A4.size_mm == (297.0, 210.0)
    assert Paper.A3.size_mm == (420.0, 297.0)
    assert Paper.LETTER.size_mm == pytest.approx((11 * 25.4, 8.5 * 25.4))
    assert Paper.TABLOID.size_mm == pytest.approx((17 * 25.4, 11 * 25.4))


def test_letters_keep_their_size(inches: Assembly) -> None:
    """No text is smaller than 1.8 mm, the least height of ISO 3098 used here; from memory."""
    for sheet in drawings(inches, Paper.A4):
        heights = {mark.height for mark in paint_sheet(sheet) if isinstance(mark, Letters)}
        assert heights <= {1.8, 2.5, 3.5}
