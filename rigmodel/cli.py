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
    _draw_parser(commands.add_parser("draw", help="dimensioned drawings (PDF, SVG, DXF)"))
    _report_parser(commands.add_parser("report", help="one HTML file: 3D view, findings, tables"))
    _sheet_parser(commands.add_parser("sheet", help="setup sheet for shop and field (PDF, HTML)"))
    _measure_parser(
        commands.add_parser("measure-sheet", help="blank form: what to measure on the tractor")
    )
    _export_parser(commands.add_parser("export", help="the rig as a 3D file"))
    _list_parser(commands.add_parser("list", help="parts, fasteners, cut list and marks"))
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

        colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
        sys.stdout.write(findings_text(findings, scene.unit, _width(), colour))
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


def _draw_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    _out_argument(parser, "the drawing")
    parser.add_argument("--format", choices=("pdf", "svg", "dxf"), default="pdf")
    parser.add_argument(
        "--paper",
        choices=("A4", "A3", "Letter", "Tabloid"),
        default=None,
        help="paper (Tabloid for inches, A3 for millimetres)",
    )
    parser.add_argument("--date", default="", help="date to print in the title block")
    parser.set_defaults(run=_draw)


def _draw(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.drawing.draw import drawings  # noqa: PLC0415
    from rigmodel.drawing.sheet import Paper  # noqa: PLC0415
    from rigmodel.drawing.write import WRITERS  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    progress = Progress()
    assembly = assemble(load_scene(options.scene, options.catalogue))
    progress("drawing")
    sheets = drawings(assembly, Paper(options.paper) if options.paper else None, options.date)
    target = options.out / f"{options.scene.stem}-drawings.{options.format}"
    for path in WRITERS[options.format](sheets, target, options.force):
        print(f"wrote {path}", file=sys.stderr)
    return EXIT_OK


def _report_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    _out_argument(parser, "the page")
    parser.set_defaults(run=_report)


def _report(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.files import check_target, write_whole  # noqa: PLC0415
    from rigmodel.report.html import html_report  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    progress = Progress()
    target = options.out / f"{options.scene.stem}.html"
    check_target(target, options.force)
    assembly = assemble(load_scene(options.scene, options.catalogue))
    page = html_report(assembly, check(assembly, progress=progress), __version__)
    write_whole(target, page.encode("utf-8"), options.force)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK


def _sheet_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    _out_argument(parser, "the sheet")
    parser.set_defaults(run=_sheet)


def _sheet(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415
    from rigmodel.sheet.write import write_sheet  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    progress = Progress()
    assembly = assemble(load_scene(options.scene, options.catalogue))
    findings = check(assembly, progress=progress)
    progress("drawing and setting the pages")
    paths = write_sheet(assembly, findings, options.out, options.scene.stem, options.force)
    print("wrote " + " and ".join(str(path) for path in paths), file=sys.stderr)
    if findings.verdict is Verdict.FAIL:
        print("this rig fails: the sheet says DO NOT BUILD", file=sys.stderr)
        return EXIT_FAIL
    return EXIT_OK


def _measure_parser(parser: argparse.ArgumentParser) -> None:
    _out_argument(parser, "the form")
    parser.add_argument("--units", choices=("in", "mm"), default="in", help="unit of the form")
    parser.set_defaults(run=_measure)


def _measure(options: argparse.Namespace) -> int:
    from rigmodel.sheet.form import write_form  # noqa: PLC0415

    paths = write_form(options.out, options.units, options.force)
    print("wrote " + ", ".join(str(path) for path in paths), file=sys.stderr)
    return EXIT_OK


def _export_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    _out_argument(parser, "the file")
    parser.add_argument(
        "--format",
        choices=("glb", "stl", "3mf"),
        default="glb",
        help="glb: metres, y up, named tree with findings; stl, 3mf: millimetres",
    )
    parser.set_defaults(run=_export)


def _export(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415
    from rigmodel.export import ExportFormat, export_model  # noqa: PLC0415
    from rigmodel.files import check_target  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    kind = ExportFormat(options.format)
    target = options.out / f"{options.scene.stem}.{kind.value}"
    check_target(target, options.force)
    assembly = assemble(load_scene(options.scene, options.catalogue))
    marked = kind is ExportFormat.GLB  # the other formats have no place for findings
    findings = check(assembly, progress=Progress()) if marked else None
    export_model(assembly, findings, kind, target, options.force)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK


def _list_parser(parser: argparse.ArgumentParser) -> None:
    _scene_argument(parser)
    parser.add_argument(
        "--stock", default="", metavar="LENGTHS", help="stock lengths, comma between (20 ft, 24 ft)"
    )
    parser.add_argument("--kerf", default="", metavar="WIDTH", help="what a saw cut takes (2 mm)")
    parser.add_argument(
        "--prices",
        type=Path,
        default=None,
        metavar="FILE",
        help="your prices (CSV or YAML: id, price)",
    )
    parser.add_argument(
        "--out", type=Path, default=None, metavar="FOLDER", help="write XLSX and CSV there"
    )
    parser.add_argument("--force", action="store_true", help="write over files that are there")
    parser.set_defaults(run=_list)


def _list(options: argparse.Namespace) -> int:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.files import check_target  # noqa: PLC0415
    from rigmodel.report.cautions import CAUTIONS  # noqa: PLC0415
    from rigmodel.shop.cuts import KERF_MM  # noqa: PLC0415
    from rigmodel.shop.listing import read_kerf, read_stock, shop_list  # noqa: PLC0415
    from rigmodel.shop.prices import read_prices  # noqa: PLC0415
    from rigmodel.shop.text import list_text  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    scene = load_scene(options.scene, options.catalogue)
    listing = shop_list(
        assemble(scene),
        read_stock(options.stock, scene.unit) if options.stock else None,
        read_kerf(options.kerf, scene.unit) if options.kerf else KERF_MM,
        read_prices(options.prices) if options.prices else None,
    )
    if options.out is None:
        sys.stdout.write(list_text(listing, _width(), CAUTIONS))
        return EXIT_OK
    from rigmodel.shop.files import write_parts_csv, write_parts_xlsx  # noqa: PLC0415

    book = options.out / f"{options.scene.stem}-list.xlsx"
    table = options.out / f"{options.scene.stem}-parts.csv"
    for target in (book, table):
        check_target(target, options.force)
    write_parts_xlsx(listing, book, CAUTIONS, options.force)
    write_parts_csv(listing, table, options.force)
    print(f"wrote {book} and {table}", file=sys.stderr)
    return EXIT_OK


def _width() -> int:
    return min(shutil.get_terminal_size((100, 24)).columns, 120)


def _new_parser(parser: argparse.ArgumentParser) -> None:
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
