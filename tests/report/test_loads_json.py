"""Weights and forces in JSON: the account's numbers, plain, finite, and null where not known."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import account
from rigmodel.loads.constants import GRAVITY
from rigmodel.report.loads_json import loads_object
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"
KEYS = {
    "units", "rig", "parts", "stations", "balance", "lift", "axles", "draft", "bar", "shanks",
    "members", "down_force", "clamps", "unknown", "trace", "caution",
}  # fmt: skip


@pytest.fixture(scope="module")
def loaded() -> Assembly:
    return assemble(load_scene(SCENES / "thin-bar-sags.yaml"))


@pytest.fixture(scope="module")
def told(loaded: Assembly) -> Any:
    return json.loads(json.dumps(loads_object(loaded, account(loaded)), allow_nan=False))


@pytest.mark.parametrize("path", sorted(SCENES.glob("*.yaml")), ids=lambda p: p.stem)
def test_every_scene_has_all_keys_and_only_finite_numbers(path: Path) -> None:
    rig = assemble(load_scene(path))
    told = json.loads(json.dumps(loads_object(rig, account(rig)), allow_nan=False))
    assert set(told) == KEYS
    assert told["rig"]["mass"] == pytest.approx(sum(p["mass"] for p in told["parts"].values()))
    poses = [load["pose"] for load in told["lift"]["loads"]]
    assert len(poses) == len(set(poses))
    heights = [load["bar_height"] for load in told["lift"]["loads"]]
    assert heights == sorted(heights)


def test_it_says_what_the_account_says(loaded: Assembly, told: Any) -> None:
    found = account(loaded)
    assert told["rig"]["mass"] == pytest.approx(found.rig_kg, abs=1e-6)
    assert found.pull is not None
    assert told["draft"]["middle"] == pytest.approx(found.pull.draft_n, abs=1e-6)
    assert set(told["draft"]["tools"]) == {tool.part for tool in loaded.tools}
    assert told["unknown"] == list(found.unknown)
    assert all(set(one) == {"what", "formula", "inputs", "result", "source"}
               for one in told["trace"])  # fmt: skip
    assert told["axles"] is None  # its axle loads are not given
    aside = told["draft"]["side_draft"]
    assert set(aside["tools"]) == {tool.part for tool in found.assembly.tools}
    for part, push in aside["tools"].items():
        assert push == found.side.tools.get(part)
    assert aside["sum"] == found.side.sum_n
    for group in aside["not_known"]:
        assert all(aside["tools"][part] is None for part in group["tools"])


def test_the_curves_can_be_worked_on_by_other_programs(told: Any) -> None:
    """Statics from the JSON alone: the hangers carry the weight, the moment grows by the shear."""
    hangers, along = told["bar"]["hangers"], told["bar"]["along"]
    weight = GRAVITY * told["rig"]["mass"]
    assert sum(h["up"] for h in hangers) == pytest.approx(weight, rel=1e-6)
    lengths = {len(values) for values in along.values()}
    assert len(lengths) == 1
    assert lengths.pop() < 200  # short enough to read
    y, shear, moment = (np.array(along[k]) for k in ("at", "shear_upright", "moment_upright"))
    grown = np.diff(y) * (shear[:-1] + shear[1:]) / 2000.0
    between = np.diff(y) > 0.0  # at one place a tool beside its clamp turns the bar at once
    size = np.abs(moment).max()
    assert np.diff(moment)[between] == pytest.approx(grown[between], abs=1e-6 * size)


def test_check_prints_it() -> None:
    scene = str(SCENES / "three-rows-belly.yaml")
    command = [sys.executable, "-m", "rigmodel.cli", "check", "--json", scene]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert set(json.loads(done.stdout)["loads"]) == KEYS
