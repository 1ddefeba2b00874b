"""Commands about scene and catalogue files: new, parts, schema."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from rigmodel.cli.common import EXIT_OK


def new_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel new`."""
    parser.add_argument("file", type=Path, metavar="FILE", help="scene file to write")
    parser.add_argument(
        "--from",
        dest="measures",
        type=Path,
        default=None,
        metavar="MEASURES",
        help="the filled-in measures.yaml or .csv of `rigmodel measure-sheet`",
    )
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
    from rigmodel.files import check_target  # noqa: PLC0415
    from rigmodel.spec.new import QUESTIONS, new_scene_text, write_new  # noqa: PLC0415

    check_target(options.file, options.force)
    if options.measures is not None:
        from rigmodel.sheet.measures import scene_text_from_measures  # noqa: PLC0415

        write_new(options.file, scene_text_from_measures(options.measures), options.force)
        return _wrote_scene(options.file)
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
    return _wrote_scene(options.file)


def _wrote_scene(path: Path) -> int:
    print(f"wrote {path}; next: rigmodel check {path}", file=sys.stderr)
    return EXIT_OK


def parts_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel parts`."""
    parser.add_argument("word", nargs="?", default="", help="only what has this word in it")
    parser.add_argument("--catalogue", type=Path, action="append", default=[], metavar="FILE")
    parser.set_defaults(run=_parts)


def _parts(options: argparse.Namespace) -> int:
    from rigmodel.catalog.store import builtin_catalogue  # noqa: PLC0415
    from rigmodel.report.parts_list import parts_text  # noqa: PLC0415

    catalogue = builtin_catalogue()
    for path in options.catalogue:
        catalogue = catalogue.with_file(path)
    sys.stdout.write(parts_text(catalogue, options.word))
    return EXIT_OK


def schema_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel schema`."""
    parser.add_argument(
        "which", nargs="?", choices=("scene", "catalogue"), default="scene", help="which file"
    )
    parser.set_defaults(run=_schema)


def _schema(options: argparse.Namespace) -> int:
    from rigmodel.spec.schema import schema_text  # noqa: PLC0415

    sys.stdout.write(schema_text(options.which))
    return EXIT_OK
