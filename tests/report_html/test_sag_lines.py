"""The bent bar in the 3D view: its lines are where the solved bar has them, as many times over."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.loads.bar import solve_bar
from rigmodel.report.html.model_data import groups, model_data
from rigmodel.report.html.sag_lines import sag_lines
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(scope="module", params=["thin-bar-sags", "struts-hold-a-thin-bar"])
def rig(request: pytest.FixtureRequest) -> Assembly:
    return assemble(load_scene(SCENES / f"{request.param}.yaml"))


def test_the_bars_edges_stand_as_far_off_as_told(rig: Assembly) -> None:
    found = sag_lines(rig)
    assert found is not None
    half, side = rig.scene.spec.toolbar.length / 2.0, rig.scene.tube.size / 2.0
    ends = np.array([-half, half])
    bent = solve_bar(rig).bent
    for x, z in ((-side, -side), (side, side)):
        arm = np.array((x, 0.0, z))
        straight = np.column_stack((np.full(2, x), ends, np.full(2, z)))
        wanted = straight + found.larger * (bent.moved(ends) + np.cross(bent.turns(ends), arm))
        points = found.strokes.reshape(-1, 3)
        for end in wanted:
            assert np.linalg.norm(points - end, axis=1).min() < 1e-6


def test_a_blade_is_drawn_as_deep_as_its_rise_as_many_times_over(rig: Assembly) -> None:
    found, rises = sag_lines(rig), solve_bar(rig).dips_mm
    assert found is not None
    points = found.strokes.reshape(-1, 3)
    height = rig.scene.spec.toolbar.height
    for tool in rig.tools:
        if tool.part in rises:
            depth = tool.soil_mm - tool.depth_mm / 2.0 - height
            wanted = depth + found.larger * rises[tool.part]
            assert np.abs(points[:, 2] - wanted).min() < 1e-6


def test_the_view_has_a_box_for_it_that_says_how_many_times_over(rig: Assembly) -> None:
    found = sag_lines(rig)
    assert found is not None
    told = dict(groups(rig))["sag"]
    assert f"{found.larger} ×" in told
    assert "left end" in told
    data = model_data(rig, Findings("rig", (), (), ()))
    assert [line["group"] for line in data["lines"]].count("sag") == 1


def test_a_bar_whose_hangers_are_not_given_is_not_drawn_bent() -> None:
    text = (SCENES / "thin-bar-sags.yaml").read_text()
    rig = assemble(scene_from_text(text.replace("  hangers: [16 3/8, -16 3/8]\n", "")))
    assert sag_lines(rig) is None
    assert "sag" not in dict(groups(rig))
