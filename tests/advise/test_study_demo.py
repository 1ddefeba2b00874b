"""The demo study answers a dealer: what fits what, and why not."""

from __future__ import annotations

from pathlib import Path

from rigmodel.advise.study.cases import FITS, Worker
from rigmodel.advise.study.read import read_study

STUDY = Path(__file__).parents[2] / "scenes" / "studies" / "what-fits-what.yaml"


def test_every_spacing_has_a_rig_and_every_failure_a_reason_of_its_own() -> None:
    plan = read_study(STUDY)
    results = Worker(plan).results(range(plan.total))
    spacings: dict[str, bool] = {}
    tractors: dict[str, set[bool]] = {}
    for result in results:
        tools, tractor = plan.labels(result.case)
        fits = result.outcome in FITS
        spacing = tools.split(",")[0]
        spacings[spacing] = spacings.get(spacing, False) or fits
        tractors.setdefault(tractor, set()).add(fits)
        # Soil left, or parts that do not go together, would mean that the tools are wrong.
        assert fits or set(result.checks) <= {"wheel-clash", "part-clash", "tyre-fit", "bar-space"}
    assert len(spacings) == 6
    assert len(tractors) == 3
    assert all(spacings.values())
    assert all(fits == {True, False} for fits in tractors.values())
