"""Weight and balance on the setup sheet: the rig's own, told from the bar, with the caution."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from rigmodel import check
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings, Verdict
from rigmodel.loads import words
from rigmodel.loads.balance import lifted_pose, rig_mass
from rigmodel.sheet.content import sheet_content
from rigmodel.sheet.facts import gather
from rigmodel.sheet.page import sheet_html
from rigmodel.sheet.weight import WEIGHT_CAUTION, weight_steps
from rigmodel.units import Unit, parse_length

DEMOS = sorted(path.stem for path in (Path(__file__).parents[2] / "scenes").glob("*.yaml"))
Rig = Callable[[str], Assembly]


@pytest.mark.parametrize("name", DEMOS)
def test_the_balance_point_read_back_is_the_rig_s(rig: Rig, name: str) -> None:
    """Someone who measures from the bar finds the centre of gravity within a tape's grain."""
    assembly = rig(name)
    bar = assembly.mechanism.part("bar").frame
    weight, work, lifted = weight_steps(gather(assembly))
    rig_at_work = rig_mass(assembly)
    assert words.mass(rig_at_work.mass_kg, assembly.scene.unit) in weight.text
    high = lifted_pose(assembly, 1.0)
    for step, whole, world in (
        (work, rig_at_work, assembly.work_frames[bar]),
        (lifted, rig_mass(assembly, high), assembly.mechanism.frame_pose(bar, high)),
    ):
        along, across, up = step.text.split(", ")
        told = (
            _read(along) * (1.0 if " ahead of " in along else -1.0),
            0.0 if across == "at its centre" else _read(across) * (1 if "LEFT" in across else -1),
            _read(up) * (1.0 if " over " in up else -1.0),
        )
        assert told == pytest.approx(np.asarray(whole.centroid_mm - world[:3, 3]), abs=0.9)


def _read(text: str) -> float:
    found = re.match(r"[\d /]*\d (?:in|mm)", text)
    assert found is not None
    return parse_length(found[0], Unit.MM)


def test_every_sheet_carries_it_with_the_caution(
    rig: Rig, verdicts: Callable[..., Findings]
) -> None:
    for verdict in (Verdict.PASS, Verdict.FAIL):
        sheet = sheet_content(rig("rear-hitch-inches"), verdicts(verdict))
        assert WEIGHT_CAUTION in sheet.cautions
        page = sheet_html(sheet, b"", "none").replace("\u00a0", " ")
        assert "Weight and balance" in page
        assert all(step.text.replace("'", "&#x27;") in page for step in sheet.weight)


def test_what_is_not_given_is_told_once_and_in_short(rig: Rig) -> None:
    assembly = rig("three-rows-belly")
    told = sheet_content(assembly, check(assembly)).not_checked
    assert told[0].startswith("not checked, the scene says too little: ")
    for what in ("load on the lift", "axle loads", "draft", "slip of the clamps"):
        assert sum(what in line for line in told[:1]) == 1
    assert len(told) == len(set(told))
    assert not any(line.endswith(" is not given") for line in told)
