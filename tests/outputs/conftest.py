"""Writes every output of a scene."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check
from rigmodel.clearance.finding import Findings
from rigmodel.outputs.everything import Written, write_everything
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"


@dataclass(frozen=True)
class Run:
    """One writing of everything, and what was told on the way."""

    assembly: Assembly
    findings: Findings
    folder: Path
    written: Written
    told: tuple[str, ...]


Everything = Callable[[Path, Path], Run]


@pytest.fixture(scope="session")
def everything() -> Everything:
    """Writes every output of a scene file into a folder, named ``rig``."""

    def write(scene: Path, folder: Path) -> Run:
        assembly = assemble(load_scene(scene))
        told: list[str] = []
        findings, written = write_everything(
            lambda: (assembly, check(assembly)), folder, "rig", told=told.append
        )
        return Run(assembly, findings, folder, written, tuple(told))

    return write


@pytest.fixture(scope="session")
def run(tmp_path_factory: pytest.TempPathFactory, everything: Everything) -> Run:
    """Everything about a rig that fails, so that findings are marked."""
    folder = tmp_path_factory.mktemp("outputs") / "new"
    return everything(SCENES / "four-narrow-rows-clash.yaml", folder)
