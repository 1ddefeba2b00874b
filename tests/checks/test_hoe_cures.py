"""Remedies for kinds of failure that one value of one station does not cure, or cures badly."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigmodel.clearance.finding import Change, Finding, Verdict
from rigmodel.clearance.remedy import with_remedies
from rigmodel.clearance.trial import Bench, changed_scene
from rigmodel.spec.load import load_scene, scene_from_text
from rigmodel.spec.new import QUESTIONS, new_scene_text
from rigmodel.spec.resolve import Scene

SCENES = Path(__file__).parents[2] / "scenes"
INCH = 25.4
MOST_STEPS = 12


def failing(scene: Scene, bench: Bench) -> list[Finding]:
    assembly = bench.assembled(scene)
    found = with_remedies(assembly, bench.checked(assembly), bench)
    return [f for f in found if f.verdict is Verdict.FAIL]


def cured(scene: Scene) -> list[str]:
    """What first remedies say, applied one after another until nothing fails."""
    bench, said = Bench(), list[str]()
    for _ in range(MOST_STEPS):
        found = failing(scene, bench)
        if not found:
            return said
        remedy = next(f.remedy for f in found if f.remedy is not None)
        said.append(remedy.says)
        changed = changed_scene(scene, remedy.changes)
        assert changed is not None
        scene = changed
    raise AssertionError(said)


def changed(name: str, *changes: Change) -> Scene:
    scene = changed_scene(load_scene(SCENES / f"{name}.yaml"), changes)
    assert scene is not None
    return scene


@pytest.mark.parametrize("shift", [-2.0, 1.0])
def test_a_shift_that_spoils_the_gap_of_pairs_is_taken_back(shift: float) -> None:
    said = cured(changed("three-rows-belly", Change(("stations", 0, "shift"), shift * INCH)))
    assert any("without a shift" in text for text in said)


def test_the_form_s_own_rig_with_a_narrower_band_has_a_way_out() -> None:
    text = new_scene_text({q.key: "2" if q.key == "keep_out" else q.default for q in QUESTIONS})
    said = cured(scene_from_text(text))
    assert any("wider" in text for text in said)


def test_a_blade_wider_than_its_gap_is_changed_and_not_moved() -> None:
    # Rows 12 in apart with bands of 3 in leave 6 in; 7 in blades stand there.
    keep = Change(("rows", "keep_out"), 3.0 * INCH)
    found = failing(changed("four-narrow-rows-staggered", keep), Bench())
    remedies = [f.remedy for f in found if f.check == "crop-band" and "blade" in f.parts[0]]
    assert remedies
    assert all(r is not None and "blade-7 → blade-6" in r.says for r in remedies)


UNEQUAL = """
name: Two gaps of two widths
units: in
rows: {{positions: [14, 0, -12], keep_out: 2 1/2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 72, height: 20}}
stations:
  - {{use: blade-spring, at: gaps, only: [1], depth: 1, shift: {shift}, swap: {{blade: {first}}}}}
  - {{use: blade-spring, name: other, at: gaps, only: [2], depth: 1, swap: {{blade: {second}}}}}
  - {{use: blade-spring, at: outside, depth: 1}}
"""


@pytest.mark.parametrize(
    ("first", "second", "shift"),
    [
        ("blade-7", "blade-9", "0"),  # swapped
        ("blade-7", "blade-7", "0"),  # one too narrow
        ("blade-9", "blade-9", "0"),  # one too wide
        ("blade-7", "blade-9", "1"),  # and out of the middle
        ("blade-10", "blade-4", "0"),  # one too wide beside one too narrow
    ],
)
def test_hoes_that_do_not_suit_their_gaps_are_changed_together(
    first: str, second: str, shift: str
) -> None:
    text = UNEQUAL.format(first=first, second=second, shift=shift)
    assert len(cured(scene_from_text(text))) <= 3


def test_swapped_hoes_go_back_in_one_step() -> None:
    text = UNEQUAL.format(first="blade-7", second="blade-9", shift="0")
    said = cured(scene_from_text(text))
    assert len(said) == 1
    assert "blade-7 → blade-9" in said[0]
    assert "blade-9 → blade-7" in said[0]


def test_a_clamp_in_the_way_is_hung_on_the_other_side() -> None:
    hand = Change(("stations", 1, "hand"), ("left", "left"))
    said = cured(changed("three-rows-belly", hand, Change(("stations", 1, "shift"), 0.0)))
    assert any("other side of its shank" in text or "Shift" in text for text in said) or not said
