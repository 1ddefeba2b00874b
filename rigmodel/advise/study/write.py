"""Runs a study file and writes its Parquet file and its page."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

from rigmodel import __version__
from rigmodel.advise.study.fits import counts
from rigmodel.advise.study.page import study_page
from rigmodel.advise.study.plan import StudyPlan
from rigmodel.advise.study.read import read_study
from rigmodel.advise.study.results import Results
from rigmodel.advise.study.run import Progress, run_study
from rigmodel.advise.study.store import Store
from rigmodel.files import check_target, safe_stem, write_whole
from rigmodel.units import Unit


def write_study(
    path: Path,
    out: Path,
    replace: bool = False,
    scheduler: str | None = None,
    catalogues: Sequence[Path] = (),
    progress: Callable[[Progress], None] = lambda _: None,
) -> tuple[tuple[Path, Path], str]:
    """Runs a study and writes ``<name>.parquet`` and ``<name>.html``.

    A run that was stopped goes on; a study that is finished is only drawn again.

    Args:
        path: the study file.
        out: folder the two files go to.
        replace: whether files of another study there may be written over.
        scheduler: address of a cluster's scheduler; None for the cores of this machine.
        catalogues: further catalogue files, given explicitly.
        progress: called at the start and after every batch.

    Returns:
        The two files, and a line that says how the cases end.

    Raises:
        InputError: the study or its scene does not read.
        FileError: a file of something else is there, or cannot be written.
        StudyError: the cluster cannot be reached, or what a study needs is not installed.
    """
    plan = read_study(path, catalogues)
    stem = safe_stem(path.stem)
    target, page = out / f"{stem}.parquet", out / f"{stem}.html"
    check_target(page, replace or Store(plan, target).finished())
    check_target(target, True)
    results = run_study(plan, target, replace, scheduler, progress)
    text = study_page(plan, results, _unit(plan), __version__)
    write_whole(page, text.encode("utf-8"), replace=True)
    return (target, page), summary(results)


def summary(results: Results) -> str:
    """Such as ``400 cases: 120 pass, 30 advise, 200 fail, 50 invalid, 0 not checked``."""
    told = ", ".join(f"{number} {outcome.value}" for outcome, number in counts(results).items())
    return f"{len(results)} cases: {told}"


def _unit(plan: StudyPlan) -> Unit:
    """The scene's unit; inches where it does not say a known one and so every case is invalid."""
    text = json.loads(plan.scene).get("units")
    return Unit(text) if text in {unit.value for unit in Unit} else Unit.IN
