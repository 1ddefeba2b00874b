"""Rigs and findings that the pictures are tested on."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Point, Verdict
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"


@cache
def _assembled(name: str) -> Assembly:
    return assemble(load_scene(SCENES / f"{name}.yaml"))


@pytest.fixture(scope="session")
def rig_of() -> Callable[[str], Assembly]:
    """The assembled rig of a scene by the scene's name."""
    return _assembled


@pytest.fixture(scope="session")
def rig() -> Assembly:
    """Three rows under the belly of a tractor."""
    return _assembled("three-rows-belly")


def _finding(verdict: Verdict, value: float | None, at: tuple[Point, ...]) -> Finding:
    return Finding("some-check", verdict, value, 10.0, "mm", "a sentence", at=at)


@pytest.fixture(scope="session")
def findings() -> Findings:
    """Two fails, an advise, and findings that must leave no mark."""
    return Findings(
        "three rows",
        (
            _finding(Verdict.ADVISE, 25.4, ((900.0, 700.0, 300.0), (900.0, 760.0, 300.0))),
            _finding(Verdict.FAIL, 12.7, ((1400.0, -200.0, 500.0), (1400.0, -200.0, 620.0))),
            _finding(Verdict.FAIL, None, ((1200.0, 100.0, 0.0),)),
            _finding(Verdict.FAIL, 3.0, ()),
            _finding(Verdict.PASS, 99.0, ((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))),
            _finding(Verdict.NOT_CHECKED, None, ((0.0, 0.0, 0.0),)),
        ),
        (),
        (),
    )
