"""Assemblies, findings and sheets that the tests of this folder share."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.sheet.content import Sheet, sheet_content
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"


@cache
def assembled(name: str) -> Assembly:
    return assemble(load_scene(SCENES / f"{name}.yaml"))


def found(*verdicts: Verdict, message: str = "A and B touch.") -> Findings:
    """Findings with these verdicts."""
    made = tuple(
        Finding("part-clash", v, 1.0, 2.0, "mm", message, parts=("a", "b")) for v in verdicts
    )
    return Findings("scene", made, (), ())


@pytest.fixture
def rig() -> Callable[[str], Assembly]:
    """The assembly of a demo scene, by its name."""
    return assembled


@pytest.fixture
def sheet() -> Sheet:
    """The sheet of the three-row demo scene with one passed check."""
    return sheet_content(assembled("three-rows-belly"), found(Verdict.PASS))


@pytest.fixture
def changed(demo: str) -> Callable[..., Assembly]:
    """The three-row demo scene with texts replaced, assembled."""

    def change(**texts: str) -> Assembly:
        text = demo
        for old, new in texts.items():
            where = f"{old.replace('__', ' ')}:"
            line = next(line for line in text.splitlines() if line.strip().startswith(where))
            text = text.replace(line, new, 1)
        return assemble(scene_from_text(text, "hostile.yaml"))

    return change


@pytest.fixture
def verdicts() -> Callable[..., Findings]:
    """Makes findings with given verdicts."""
    return found
