"""Every demo scene gives exactly what its header says, and every failure has a way out."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check
from rigmodel.clearance.finding import Change, Findings, Verdict
from rigmodel.clearance.runner import CHECKS, run
from rigmodel.clearance.scope import Memo
from rigmodel.clearance.trial import changed_scene
from rigmodel.spec.load import load_scene

SCENES = sorted((Path(__file__).parent.parent.parent / "scenes").glob("*.yaml"))
HEADER = re.compile(r"^# Verdict: (pass|advise|fail)(?: \(([a-z, -]+)\))?\.", re.MULTILINE)
MEMO = Memo()  # clearances found once serve all tests of this module


@cache
def checked(path: Path) -> tuple[Assembly, Findings]:
    assembly = assemble(load_scene(path))
    return assembly, check(assembly, MEMO)


def promised(path: Path) -> tuple[str, set[str]]:
    """Verdict and failing checks that the header states."""
    found = HEADER.search(path.read_text())
    assert found is not None, f"{path.name} lacks a line like '# Verdict: fail (lift).'"
    verdict, ids = found.groups()
    return verdict, set(re.split(r",\s*", ids)) if ids else set()


def test_there_are_scenes() -> None:
    assert len(SCENES) >= 10
    assert {promised(path)[0] for path in SCENES} >= {"pass", "fail"}


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_a_scene_gives_the_verdict_of_its_header(path: Path) -> None:
    _, findings = checked(path)
    failing = {f.check for f in findings.findings if f.verdict is Verdict.FAIL}
    assert (findings.verdict.value, failing) == promised(path)


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_headers_name_checks_that_exist(path: Path) -> None:
    verdict, ids = promised(path)
    assert ids <= {entry.id for entry in CHECKS}
    assert bool(ids) == (verdict == "fail")


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_every_failure_has_a_remedy_that_makes_it_pass(path: Path) -> None:
    assembly, findings = checked(path)
    known = {f.check for f in findings.findings if f.verdict is Verdict.FAIL}
    tried: dict[tuple[Change, ...], set[tuple[str, tuple[str, ...]]]] = {}
    for finding in findings.findings:
        if finding.verdict is not Verdict.FAIL:
            assert finding.remedy is None
            continue
        assert finding.remedy is not None, finding.message
        if finding.remedy.changes not in tried:
            scene = changed_scene(assembly.scene, finding.remedy.changes)
            assert scene is not None
            again = run(assemble(scene), MEMO)
            failing = {(f.check, f.parts) for f in again if f.verdict is Verdict.FAIL}
            tried[finding.remedy.changes] = failing
        left = tried[finding.remedy.changes]
        assert (finding.check, finding.parts) not in left
        assert {check for check, _ in left} - known <= set(finding.remedy.leaves)


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_nothing_is_left_undecided(path: Path) -> None:
    _, findings = checked(path)
    assert all(f.verdict is not Verdict.NOT_CHECKED for f in findings.findings)


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_what_is_known_from_other_checks_does_not_matter(path: Path) -> None:
    # Which of two equal pairs is named as the nearest may differ.
    assembly, findings = checked(path)
    again = run(assembly)  # without what is already known
    assert [(f.check, f.verdict) for f in again] == [
        (f.check, f.verdict) for f in findings.findings
    ]
    failing, known = (
        {(f.check, f.parts) for f in found if f.verdict is Verdict.FAIL}
        for found in (again, findings.findings)
    )
    assert failing == known
    for one, other in zip(again, findings.findings, strict=True):
        if one.verdict is not Verdict.FAIL and one.value is not None:
            slack = one.error_bound + other.error_bound + 1e-6
            assert one.value == pytest.approx(other.value, abs=slack)


@pytest.mark.parametrize("path", SCENES[:3], ids=lambda path: path.stem)
def test_checking_twice_gives_the_same(path: Path) -> None:
    one, other = (run(assemble(load_scene(path))) for _ in range(2))
    assert one == other
