"""Commands that advise: suggest, compare, audit, study."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from rigmodel.advise.suggest.command import add_arguments, answered
from rigmodel.cli.common import (
    EXIT_FAIL,
    EXIT_OK,
    Progress,
    catalogue_argument,
    out_argument,
    scene_argument,
    width,
)


def suggest_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel suggest`."""
    scene_argument(parser)
    add_arguments(parser)
    parser.set_defaults(run=_suggest)


def _suggest(options: argparse.Namespace) -> int:
    said, note, found = answered(options, width(), Progress())
    sys.stdout.write(said)
    if note:
        print(note, file=sys.stderr)
    return EXIT_OK if found else EXIT_FAIL


def compare_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel compare`."""
    parser.add_argument("before", type=Path, metavar="A", help="the rig as it is (scene file)")
    parser.add_argument("after", type=Path, metavar="B", help="the rig as it shall be")
    parser.add_argument("--catalogue", type=Path, action="append", default=[], metavar="FILE")
    parser.add_argument("--json", action="store_true", help="print the steps as JSON")
    parser.set_defaults(run=_compare)


def _compare(options: argparse.Namespace) -> int:
    from rigmodel.advise.compare import compare  # noqa: PLC0415
    from rigmodel.advise.compare_text import comparison_json, comparison_text  # noqa: PLC0415
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    before, after = (
        load_scene(path, options.catalogue) for path in (options.before, options.after)
    )
    found = compare(assemble(before), assemble(after))
    text = comparison_json(found) if options.json else comparison_text(found, after.unit, width())
    sys.stdout.write(text)
    return EXIT_OK


def audit_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel audit`."""
    scene_argument(parser)
    parser.add_argument(
        "measured",
        type=Path,
        nargs="?",
        default=None,
        metavar="MEASURED",
        help="what was measured (CSV or YAML); without it a blank form is printed",
    )
    parser.add_argument("--json", action="store_true", help="print the audit as JSON")
    parser.set_defaults(run=_audit)


def _audit(options: argparse.Namespace) -> int:
    from rigmodel.advise.audit import audit, audit_form, audit_json, audit_text  # noqa: PLC0415
    from rigmodel.advise.measured import read_measured  # noqa: PLC0415
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415
    from rigmodel.spec.load import load_scene  # noqa: PLC0415

    scene = load_scene(options.scene, options.catalogue)
    plan = assemble(scene)
    if options.measured is None:
        sys.stdout.write(audit_form(plan))
        return EXIT_OK
    found = audit(plan, read_measured(options.measured, plan), Progress())
    colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
    text = audit_json(found) if options.json else audit_text(found, scene.unit, width(), colour)
    sys.stdout.write(text)
    return EXIT_FAIL if found.findings.verdict is Verdict.FAIL else EXIT_OK


def study_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel study`."""
    parser.add_argument("study", type=Path, metavar="STUDY", help="study file (YAML)")
    catalogue_argument(parser)
    out_argument(parser, "the table and the page")
    parser.add_argument(
        "--scheduler", default=None, metavar="ADDRESS", help="run on that Dask cluster"
    )
    parser.set_defaults(run=_study)


def _study(options: argparse.Namespace) -> int:
    from rigmodel.advise.study.write import write_study  # noqa: PLC0415

    progress = Progress()
    try:
        (table, page), told = write_study(
            options.study,
            options.out,
            options.force,
            options.scheduler,
            options.catalogue,
            lambda done: progress(done.text()),
        )
    except KeyboardInterrupt:
        print("what is done is kept; the same command goes on from there", file=sys.stderr)
        raise
    print(told)
    print(f"wrote {table} and {page}", file=sys.stderr)
    return EXIT_OK
