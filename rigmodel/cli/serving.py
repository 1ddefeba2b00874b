"""The command that serves the page."""

from __future__ import annotations

import argparse
from pathlib import Path

from rigmodel.cli.common import EXIT_OK

PORT = 8765


def page_parser(parser: argparse.ArgumentParser) -> None:
    """Arguments of `rigmodel page`."""
    parser.add_argument(
        "scene", type=Path, nargs="?", default=None, metavar="SCENE", help="scene to open"
    )
    parser.add_argument(
        "--host", default="127.0.0.1", help="address to listen on (this machine only)"
    )
    parser.add_argument("--port", type=int, default=PORT, help=f"port ({PORT})")
    parser.set_defaults(run=_page)


def _page(options: argparse.Namespace) -> int:
    from rigmodel.page.serve import serve  # noqa: PLC0415

    serve(options.scene, options.host, options.port, lambda text: print(text, flush=True))
    return EXIT_OK
