"""The command that makes every output at once."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from rigmodel.cli.common import (
    EXIT_FAIL,
    EXIT_OK,
    Progress,
    checked,
    scene_argument,
    width,
)
from rigmodel.files import safe_stem


def all_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel all`."""
    scene_argument(parser)
    parser.add_argument(
        "--out",
        type=Path,
        default=None,
        metavar="FOLDER",
        help="where the files go; made if it is not there (a new folder here, named as the scene)",
    )
    parser.add_argument("--force", action="store_true", help="write over files that are there")
    parser.set_defaults(run=_all)


def _all(options: argparse.Namespace) -> int:
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415
    from rigmodel.outputs.everything import write_everything  # noqa: PLC0415
    from rigmodel.report.terminal import caution_lines, verdict_line  # noqa: PLC0415

    stem = safe_stem(options.scene.stem)
    folder = options.out or Path(stem)
    progress = Progress(every=0.0)
    findings, written = write_everything(
        lambda: checked(options, progress), folder, stem, options.force, progress
    )
    for path in written.files:
        print(f"wrote {path}", file=sys.stderr)
    for path in written.left:
        print(f"of an earlier drawing, not of this one: {path}", file=sys.stderr)
    print(verdict_line(findings), "", *caution_lines(width()), sep="\n", flush=True)
    if written.no_pictures:
        print(f"no pictures: {written.no_pictures}", file=sys.stderr)
    if findings.verdict is Verdict.FAIL:
        print("this rig fails its check: do not build it; see the findings", file=sys.stderr)
        return EXIT_FAIL
    return EXIT_OK
