"""The command line: thin words round `load_scene`, `assemble` and `check`.

Results go to stdout, everything else to stderr. Exit code 0: pass or advise; 1: at least one fail;
2: the input is wrong. Every command imports what it needs when it runs, so that `check` starts
fast.
"""

from __future__ import annotations

import argparse
import atexit
import gc
import os
import sys
from collections.abc import Callable, Sequence

from rigmodel import __version__
from rigmodel.cli import advice, checking, everything, papers, scenes, serving
from rigmodel.cli.common import EXIT_INPUT, EXIT_OK
from rigmodel.errors import RigmodelError

# Looking for pydantic plug-ins costs a tenth of the start-up, and none are used here.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

# What is left when the process ends goes with it: a last look for garbage takes a tenth of a check.
atexit.register(gc.freeze)

_COMMANDS: tuple[tuple[str, Callable[[argparse.ArgumentParser], None], str], ...] = (
    ("check", checking.check_parser, "does it fit and clear? what to change?"),
    ("render", checking.render_parser, "a picture of the rig (PNG)"),
    ("sheet", papers.sheet_parser, "setup sheet for shop and field (PDF, HTML)"),
    ("list", papers.list_parser, "parts, fasteners, cut list and marks"),
    ("draw", papers.draw_parser, "dimensioned drawings (PDF, SVG, DXF)"),
    ("report", papers.report_parser, "one HTML file: 3D view, findings, tables"),
    ("export", papers.export_parser, "the rig as a 3D file"),
    ("all", everything.all_parser, "all of these files at once, from one check"),
    ("page", serving.page_parser, "a local web page: change the rig and watch it clear"),
    ("suggest", advice.suggest_parser, "rigs that pass every check, from rows, tractor and parts"),
    ("compare", advice.compare_parser, "what to move from one rig to another, mark by mark"),
    ("audit", advice.audit_parser, "the rig as measured against the plan"),
    ("study", advice.study_parser, "what fits what, over many spacings, tracks, tyres, wheels"),
    ("measure-sheet", papers.measure_parser, "blank form: what to measure on the tractor"),
    ("new", scenes.new_parser, "write a new scene file, with comments"),
    ("parts", scenes.parts_parser, "what the catalogue holds"),
    ("schema", scenes.schema_parser, "the JSON Schema of scene and catalogue files"),
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a window that cannot show ½ still gets the rest
            stream.reconfigure(errors="replace")
    words = sys.argv[1:] if arguments is None else list(arguments)
    options = _parser(words).parse_args(words)
    run: Callable[[argparse.Namespace], int] = options.run
    try:
        return run(options)
    except RigmodelError as error:
        print(error, file=sys.stderr)
        return EXIT_INPUT
    except BrokenPipeError:  # the reader of our output has gone; that is its right
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_OK
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    """Reads all commands, but knows the arguments of those alone that stand among `words`."""
    parser = argparse.ArgumentParser(
        prog="rigmodel",
        description="Check a between-row weeding rig in 3D before steel is cut.",
    )
    parser.add_argument("--version", action="version", version=f"rigmodel {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name, arguments, purpose in _COMMANDS:
        command = commands.add_parser(name, help=purpose, description=purpose)
        if name in words:
            arguments(command)
    return parser
