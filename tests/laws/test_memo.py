"""What is known from earlier assemblies and checks changes no answer."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.assembly.workbench import Workbench
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.clearance.checks import crop_band, part_clash, wheel_clash
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.motion import ERROR_BOUND_MM
from rigmodel.clearance.runner import failing, run
from rigmodel.clearance.scope import Memo, Scope
from rigmodel.spec.load import load_scene, scene_from_text
from rigmodel.spec.resolve import Planner, Scene, resolve

SCENES = Path(__file__).parents[2] / "scenes"
SCENE = """
name: Edited again and again
units: in
rows: {{count: 3, spacing: {spacing}, keep_out: 2}}
soil: {{tyres_run: {run}}}
tractor:
  use: small-belly
  rear: {{track: {track}}}
  front: {{tyre: {tyre}}}
  steering_lock: {lock}
  lift: {{highest: {highest}}}
toolbar: {{tube: tube-2x1-4{holes}, length: 80, height: {height}, roll: {roll}}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: 1/2, rank: [0, {rank}]}}
  - {{use: blade-spring, at: {at}, depth: 1, shift: {shift}, name: hoe}}
tolerances: {{setting: {error}}}
"""

scenes = st.builds(
    SCENE.format,
    spacing=st.sampled_from([12, 15, 18]),
    run=st.sampled_from([0, 1]),
    track=st.sampled_from([48, 60]),
    tyre=st.sampled_from(["5.00-15", "6.00-16"]),
    lock=st.sampled_from([0, 40]),
    highest=st.sampled_from([26, 30]),
    holes=st.sampled_from(["", ", hole_pitch: 1"]),
    at=st.sampled_from(["gaps", "tracks"]),
    error=st.sampled_from(["1/8", "1/16"]),
    height=st.sampled_from([18, 19.5]),
    roll=st.sampled_from([0, 1]),
    gap=st.sampled_from([0.75, 1.5]),
    rank=st.sampled_from([-6, -10]),
    shift=st.sampled_from([0, 0.5]),
)


TEXT = SCENE.format(
    spacing=15,
    run=0,
    track=60,
    tyre="5.00-15",
    lock=40,
    highest=30,
    holes="",
    at="gaps",
    error="1/8",
    height=19.5,
    roll=0,
    gap=0.75,
    rank=-10,
    shift=0,
)


def assert_same_rig(one: Assembly, other: Assembly) -> None:
    assert one.adjustments == other.adjustments
    assert one.tools == other.tools
    assert one.clamps == other.clamps
    assert {n: j.value for n, j in one.mechanism.joints.items()} == {
        n: j.value for n, j in other.mechanism.joints.items()
    }
    assert one.stations == other.stations
    assert one.rows == other.rows
    for f, g in zip(one.mechanism.frames, other.mechanism.frames, strict=True):
        assert (f.name, f.parent) == (g.name, g.parent)
        assert (f.placement == g.placement).all()
        joints = [None if x.joint is None else vars(x.joint) for x in (f, g)]
        assert joints[0] == joints[1]
    for a, b in zip(one.mechanism.parts, other.mechanism.parts, strict=True):
        assert (a.role, a.item, a.station) == (b.role, b.item, b.station)
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


@given(st.lists(scenes, min_size=6, max_size=12))
@settings(max_examples=15, phases=[Phase.explicit, Phase.generate])
def test_rigs_and_stations_found_again_are_those_made_anew(texts: list[str]) -> None:
    workbench, planner = Workbench(), Planner()
    for text in texts:
        scene = scene_from_text(text)
        again = resolve(scene.spec, builtin_catalogue(), "", planner)
        assert isinstance(again, Scene)
        assert [vars(p) for p in again.stations] == [vars(p) for p in scene.stations]
        assert_same_rig(assemble(scene), assemble(again, workbench))


def test_a_rig_is_put_together_once_for_all_tractors() -> None:
    workbench, planner = Workbench(), Planner()
    for part, once in (("track: 60", True), ("highest: 30", True), ("spacing: 15", False)):
        name, value = part.split(": ")
        texts = [TEXT, TEXT.replace(part, f"{name}: {float(value) - 4}")]
        assert texts[0] != texts[1]
        one, other = (
            assemble(resolved(scene_from_text(text), planner), workbench) for text in texts
        )
        assert (one.stations is other.stations) == once
        assert (one.mechanism.parts[-1] is other.mechanism.parts[-1]) == once


def resolved(scene: Scene, planner: Planner) -> Scene:
    again = resolve(scene.spec, builtin_catalogue(), "", planner)
    assert isinstance(again, Scene)
    return again


def test_the_same_check_again_asks_the_engine_nothing() -> None:

    memo = Memo()
    calls = []
    for _ in range(2):
        scope = Scope(assemble(scene_from_text(TEXT)), memo)
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
