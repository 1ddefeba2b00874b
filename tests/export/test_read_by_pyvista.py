"""An independent reader (pyvista) finds the assembly's own bounds in the STL file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyvista

from rigmodel.assembly.build import assemble
from rigmodel.export import ExportFormat, export_model
from rigmodel.spec.load import load_scene


def test_stl_bounds_by_another_library(scenes: Path, tmp_path: Path) -> None:
    assembly = assemble(load_scene(scenes / "rear-hitch-inches.yaml"))
    target = tmp_path / "rig.stl"
    export_model(assembly, None, ExportFormat("stl"), target)
    mesh = pyvista.read(target)
    boxes = np.array([assembly.at_work(part).bounds() for part in assembly.mechanism.parts])
    assert np.allclose(mesh.bounds[0::2], boxes[:, 0].min(axis=0), atol=0.1)
    assert np.allclose(mesh.bounds[1::2], boxes[:, 1].max(axis=0), atol=0.1)
    assert mesh.n_cells > 1000
