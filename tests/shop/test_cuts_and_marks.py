"""The cut list and the marks against the rig they are made from."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import FlatShank
from rigmodel.shop.cuts import STOCK_INCH, STOCK_METRIC, blank_length, cut_list
from rigmodel.shop.items import items
from rigmodel.shop.marks import Mark, marks
from rigmodel.units import Unit

CUT_ROLES = {Role.BAR, Role.TUBE, Role.STRUT, Role.SHANK}


def test_every_tube_and_shank_is_cut_once(any_rig: Assembly) -> None:
    wanted = sorted(item.name for item in items(any_rig) if item.role in CUT_ROLES)
    cuts = cut_list(any_rig)
    found = [c.label for s in cuts.sections for stick in s.nesting.sticks for c in stick.cuts]
    assert sorted([*found, *cuts.too_long]) == wanted
    longest = max(cuts.stock_mm)
    over = {item.name for item in items(any_rig) if blank_length(item) > longest}
    assert set(cuts.too_long) == over


def test_usual_stock_follows_the_scenes_unit(any_rig: Assembly) -> None:
    inch = any_rig.scene.unit in (Unit.IN, Unit.FT)
    wanted = STOCK_INCH if inch else STOCK_METRIC
    assert sorted(cut_list(any_rig).stock_mm) == sorted(wanted)


def test_stock_too_short_for_the_bar_is_said(belly: Assembly) -> None:
    cuts = cut_list(belly, (1000.0,))
    assert cuts.too_long == ("bar",)


def test_perforated_tube_is_not_cut_from_plain_stock(belly: Assembly) -> None:
    for section in cut_list(belly).sections:
        labels = {label for piece in section.pieces for label in piece.labels}
        assert not ("bar" in labels and len(labels) > 1)


def test_a_cranked_shank_is_cut_as_long_as_its_centre_line(
    built: Callable[[str, str], Assembly],
) -> None:
    """26 in tall with a crank of 4 in over 4 in: 22 in straight and a slant of 4·sqrt 2 in."""
    rig = built(
        "at: outside, depth: 1", "at: outside, depth: 1, swap: {blade_shank: shank-crank-4}"
    )
    cranked = [
        item for item in items(rig) if isinstance(item.entry, FlatShank) and item.entry.crank
    ]
    assert len(cranked) == 2
    for item in cranked:
        assert blank_length(item) == pytest.approx((22.0 + 4.0 * math.sqrt(2.0)) * 25.4)
    assert any("cranked" in note for s in cut_list(rig).sections for note in s.notes)


def by_station(rig: Assembly) -> dict[str, Mark]:
    return {mark.station: mark for mark in marks(rig)}


def test_marks_run_from_left_to_right(any_rig: Assembly) -> None:
    centres = [mark.centre_mm for mark in marks(any_rig)]
    assert centres == sorted(centres, reverse=True)
    assert len(centres) == len(any_rig.clamps)


def test_marks_are_where_the_clamps_solids_are(any_rig: Assembly) -> None:
    """Against the solids themselves: the middle of each clamp in the bar's own axes."""
    mechanism = any_rig.mechanism
    level = mechanism.frame_poses(any_rig.level_pose)
    bar = mechanism.part("bar")
    middle = level[bar.frame][1, 3]
    half = any_rig.scene.spec.toolbar.length / 2.0
    for mark, clamp in zip(
        marks(any_rig), sorted(any_rig.clamps, key=lambda c: -c.centre_mm), strict=True
    ):
        part = mechanism.part(clamp.part)
        low, high = part.solid.moved(level[part.frame]).extent((0.0, 1.0, 0.0))
        assert mark.centre_mm == pytest.approx((low + high) / 2.0 - middle, abs=1e-6)
        assert mark.from_left_mm == pytest.approx(half - mark.centre_mm)
        assert mark.left_edge_mm - mark.right_edge_mm == pytest.approx(mark.width_mm)


def test_every_tool_is_on_its_clamp(any_rig: Assembly) -> None:
    told = [tool.name for mark in marks(any_rig) for tool in mark.tools]
    assert sorted(told) == sorted(tool.part for tool in any_rig.tools)


def test_a_shank_shows_what_its_holder_does_not_hide(any_rig: Assembly) -> None:
    """Foot to holder's middle, half the holder, and what shows above it make up the shank."""
    entries = {item.name: item for item in items(any_rig)}
    for mark in marks(any_rig):
        for tool in mark.tools:
            assert tool.shank is not None
            item = entries[tool.shank.name]
            half = getattr(item.on, "height", 0.0) / 2.0
            whole = tool.shank.slide_mm + half + tool.shank.above_mm
            assert whole == pytest.approx(getattr(item.entry, "length", 0.0))


def test_arms_are_at_their_working_angle(any_rig: Assembly) -> None:
    joints = any_rig.mechanism.joints
    arms = {tool.part: tool.arm for tool in any_rig.tools}
    for mark in marks(any_rig):
        for tool in mark.tools:
            wanted = joints[arms[tool.name]].value if arms[tool.name] else None
            assert tool.arm_deg == wanted


def test_marks_of_a_rig_off_centre_count_from_the_bars_centre(
    built: Callable[[str, str], Assembly], belly: Assembly
) -> None:
    """The bar 2 in to the left: every mark moves 2 in to the right on it."""
    moved = by_station(built("height: 20}", "height: 20, offset: 2}"))
    for name, mark in by_station(belly).items():
        assert moved[name].centre_mm == pytest.approx(mark.centre_mm - 50.8, abs=1e-6)
        for old, new in zip(mark.tools, moved[name].tools, strict=True):
            assert new.centre_mm == pytest.approx(old.centre_mm - 50.8, abs=1e-6)


def test_holes_of_a_perforated_bar_are_counted_from_its_centre(
    built: Callable[[str, str], Assembly],
) -> None:
    rig = built("tube: tube-2x1-4", "tube: tube-2x1-4-perforated")
    for mark in marks(rig):
        assert mark.hole is not None
        assert mark.centre_mm == pytest.approx(mark.hole * 25.4)


def test_holes_of_cross_tubes_are_under_the_bar(any_rig: Assembly) -> None:
    """Counted along the tube's own solid from the end that carries the tool."""
    known = {item.name: item for item in items(any_rig)}
    for mark in marks(any_rig):
        station = any_rig.station[mark.station]
        tubes = [n for n in station.parts if any_rig.mechanism.part(n).role is Role.TUBE]
        pitch = getattr(known[tubes[0]].entry, "hole_pitch", None) if tubes else None
        if pitch is None:
            assert mark.rank_hole is None
            continue
        low, high = any_rig.mechanism.part(tubes[0]).solid.extent((1.0, 0.0, 0.0))
        start = getattr(known[tubes[0]].entry, "hole_start", 0.0)
        reach = high if mark.rank_mm > 0.0 else -low
        assert mark.rank_hole is not None
        assert start + (mark.rank_hole - 1) * pitch == pytest.approx(reach, abs=1e-6)
