"""Commands that look at a rig: check and render."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from rigmodel.cli.common import (
    EXIT_FAIL,
    EXIT_OK,
    Progress,
    checked,
    out_argument,
    scene_argument,
    target_of,
    uncollected,
    width,
)

if TYPE_CHECKING:
    from rigmodel.assembly.rig import Assembly
    from rigmodel.clearance.finding import Findings


def check_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel check`."""
    scene_argument(parser)
    parser.add_argument(
        "--json", action="store_true", help="print findings, weights and forces as JSON"
    )
    parser.add_argument(
        "--bolted", action="store_true", help="also list the pairs that touch by design"
    )
    parser.set_defaults(run=_check)


def _check(options: argparse.Namespace) -> int:
    with uncollected():
        return _checked(options)


def _checked(options: argparse.Namespace) -> int:
    from rigmodel.clearance.finding import Verdict  # noqa: PLC0415

    assembly, findings = checked(options, Progress())
    if options.json:
        from rigmodel.loads.account import Account  # noqa: PLC0415
        from rigmodel.report.as_json import findings_json  # noqa: PLC0415
        from rigmodel.report.loads_json import loads_object  # noqa: PLC0415

        loads = loads_object(assembly, findings.loads or Account(assembly))
        sys.stdout.write(findings_json(findings, loads))
    else:
        from rigmodel.report.terminal import bolted_text, findings_text  # noqa: PLC0415

        colour = sys.stdout.isatty() and "NO_COLOR" not in os.environ
        sys.stdout.write(findings_text(findings, assembly.scene.unit, width(), colour))
        if options.bolted:
            sys.stdout.write("\nBolted together\n" + bolted_text(findings))
    return EXIT_FAIL if findings.verdict is Verdict.FAIL else EXIT_OK


def render_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel render`."""
    scene_argument(parser)
    out_argument(parser, "the picture")
    parser.add_argument(
        "--view",
        choices=("three-quarter", "top", "front", "side", "sheet"),
        default="three-quarter",
        help="where to look from; sheet shows the four together",
    )
    parser.add_argument(
        "--size", default="", metavar="WxH", help="pixels (1600x1000; a sweep 800x500)"
    )
    parser.add_argument(
        "--sweep",
        choices=("float", "trip", "lift", "steer", "all"),
        default=None,
        help="a moving picture (GIF) of one motion from end to end, or of all in turn",
    )
    parser.add_argument(
        "--ghosts",
        default="",
        metavar="WHICH",
        help="also draw, faintly: float, trip, lift, steer (comma between)",
    )
    parser.set_defaults(run=_render)


def _render(options: argparse.Namespace) -> int:
    from rigmodel.files import check_target, write_whole  # noqa: PLC0415
    from rigmodel.view.describe import describe  # noqa: PLC0415
    from rigmodel.view.film import describe_sweep, sweep_options  # noqa: PLC0415
    from rigmodel.view.options import picture_options  # noqa: PLC0415
    from rigmodel.view.render import gif_child, png_child  # noqa: PLC0415

    described: Callable[[Assembly, Findings], object]
    if options.sweep is None:
        size = options.size or "1600x1000"
        wanted = picture_options(options.view, size, options.ghosts, options.force)
        described, started = partial(describe, options=wanted), png_child
        target = target_of(options, f"-{options.view}.png")
    else:
        film = sweep_options(options.sweep, options.view, options.size, options.force)
        described, started = partial(describe_sweep, options=film), gif_child
        target = target_of(options, f"-{options.sweep}.gif")
    check_target(target, options.force)
    progress = Progress()
    with started() as child:  # it gets ready while the rig is put together and checked
        assembly, findings = checked(options, progress)
        progress("drawing")
        picture = child.draw(described(assembly, findings))
    write_whole(target, picture, options.force)
    print(f"wrote {target}", file=sys.stderr)
    return EXIT_OK
