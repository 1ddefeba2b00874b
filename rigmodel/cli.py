"""The command line: thin words round `load_scene`, `assemble` and `check`.

Results go to stdout, everything else to stderr. Exit code 0: pass or advise; 1: at least one fail;
2: the input is wrong.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from rigmodel import __version__
from rigmodel.errors import RigmodelError

# Looking for pydantic plug-ins costs a tenth of the start-up, and none are used here.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

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


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a window that cannot show ½ still gets the rest
            stream.reconfigure(errors="replace")
    options = _parser().parse_args(arguments)
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


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="rigmodel",
        description="Check a between-row weeding rig in 3D before steel is cut.",
    )
    parser.add_argument("--version", action="version", version=f"rigmodel {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _check_parser(commands.add_parser("check", help="does it fit and clear? what to change?"))
    _render_parser(commands.add_parser("render", help="a picture of the rig (PNG)"))
    _new_parser(commands.add_parser("new", help="write a new scene file, with comments"))
    _parts_parser(commands.add_parser("parts", help="what the catalogue holds"))
    _schema_parser(commands.add_parser("schema", help="the scene file's JSON Schema"))
    return parser


def _scene_argument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("scene", type=Path, metavar="SCENE", help="scene file (YAML)")
    parser.add_argument(
        "--catalogue",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="a catalogue file of your own; may be given several times",
    )


def _check_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    parser.add_argument("--json", action="store_true", help="print the findings as JSON")
    parser.add_argument(
        "--bolted", action="store_true", help="also list the pairs that touch by design"
    )
    parser.set_defaults(run=_check)


def _check(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    scene = load_scene(options.scene, options.catalogue)
    findings = check(assemble(scene), progress=Progress())
    if options.json:
        from rigmodel.report.as_json import findings_json  # noqa: PLC0415

        sys.stdout.write(findings_json(findings))
    else:
        from rigmodel.report.terminal import bolted_text, findings_text  # noqa: PLC0415

        width = min(shutil.get_terminal_size((100, 24)).columns, 120)
        colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
        sys.stdout.write(findings_text(findings, scene.unit, width, colour))
        if options.bolted:
            sys.stdout.write("\nBolted together\n" + bolted_text(findings))
    return EXIT_FAIL if findings.verdict is Verdict.FAIL else EXIT_OK


def _out_argument(parser: argparse.ArgumentParser, what: str) -> None:
    parser.add_argument(
        "--out", type=Path, default=Path(), metavar="FOLDER", help=f"where {what} goes (here)"
    )
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def _render_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    _out_argument(parser, "the picture")
    parser.add_argument(
        "--view",
        choices=("three-quarter", "top", "front", "side", "sheet"),
        default="three-quarter",
        help="where to look from; sheet shows the four together",
    )
    parser.add_argument("--size", default="1600x1000", metavar="WxH", help="pixels (1600x1000)")
    parser.add_argument(
        "--ghosts",
        default="",
        metavar="WHICH",
        help="also draw, faintly: float, trip, lift, steer (comma between)",
    )
    parser.set_defaults(run=_render)


def _render(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415
    from rigmodel.view.render import picture_options, render_picture  # noqa: PLC0415

    progress = Progress()
    wanted = picture_options(options.view, options.size, options.ghosts, options.force)
    assembly = assemble(load_scene(options.scene, options.catalogue))
    target = options.out / f"{options.scene.stem}-{options.view}.png"
    findings = check(assembly, progress=progress)
    progress("drawing")
    render_picture(assembly, findings, wanted, target)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK


def _new_parser(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, metavar="FILE", help="scene file to write")
    parser.add_argument("--units", choices=("in", "mm"), default=None, help="unit of bare numbers")
    parser.add_argument("--name", default=None, help="title")
    parser.add_argument("--rows", default=None, help="number of rows")
    parser.add_argument("--spacing", default=None, help="row to row, such as 15 in")
    parser.add_argument("--keep-out", default=None, help="half-width of the band round a row")
    parser.add_argument("--tractor", default=None, help="generic tractor (see `rigmodel parts`)")
    parser.add_argument("--track", default=None, help="wheel track, centre to centre")
    parser.add_argument("--pair-gap", default=None, help="gap between a pair's fingers")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
    parser.set_defaults(run=_new)


def _new(options: argparse.Namespace) -> int:
    from rigmodel.spec.new import QUESTIONS, new_scene_text, write_new  # noqa: PLC0415

    given = {q.key: getattr(options, q.key) for q in QUESTIONS}
    ask = sys.stdin.isatty() and all(value is None for value in given.values())
    answers = {}
    for question in QUESTIONS:
        value = given[question.key]
        if value is None and ask:
            print(f"{question.asks} [{question.default}]: ", end="", file=sys.stderr, flush=True)
            value = sys.stdin.readline().strip() or None
        answers[question.key] = question.default if value is None else value
    write_new(options.file, new_scene_text(answers), options.force)
    print(f"wrote {options.file}; next: rigmodel check {options.file}", file=sys.stderr)
    return EXIT_OK


def _parts_parser(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("word", nargs="?", default="", help="only what has this word in it")
    parser.add_argument("--catalogue", type=Path, action="append", default=[], metavar="FILE")
    parser.set_defaults(run=_parts)


def _parts(options: argparse.Namespace) -> int:
    from rigmodel.catalog.store import builtin_catalogue, read_catalogue_file  # noqa: PLC0415
    from rigmodel.report.parts_list import parts_text  # noqa: PLC0415

    catalogue = builtin_catalogue()
    for path in options.catalogue:
        catalogue = catalogue.with_file(read_catalogue_file(path))
    sys.stdout.write(parts_text(catalogue, options.word))
    return EXIT_OK


def _schema_parser(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "which", nargs="?", choices=("scene", "catalogue"), default="scene", help="which file"
    )
    parser.set_defaults(run=_schema)


def _schema(options: argparse.Namespace) -> int:
    from rigmodel.spec.schema import schema_text  # noqa: PLC0415

    sys.stdout.write(schema_text(options.which))
    return EXIT_OK


if __name__ == "__main__":
    sys.exit(main())
