"""What all commands share: exit codes, progress, and the arguments most of them take."""

from __future__ import annotations

import argparse
import shutil
import sys
import time
from pathlib import Path

EXIT_OK, EXIT_FAIL, EXIT_INPUT = 0, 1, 2
QUIET_SECONDS = 1.0


class Progress:
    """Says what is going on, on stderr, once a command has taken longer than a second."""

    def __init__(self) -> None:
        self._start = time.monotonic()

    def __call__(self, text: str) -> None:
        """Shows a line of progress if the wait is worth it."""
        if time.monotonic() - self._start > QUIET_SECONDS:
            print(f"… {text}", file=sys.stderr, flush=True)


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


def width() -> int:
    """Columns to wrap text to."""
    return min(shutil.get_terminal_size((100, 24)).columns, 120)
