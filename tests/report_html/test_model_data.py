"""What the 3D view is told of a rig."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.clearance.finding import Findings
from rigmodel.report.html.model_data import model_data
from rigmodel.spec.load import load_scene

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))


@pytest.mark.parametrize("path", SCENES, ids=lambda p: p.stem)
@pytest.mark.parametrize("turned", ["as it is", "rolled and pitched"])
def test_the_box_told_is_that_of_the_parts_where_they_stand(path: Path, turned: str) -> None:
    scene = load_scene(path)
    if turned != "as it is":
        bar = scene.spec.toolbar.model_copy(update={"roll": 2.0, "pitch": -3.0})
        spec = scene.spec.model_copy(update={"toolbar": bar})
        scene = type(scene)(**{**vars(scene), "spec": spec})
    rig = assemble(scene)
    told = model_data(rig, Findings(scene.spec.name, (), (), ()))
    points = np.array([rig.at_work(part).bounds() for part in rig.mechanism.parts])
    wanted = [points[:, 0].min(axis=0), points[:, 1].max(axis=0)]
    assert np.allclose(told["bounds"], wanted, rtol=0.0, atol=1e-6)
