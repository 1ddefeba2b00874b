"""What all commands share: exit codes, progress, and the arguments most of them take."""

from __future__ import annotations

import argparse
import gc
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from rigmodel.files import safe_stem

if TYPE_CHECKING:
    from rigmodel.assembly.rig import Assembly
    from rigmodel.clearance.finding import Findings

EXIT_OK, EXIT_FAIL, EXIT_INPUT = 0, 1, 2
QUIET_SECONDS = 1.0


class Progress:
    """Says what is going on, on stderr, at most once in so many seconds.

    Args:
        every: seconds without a word, before the first and between two; 0 to say everything.
    """

    def __init__(self, every: float = QUIET_SECONDS) -> None:
        self._last, self._every = time.monotonic(), every

    def __call__(self, text: str) -> None:
        """Shows a line of progress if the wait since the last is worth it."""
        now = time.monotonic()
        if now - self._last >= self._every:
            self._last = now
            print(f"… {text}", file=sys.stderr, flush=True)


@contextmanager
def uncollected() -> Iterator[None]:
    """Does without the collector of cyclic garbage, for work that ends before it would pay.

    Imports and models make many objects that stay; looking through them takes a tenth of a check.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def scene_argument(parser: argparse.ArgumentParser) -> None:
    """Adds the scene file, and catalogue files of the user's own."""
    parser.add_argument("scene", type=Path, metavar="SCENE", help="scene file (YAML)")
    catalogue_argument(parser)


def catalogue_argument(parser: argparse.ArgumentParser) -> None:
    """Adds catalogue files of the user's own."""
    parser.add_argument(
        "--catalogue",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="a catalogue file of your own; may be given several times",
    )


def out_argument(parser: argparse.ArgumentParser, what: str) -> None:
    """Adds the folder that `what` goes to, and leave to write over it."""
    parser.add_argument(
        "--out", type=Path, default=Path(), metavar="FOLDER", help=f"where {what} goes (here)"
    )
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def checked(options: argparse.Namespace, progress: Progress) -> tuple[Assembly, Findings]:
    """The scene put together, and what was found in it."""
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    assembly = assemble(load_scene(options.scene, options.catalogue))
    return assembly, check(assembly, progress=progress)


def target_of(options: argparse.Namespace, ending: str) -> Path:
    """The file that is named after the scene's, in the folder that was asked for."""
    folder: Path = options.out
    return folder / f"{safe_stem(options.scene.stem)}{ending}"


def width() -> int:
    """Columns to wrap text to."""
    return min(shutil.get_terminal_size((100, 24)).columns, 120)
