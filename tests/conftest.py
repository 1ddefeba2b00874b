"""Paths and scenes that many tests use."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parent.parent

settings.register_profile("house", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("house")


@pytest.fixture
def scenes() -> Path:
    """The folder of demo scenes."""
    return ROOT / "scenes"


@pytest.fixture
def demo(scenes: Path) -> str:
    """Text of the three-row demo scene."""
    return (scenes / "three-rows-belly.yaml").read_text()


@pytest.fixture
def written(tmp_path: Path) -> Callable[[str], Path]:
    """Writes a text to a scene file and gives its path."""

    def write(text: str) -> Path:
        path = tmp_path / "scene.yaml"
        path.write_text(text)
        return path

    return write
