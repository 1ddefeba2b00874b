"""`rigmodel suggest`: its arguments, and what it does with them."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rigmodel.advise.suggest.objective import MEANING, Objective

PARETO = "pareto"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the options of `suggest` beside SCENE and --catalogue."""
    parser.add_argument(
        "--parts",
        type=Path,
        default=None,
        metavar="STOCK",
        help="parts at hand, YAML lines 'catalogue-id: count' (any number of all if not given)",
    )
    parser.add_argument("--no-buying", action="store_true", help="use only the parts at hand")
    parser.add_argument("--best", type=int, default=1, metavar="N", help="how many rigs (1)")
    parser.add_argument(
        "--objective",
        choices=(*(o.value for o in Objective), PARETO),
        default=None,
        help="least "
        + ", ".join(f"{MEANING[o]} ({o.value})" for o in Objective)
        + "; pareto: all. If not given: bought with --parts, else parts",
    )
    parser.add_argument("--overlap", default="", metavar="LENGTH", help="least overlap of hoes (0)")
    parser.add_argument("--no-wheels", action="store_true", help="hoes only")
    parser.add_argument(
        "--write", type=Path, default=None, metavar="FILE", help="write the best rig's scene there"
    )
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")


@contextmanager
def _silent_solver() -> Iterator[None]:
    """Keeps the solver's own notes, which it writes past Python, out of the answer on stdout."""
    sys.stdout.flush()
    kept = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def answered(
    options: argparse.Namespace, width: int, progress: Callable[[str], None]
) -> tuple[str, str, bool]:
    """Runs the command.

    Returns:
        What to print on stdout, a note for stderr, and whether a rig was found.

    Raises:
        RigmodelError: the input is wrong, or a file cannot be written.
    """
    from rigmodel.advise.suggest.answer import suggest  # noqa: PLC0415
    from rigmodel.advise.suggest.as_json import answer_json  # noqa: PLC0415
    from rigmodel.advise.suggest.reading import load_field  # noqa: PLC0415
    from rigmodel.advise.suggest.request import (  # noqa: PLC0415
        read_overlap,
        read_parts_at_hand,
        request_for,
    )
    from rigmodel.advise.suggest.scene_text import write_rig  # noqa: PLC0415
    from rigmodel.advise.suggest.text import answer_text  # noqa: PLC0415
    from rigmodel.files import check_target  # noqa: PLC0415

    if options.write is not None:
        check_target(options.write, options.force)
    scene, text, had_stations = load_field(options.scene, options.catalogue)
    stock = read_parts_at_hand(options.parts, scene.catalogue) if options.parts else None
    overlap = read_overlap(options.overlap, scene) if options.overlap else 0.0
    request = request_for(scene, stock, not options.no_buying, not options.no_wheels, overlap)
    usual = Objective.PARTS if stock is None else Objective.BOUGHT
    wanted = options.objective or usual.value
    objective = None if wanted == PARETO else Objective(wanted)
    with _silent_solver():
        answer = suggest(request, objective, options.best, progress)
    notes = []
    if had_stations:
        notes.append("the scene's stations are replaced; only their depths and pair gap are kept")
    if options.write is not None and answer.rigs:
        write_rig(
            options.write,
            text,
            str(options.scene),
            answer.rigs[0],
            options.catalogue,
            options.force,
        )
        notes.append(f"wrote {options.write}")
    said = answer_json(answer) if options.json else answer_text(answer, width)
    return said, "\n".join(notes), bool(answer.rigs)
