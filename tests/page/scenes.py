"""Scenes that the tests of the page share, and a session opened as the server opens it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rigmodel.page.session import Session
from rigmodel.page.store import Store

SCENES = Path(__file__).parents[2] / "scenes"
SMALL = """\
# One row, for what needs no more.
name: One row
units: in
rows: {count: 1, spacing: 15, keep_out: 2 1/2}  # a count of 1
tractor: {use: small-belly}
toolbar: {tube: tube-2x1-4, length: 72, height: 20}
stations:
  - {use: blade-rigid, at: outside, depth: 1}
"""


def scene_text(name: str) -> str:
    """Text of a demo scene."""
    return (SCENES / f"{name}.yaml").read_text(encoding="utf-8")


def opened(
    store: Store,
    text: str,
    name: str = "small.yaml",
    origin: Path | None = None,
    home: Path | None = None,
    files: Mapping[str, bytes] | None = None,
) -> Session:
    """A new session, kept and then opened as the server does it."""
    return store.get(store.keep(text, name, origin, home, files or {}))


def opened_for(store: Store, path: Path) -> Session:
    """The session of a scene file, opened as the server does it."""
    return store.get(store.kept_for(path, path.read_text(encoding="utf-8")))
