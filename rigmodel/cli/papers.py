"""Commands that write papers and files for a rig."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from rigmodel import __version__
from rigmodel.cli.common import (
    EXIT_FAIL,
    EXIT_OK,
    Progress,
    checked,
    out_argument,
    scene_argument,
    target_of,
    width,
)
from rigmodel.files import safe_stem


def sheet_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel sheet`."""
    scene_argument(parser)
    out_argument(parser, "the sheet")
    parser.set_defaults(run=_sheet)


def _sheet(options: argparse.Namespace) -> int:
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415
    from rigmodel.sheet.write import write_sheet  # noqa: PLC0415

    progress = Progress()
    assembly, findings = checked(options, progress)
    progress("drawing and setting the pages")
    stem = safe_stem(options.scene.stem)
    paths = write_sheet(assembly, findings, options.out, stem, options.force)
    print("wrote " + " and ".join(str(path) for path in paths), file=sys.stderr)
    if findings.verdict is Verdict.FAIL:
        print("this rig fails: the sheet says DO NOT BUILD", file=sys.stderr)
        return EXIT_FAIL
    return EXIT_OK


def measure_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel measure-sheet`."""
    out_argument(parser, "the form")
    parser.add_argument("--units", choices=("in", "mm"), default="in", help="unit of the form")
    parser.set_defaults(run=_measure)


def _measure(options: argparse.Namespace) -> int:
    from rigmodel.sheet.form import write_form  # noqa: PLC0415

    paths = write_form(options.out, options.units, options.force)
    print("wrote " + ", ".join(str(path) for path in paths), file=sys.stderr)
    return EXIT_OK


def draw_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel draw`."""
    scene_argument(parser)
    out_argument(parser, "the drawing")
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
    from rigmodel.clearance.check import gathered  # noqa: PLC0415
    from rigmodel.clearance.runner import run  # noqa: PLC0415
    from rigmodel.drawing.draw import drawings  # noqa: PLC0415
    from rigmodel.drawing.sheet import Paper  # noqa: PLC0415
    from rigmodel.drawing.stamp import short, stamp_of  # noqa: PLC0415
    from rigmodel.drawing.write import write_drawings  # noqa: PLC0415
    from rigmodel.loads.account import Account  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    progress = Progress()
    assembly = assemble(load_scene(options.scene, options.catalogue))
    loads = Account(assembly)
    stamp = stamp_of(gathered(loads, run(assembly, loads=loads)))  # remedies are not drawn
    progress("drawing")
    paper = Paper(options.paper) if options.paper else None
    sheets = drawings(assembly, paper, options.date, stamp)
    stem = target_of(options, "-drawings")
    for path in write_drawings(sheets, options.format, stem, options.force):
        print(f"wrote {path}", file=sys.stderr)
    if stamp:
        print(f"this rig fails: every sheet says {short(stamp)}", file=sys.stderr)
        return EXIT_FAIL
    return EXIT_OK


def report_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel report`."""
    scene_argument(parser)
    out_argument(parser, "the page")
    parser.set_defaults(run=_report)


def _report(options: argparse.Namespace) -> int:
    from rigmodel.files import check_target, write_whole  # noqa: PLC0415
    from rigmodel.report.html import html_report  # noqa: PLC0415

    target = target_of(options, ".html")
    check_target(target, options.force)
    assembly, findings = checked(options, Progress())
    page = html_report(assembly, findings, __version__)
    write_whole(target, page.encode("utf-8"), options.force)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK


def export_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel export`."""
    scene_argument(parser)
    out_argument(parser, "the file")
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
    target = target_of(options, f".{kind.value}")
    check_target(target, options.force)
    assembly = assemble(load_scene(options.scene, options.catalogue))
    marked = kind is ExportFormat.GLB  # the other formats have no place for findings
    findings = check(assembly, progress=Progress()) if marked else None
    export_model(assembly, findings, kind, target, options.force)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK


def list_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel list`."""
    scene_argument(parser)
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
    from rigmodel.files import check_targets  # noqa: PLC0415
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
        sys.stdout.write(list_text(listing, width(), CAUTIONS))
        return EXIT_OK
    from rigmodel.files import write_all  # noqa: PLC0415
    from rigmodel.shop.files import parts_csv, parts_xlsx  # noqa: PLC0415

    book, table = target_of(options, "-list.xlsx"), target_of(options, "-parts.csv")
    check_targets((book, table), options.force)
    files = {book: parts_xlsx(listing, CAUTIONS), table: parts_csv(listing)}
    write_all(files, options.force)
    print(f"wrote {book} and {table}", file=sys.stderr)
    return EXIT_OK
