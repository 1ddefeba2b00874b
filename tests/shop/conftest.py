"""Rigs that the shop's tests share."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.shop.listing import ShopList, shop_list
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parent.parent.parent / "scenes"
NAMES = sorted(path.stem for path in SCENES.glob("*.yaml"))


@cache
def rig(name: str) -> Assembly:
    """A demo scene put together; read-only, so that all tests may share it."""
    return assemble(load_scene(SCENES / f"{name}.yaml"))


@cache
def listed(name: str) -> ShopList:
    """The shop's list of a demo scene."""
    return shop_list(rig(name))


@pytest.fixture(params=NAMES)
def any_list(request: pytest.FixtureRequest) -> ShopList:
    """The shop's list of each of the demo scenes in turn."""
    return listed(request.param)


@pytest.fixture(params=NAMES)
def any_rig(request: pytest.FixtureRequest) -> Assembly:
    """Each of the demo scenes in turn."""
    return rig(request.param)


@pytest.fixture
def belly() -> Assembly:
    """The three-row demo scene."""
    return rig("three-rows-belly")


@pytest.fixture
def built(written: Callable[[str], Path], demo: str) -> Callable[[str, str], Assembly]:
    """The three-row demo scene with one text replaced by another."""

    def build(old: str, new: str) -> Assembly:
        assert old in demo
        return assemble(load_scene(written(demo.replace(old, new))))

    return build
