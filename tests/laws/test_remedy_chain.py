"""Laws of remedies applied one after another: each gives what it says, and they come to an end."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.clearance.cures import MOST_RANK_MM
from rigmodel.clearance.finding import Change, Choice, Finding, Verdict
from rigmodel.clearance.remedy import ORDER, RemedyFinder, with_remedies
from rigmodel.clearance.trial import Bench, changed_scene, chosen, tape_step, turned
from rigmodel.spec.load import load_scene
from rigmodel.spec.resolve import Scene

SCENES = Path(__file__).parents[2] / "scenes"
NAMES = ("four-narrow-rows-clash", "shank-out-of-travel", "too-wide-for-tyres", "offset-rows")
LOADED = {name: load_scene(SCENES / f"{name}.yaml") for name in NAMES}
BENCH = Bench()
MOST_STEPS = 25
INCH = 25.4


@st.composite
def broken(draw: st.DrawFn) -> Scene:
    """A demo scene with one value turned so that it may fail."""
    scene = LOADED[draw(st.sampled_from(NAMES))]
    spec = scene.spec
    station = draw(st.integers(0, len(spec.stations) - 1))
    inches = draw(st.integers(-12, 12)) * INCH / 2.0
    change = draw(
        st.sampled_from(
            (
                Change(("toolbar", "height"), spec.toolbar.height + inches),
                Change(("toolbar", "length"), spec.toolbar.length + 4.0 * inches),
                Change(("stations", station, "rank"), -abs(inches) * 2.0),
                Change(("stations", station, "shift"), inches / 2.0),
                Change(("rows", "keep_out"), max(INCH, spec.rows.keep_out + inches / 4.0)),
            )
        )
    )
    return changed_scene(scene, [change]) or scene


def failing(scene: Scene) -> tuple[Finding, ...]:
    assembly = BENCH.assembled(scene)
    found = with_remedies(assembly, BENCH.checked(assembly), BENCH)
    return tuple(f for f in found if f.verdict is Verdict.FAIL)


@settings(max_examples=6)
@given(broken())
def test_remedies_give_what_they_say_and_come_to_an_end(scene: Scene) -> None:
    for _ in range(MOST_STEPS):
        found = failing(scene)
        offered = [(f, f.remedy) for f in found if f.remedy is not None]
        if not offered:
            return
        finding, remedy = offered[0]
        changed = changed_scene(scene, remedy.changes)
        assert changed is not None
        left = BENCH.failing(changed)
        before = {f.key for f in found}
        assert finding.key not in left
        assert {check for check, _ in left - before} <= set(remedy.leaves)
        assert all(ORDER[check] > ORDER[finding.check] for check in remedy.leaves)
        for change in remedy.changes:
            sane(scene, finding, change)
        scene = changed
    raise AssertionError("remedies go on and on")


def sane(scene: Scene, finding: Finding, change: Change) -> None:
    """No rank beyond what is set on rigs, and every length turned to a mark of the tape."""
    if any(isinstance(c, Choice) and c.path == change.path for c in finding.cures):
        return
    values = change.value if isinstance(change.value, tuple) else (change.value,)
    was = change.was if isinstance(change.was, tuple) else (change.was,)
    turned = [v for v, old in zip(values, was, strict=True) if v != old]
    for value in turned:
        assert isinstance(value, float)
        if change.path[-1] == "rank":
            assert -MOST_RANK_MM <= value <= 0.0
        steps = value / tape_step(scene.unit, change.unit)
        assert abs(steps - round(steps)) < 1e-6


@settings(max_examples=10)
@given(broken(), st.integers(0, 100))
def test_what_is_hopeless_at_a_glance_is_no_remedy(scene: Scene, turn: int) -> None:
    """Two parts alone on the bar, too near for a glance, are too near for the whole check."""
    assembly = BENCH.assembled(scene)
    found = [f for f in BENCH.checked(assembly) if f.verdict is Verdict.FAIL and f.cures]
    for finding in found[turn % max(1, len(found)) :][:2]:
        finder = RemedyFinder(assembly, found, BENCH)
        cure = finding.cures[turn % len(finding.cures)]
        if isinstance(cure, Choice):
            changes = [chosen(cure, value) for value in cure.values[:2]]
        else:
            changes = [turned(cure, (cure.toward - cure.start) * share) for share in (0.1, 1.0)]
        for change in changes:
            changed = changed_scene(scene, change)
            if changed is not None and finder._still_near(finding, change):
                again = BENCH.failing(changed, (finding.check,))
                assert finding.key in again or not again <= {f.key for f in found}
