"""What the browser is told of a session: the same, whatever was told and kept before."""

from __future__ import annotations

import gc
import importlib
import pkgutil
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import rigmodel
from rigmodel.page.actions import act
from rigmodel.page.precedence import Precedence
from rigmodel.page.session import Session
from rigmodel.page.state import model, told
from rigmodel.page.store import Store
from tests.page.scenes import opened, scene_text

TURNS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("set", {"path": ["toolbar", "height"], "typed": "20 1/8"}),
    ("set", {"path": ["toolbar", "length"], "typed": "71"}),
    ("set", {"path": ["rows", "spacing"], "typed": "15 1/16"}),
    ("set", {"path": ["rows", "keep_out"], "typed": "2"}),
    ("set", {"path": ["stations", 0, "depth"], "typed": "5/8"}),
    ("speak", {"unit": "mm"}),
    ("speak", {"unit": "in"}),
    ("copy", {"index": 1, "count": 0}),
    ("mirror", {"index": 1, "count": 0}),
    ("move", {"index": 1, "count": 2}),
    ("undo", {}),
)


def forget() -> None:
    """Empties every table of answers that the package keeps between two states."""
    for found in pkgutil.walk_packages(rigmodel.__path__, "rigmodel."):
        if found.name.startswith(("rigmodel.page.", "rigmodel.report.", "rigmodel.units")):
            for value in vars(importlib.import_module(found.name)).values():
                clear = getattr(value, "cache_clear", None)
                if clear is not None:
                    clear()


def everything(session: Session) -> tuple[dict[str, Any], dict[str, Any] | None]:
    with session.lock:
        return told(session), model(session)


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    store = Store(tmp_path_factory.mktemp("kept"))
    return opened(store, scene_text("three-rows-belly"), "three.yaml")


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(turns=st.lists(st.sampled_from(TURNS), min_size=2, max_size=5))
def test_what_was_kept_of_earlier_states_changes_nothing(
    session: Session, turns: list[tuple[str, dict[str, Any]]]
) -> None:
    for what, more in turns:
        if what != "undo" or session.record.undo:
            act(session, {"what": what, "version": session.record.version, **more})
        with session.lock:
            after = everything(session)
            forget()
            assert everything(session) == after


def test_garbage_is_left_while_somebody_waits() -> None:
    precedence = Precedence()
    assert gc.isenabled()
    with precedence.first():
        with precedence.first():
            assert not gc.isenabled()
        assert not gc.isenabled()
    assert gc.isenabled()
    gc.disable()
    try:
        with precedence.first():
            assert not gc.isenabled()
        assert not gc.isenabled()  # whoever turned it off turns it on
    finally:
        gc.enable()
