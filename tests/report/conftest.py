"""Findings of small rigs, one of each verdict."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.clearance.check import check
from rigmodel.clearance.finding import Findings
from rigmodel.spec.load import scene_from_text

SCENE = """
name: {name}
units: in
rows: {{count: 1, keep_out: 2 1/2}}
tractor: {{use: small-belly, lift: {{highest: {highest}}}}}
toolbar: {{tube: tube-2x1-4, length: {length}, height: 20}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2}}
"""
GOOD = {"length": "72", "gap": "1 1/2", "highest": "30"}
BAD = {"length": "8", "gap": "3", "highest": "22"}


def scene_text(values: dict[str, str], name: str = "a rig") -> str:
    return SCENE.format(name=name, **values)


def _checked(values: dict[str, str], name: str = "a rig") -> Findings:
    return check(assemble(scene_from_text(scene_text(values, name))))


@pytest.fixture(scope="session")
def good() -> Findings:
    """Findings of a rig without a failure."""
    return _checked(GOOD)


@pytest.fixture(scope="session")
def bad() -> Findings:
    """Findings of a rig with failures, advice and passes."""
    return _checked(BAD, name="a rig with a title that is long " * 3)


@pytest.fixture
def good_file(tmp_path: Path) -> Path:
    """A scene file that passes or is advised on."""
    path = tmp_path / "good.yaml"
    path.write_text(scene_text(GOOD))
    return path


@pytest.fixture
def bad_file(tmp_path: Path) -> Path:
    """A scene file that fails."""
    path = tmp_path / "bad.yaml"
    path.write_text(scene_text(BAD))
    return path
