"""Blocks, bar height and level tolerance, against closed forms."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.heights import lowest_points
from rigmodel.clearance.runner import run
from rigmodel.sheet.facts import gather
from rigmodel.sheet.level import level_tolerance, stand
from rigmodel.sheet.steps import level_steps, pair_gaps

INCH = 25.4
Rig = Callable[[str], Assembly]


def test_on_flat_soil_the_tyres_stand_on_the_deepest_tools_depth(rig: Rig) -> None:
    # Blades 1 in deep, wheels 1/2 in, bar's middle 20 in over the soil, 2 in tube.
    found = stand(rig("three-rows-belly"))
    assert found.tyres.height_mm == pytest.approx(1.0 * INCH, abs=0.03)
    assert [b.height_mm for b in found.tools] == pytest.approx([0.0, 0.5 * INCH], abs=0.03)
    assert found.under_bar_mm == pytest.approx((20.0 + 1.0 - 1.0) * INCH)


def test_in_a_furrow_the_tyres_stand_on_the_floor(rig: Rig) -> None:
    # The tyres run 6 in under the bed's shoulders; blades 1 in, wheels 3/8 in into the crowned bed.
    assembly = rig("raised-bed-furrow")
    found = stand(assembly)
    assert found.tyres.height_mm == 0.0
    for block in found.tools:
        for part in block.tools:
            tool = next(t for t in assembly.tools if t.part == part)
            wanted = 6.0 * INCH + tool.soil_mm - tool.depth_mm
            assert block.height_mm == pytest.approx(wanted, abs=0.03)
    assert found.under_bar_mm == pytest.approx((20.0 + 6.0 - 1.0) * INCH)


@pytest.mark.parametrize("name", ["three-rows-belly", "raised-bed-furrow", "irregular-bed"])
def test_blocks_touch_the_tools_where_they_hang_at_work(name: str, rig: Rig) -> None:
    assembly = rig(name)
    found = stand(assembly)
    floor = assembly.scene.floor_mm - found.tyres.height_mm
    lows = lowest_points(assembly)
    for block in found.tools:
        for part in block.tools:
            assert lows[part].z_mm - floor == pytest.approx(block.height_mm, abs=0.2)


def test_level_tolerance_is_the_one_that_bar_level_tells(rig: Rig) -> None:
    assembly = rig("three-rows-belly")
    found = level_tolerance(assembly)
    assert found is not None
    # 1/4 in of depth at a lever of y mm is asin(0.25 in / y).
    lows = lowest_points(assembly, assembly.level_pose)
    rigid = [lows[t.part].point for t in assembly.tools if not t.arm]
    lever = max(abs(y) for _, y, _ in rigid)
    assert found.roll_deg == pytest.approx(math.degrees(math.asin(0.25 * INCH / lever)))
    assert found.ends_mm == pytest.approx(72.0 * INCH * 0.25 * INCH / lever)
    said = " ".join(f.message for f in run(assembly, only=("bar-level",)))
    assert f"roll {found.roll_deg:.2f}°" in said
    assert f"pitch {found.pitch_deg:.2f}°" in said


def test_a_tilted_bar_is_mentioned(rig: Rig) -> None:
    assembly = rig("bar-out-of-level")
    assert assembly.scene.spec.toolbar.roll
    told = " ".join(s.text for s in level_steps(gather(assembly)))
    assert f"rolled {assembly.scene.spec.toolbar.roll:g}°" in told


def test_pair_gaps_are_those_asked(rig: Rig) -> None:
    gaps = dict(pair_gaps(gather(rig("three-rows-belly"))))
    assert list(gaps) == ["row1", "row2", "row3"]
    assert list(gaps.values()) == pytest.approx([1.5 * INCH] * 3, abs=0.01)


def test_equal_tools_on_unlike_blocks_are_told_apart(rig: Rig) -> None:
    tools = next(
        s.text for s in level_steps(gather(rig("raised-bed-furrow"))) if s.title == "Tools"
    )
    assert "marks" in tools
    plain = next(s.text for s in level_steps(gather(rig("three-rows-belly"))) if s.title == "Tools")
    assert "marks" not in plain
