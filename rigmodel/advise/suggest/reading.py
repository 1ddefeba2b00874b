"""Reads a scene for `suggest`: as `check` does, but the stations may be left out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from rigmodel.errors import InputError
from rigmodel.reading.source import read_source
from rigmodel.spec.load import load_scene, scene_from_text
from rigmodel.spec.resolve import Scene

# A scene needs one station. This one stands in until it is replaced; it is never part of a rig.
_STAND_IN = (
    "\nstations:\n  - {{use: point-rigid, at: [0], depth: 25 mm, swap: {{mount: {clamp}}}}}\n"
)
_FIRST_CLAMP = "bar-clamp-2"
_HINT = re.compile(r"did you mean '([A-Za-z0-9_.-]+)'")


def load_field(path: Path, catalogues: Sequence[Path] = ()) -> tuple[Scene, str, bool]:
    """A scene whose stations do not matter.

    Returns:
        The scene, its text, and whether the file had stations of its own.

    Raises:
        InputError: with every fault found.
    """
    source = read_source(path)
    text = path.read_text(encoding="utf-8-sig")
    if "stations" in source.root.entries:
        return load_scene(path, catalogues), text, True
    return _with_stand_in(text, path, catalogues), text, False


def _with_stand_in(text: str, path: Path, catalogues: Sequence[Path]) -> Scene:
    def read(clamp: str) -> Scene:
        whole = text.rstrip("\n") + _STAND_IN.format(clamp=clamp)
        return scene_from_text(whole, str(path), path.parent, catalogues)

    try:
        return read(_FIRST_CLAMP)
    except InputError as error:
        # The bar may be of another size; the fault then names a clamp that fits it.
        hints = [_HINT.search(f.hint) for f in error.faults if f.path.startswith("stations")]
        named = [hint[1] for hint in hints if hint]
        if len(error.faults) != 1 or not named:
            raise
        return read(named[0])
