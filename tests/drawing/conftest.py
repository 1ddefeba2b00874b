"""Assemblies that the drawing's tests use; each is made once."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from rigmodel import assemble, load_scene
from rigmodel.assembly.rig import Assembly

SCENES = Path(__file__).parents[2] / "scenes"


Assembled = Callable[[str], Assembly]


@pytest.fixture(scope="session")
def assembled() -> Assembled:
    """Gives the assembly of a demo scene."""
    return cache(lambda name: assemble(load_scene(SCENES / f"{name}.yaml")))


@pytest.fixture(scope="session")
def inches(assembled: Assembled) -> Assembly:
    return assembled("three-rows-belly")


@pytest.fixture(scope="session")
def millimetres(assembled: Assembled) -> Assembly:
    return assembled("two-wide-rows-paths-rear")


@pytest.fixture(scope="session")
def wild_title() -> str:
    """A title that tries every writer."""
    return "½″ ± ≥ ø Größe Ряды <b>&amp; %%c ^J 中"


@pytest.fixture(scope="session")
def perforated(tmp_path_factory: pytest.TempPathFactory, wild_title: str) -> Assembly:
    """A bar with holes and stretches to keep free, under a wild title."""
    text = (SCENES / "three-rows-belly.yaml").read_text()
    text = text.replace("name: Three rows under the belly", f"name: '{wild_title}'")
    free = "[{low: -2, high: 2, why: 'hanger & <weld>'}, {low: 30, high: 36, face: rear}]"
    text = text.replace("tube: tube-2x1-4,", f"tube: tube-2x1-4-perforated, no_clamp: {free},")
    path = tmp_path_factory.mktemp("scene") / "scene.yaml"
    path.write_text(text)
    return assemble(load_scene(path))
