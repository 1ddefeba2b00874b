"""Small rigs for the tests of the checks, written as scene files are."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.remedy import with_remedies
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.clearance.trial import Bench, changed_scene
from rigmodel.spec.load import scene_from_text

SECTIONS = {
    "name": "a rig",
    "units": "in",
    "rows": "{count: 2, spacing: 24, keep_out: 2 1/2}",
    "tractor": "{use: small-belly}",
    "toolbar": "{tube: tube-2x1-4, length: 72, height: 20}",
    "stations": "[{use: blade-rigid, at: gaps, depth: 1}]",
}


def _rig(**sections: str) -> Assembly:
    text = "\n".join(f"{key}: {value}" for key, value in {**SECTIONS, **sections}.items())
    return assemble(scene_from_text(text))


@pytest.fixture
def rig() -> Callable[..., Assembly]:
    """Builds a rig; each keyword is a section of the scene file, as YAML on one line."""
    return _rig


@pytest.fixture
def finds() -> Callable[[Assembly, str], tuple[Finding, ...]]:
    """Findings of one check, without remedies."""

    def find(assembly: Assembly, check: str) -> tuple[Finding, ...]:
        return run(assembly, None, (check,))

    return find


@pytest.fixture
def cured() -> Callable[[Assembly, str], tuple[Finding, ...]]:
    """Failing findings of one check; each has a remedy, and the remedy is tried and holds."""

    def cure(assembly: Assembly, check: str) -> tuple[Finding, ...]:
        memo = Memo()
        found = run(assembly, memo, (check,))
        failing = tuple(
            f for f in with_remedies(assembly, found, Bench(memo)) if f.verdict is Verdict.FAIL
        )
        assert failing
        for finding in failing:
            assert finding.remedy is not None, finding.message
            scene = changed_scene(assembly.scene, finding.remedy.changes)
            assert scene is not None
            again = run(assemble(scene), memo, (check,))
            broken = {f.parts for f in again if f.verdict is Verdict.FAIL}
            assert finding.parts not in broken
        return failing

    return cure
