"""What is known from earlier assemblies and checks changes no answer."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.assembly.workbench import Workbench
from rigmodel.clearance.checks import crop_band, part_clash, wheel_clash
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.motion import ERROR_BOUND_MM
from rigmodel.clearance.runner import failing, run
from rigmodel.clearance.scope import Memo, Scope
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
SCENE = """
name: Edited again and again
units: in
rows: {{count: 3, spacing: {spacing}, keep_out: 2}}
soil: {{tyres_run: {run}}}
tractor: {{use: small-belly, rear: {{track: {track}}}}}
toolbar: {{tube: tube-2x1-4, length: 80, height: {height}, roll: {roll}}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2, rank: [0, {rank}]}}
  - {{use: blade-spring, at: gaps, depth: 1, shift: {shift}}}
tolerances: {{setting: 1/8}}
"""

scenes = st.builds(
    SCENE.format,
    spacing=st.sampled_from([12, 15, 18]),
    run=st.sampled_from([0, 1]),
    track=st.sampled_from([48, 60]),
    height=st.sampled_from([18, 19.5]),
    roll=st.sampled_from([0, 1]),
    gap=st.sampled_from([0.75, 1.5]),
    rank=st.sampled_from([-6, -10]),
    shift=st.sampled_from([0, 0.5]),
)


def assert_same_rig(one: Assembly, other: Assembly) -> None:
    assert one.adjustments == other.adjustments
    assert one.tools == other.tools
    assert one.clamps == other.clamps
    assert {n: j.value for n, j in one.mechanism.joints.items()} == {
        n: j.value for n, j in other.mechanism.joints.items()
    }
    for a, b in zip(one.mechanism.parts, other.mechanism.parts, strict=True):
        assert (a.name, a.frame, a.bolted_to) == (b.name, b.frame, b.bolted_to)
        assert (one.at_work(a).bounds() == other.at_work(b).bounds()).all()


def assert_same_findings(one: tuple[Finding, ...], other: tuple[Finding, ...]) -> None:
    """Verdicts are the same; values to the bound that each is known to."""
    assert [(f.check, f.verdict, f.limit) for f in one] == [
        (f.check, f.verdict, f.limit) for f in other
    ]
    for a, b in zip(one, other, strict=True):
        known = max(a.error_bound, b.error_bound, ERROR_BOUND_MM)  # of a deep overlap some mm
        assert a.value == pytest.approx(b.value, abs=known)


@given(st.lists(scenes, min_size=2, max_size=4, unique=True))
@settings(max_examples=8, phases=[Phase.explicit, Phase.generate])
def test_answers_do_not_depend_on_what_was_asked_before(texts: list[str]) -> None:
    workbench, memo = Workbench(), Memo()
    for text in (*texts, texts[0]):
        scene = scene_from_text(text)
        fresh, kept = assemble(scene), assemble(scene, workbench)
        assert_same_rig(fresh, kept)
        assert_same_findings(run(fresh), run(kept, memo))


def test_the_same_check_again_asks_the_engine_nothing() -> None:

    text = SCENE.format(
        spacing=15, run=0, track=60, height=19.5, roll=0, gap=0.75, rank=-10, shift=0
    )
    memo = Memo()
    calls = []
    for _ in range(2):
        scope = Scope(assemble(scene_from_text(text)), memo)
        for check in (wheel_clash, part_clash, crop_band):
            list(check.findings(scope))
        calls.append(scope.calls)
    assert calls[0] > 0
    assert calls[1] == 0


@given(st.lists(scenes, min_size=2, max_size=3, unique=True))
@settings(max_examples=8, phases=[Phase.explicit, Phase.generate])
def test_what_fails_is_the_same_asked_quickly_or_in_full(texts: list[str]) -> None:
    memo = Memo()
    for text in texts:
        assembly = assemble(scene_from_text(text))
        quick = failing(assembly, memo)
        full = frozenset(f.key for f in run(assembly) if f.verdict is Verdict.FAIL)
        after = frozenset(f.key for f in run(assembly, memo) if f.verdict is Verdict.FAIL)
        assert quick == full == after


@pytest.mark.parametrize("demo", sorted(SCENES.glob("*.yaml")), ids=lambda path: path.stem)
def test_what_fails_of_a_demo_is_the_same_asked_quickly(demo: Path) -> None:
    assembly = assemble(load_scene(demo))
    full = frozenset(f.key for f in run(assembly) if f.verdict is Verdict.FAIL)
    assert failing(assembly) == full
