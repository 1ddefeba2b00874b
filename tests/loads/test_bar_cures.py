"""What is offered for a bar that sags or is stressed too much, each way tried on its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.bar_cures import bar_cures
from rigmodel.clearance.check import check
from rigmodel.clearance.checks import load_bar
from rigmodel.clearance.finding import Choice, Verdict
from rigmodel.clearance.scope import Scope
from rigmodel.clearance.trial import changed_scene, chosen
from rigmodel.errors import InputError
from rigmodel.loads.bar import solve_bar
from rigmodel.loads.hung import bar_section
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
SCENE = """
name: A bar on hangers
units: in
rows: {count: 2, spacing: 24, keep_out: 2 1/2}
soil: {texture: medium}
tractor: {use: compact-rear, speed_kmh: 6}
toolbar: TOOLBAR
stations: [{use: blade-rigid, at: [-20, 0, 20], depth: 1}]
"""


def bar(toolbar: str) -> Assembly:
    return assemble(scene_from_text(SCENE.replace("TOOLBAR", toolbar)))


def offered(assembly: Assembly, says: str) -> list[Choice]:
    return [c for c in bar_cures(assembly) if isinstance(c, Choice) and says in c.says]


def changed(assembly: Assembly, cure: Choice, value: object) -> Assembly:
    scene = changed_scene(assembly.scene, chosen(cure, value))
    assert scene is not None
    return assemble(scene)


@pytest.fixture(scope="module")
def thin() -> Assembly:
    return assemble(load_scene(SCENES / "thin-bar-sags.yaml"))


def test_the_thin_bar_on_a_larger_tube_with_its_clamps_passes_everything(thin: Assembly) -> None:
    next_up = offered(thin, "larger tube")[0]
    assert next_up.values[0] == "tube-2-1-2x3-16"
    assert {c.value for c in next_up.also} == {"bar-clamp-2-1-2"}
    assert len(next_up.also) == len(thin.scene.spec.stations)
    larger = changed(thin, next_up, next_up.values[0])
    assert check(larger).verdict is not Verdict.FAIL


def test_the_thin_bar_on_two_more_hangers_sags_less(thin: Assembly) -> None:
    (cure,) = offered(thin, "two more places")
    half = thin.scene.spec.toolbar.length / 2.0
    ends = np.array([-half, half])
    before = solve_bar(thin).upright.deflection(ends)
    for value in cure.values[1:]:
        held = changed(thin, cure, value)
        after = solve_bar(held).upright.deflection(ends)
        assert (np.abs(after) < np.abs(before)).all()


def test_two_more_hangers_pass_everything_where_they_are_enough(thin: Assembly) -> None:
    (cure,) = offered(thin, "two more places")
    verdicts = [check(changed(thin, cure, value)).verdict for value in cure.values[2:6:2]]
    assert any(verdict is not Verdict.FAIL for verdict in verdicts)


def test_one_more_hanger_stands_in_the_middle_of_the_widest_stretch() -> None:
    assembly = bar("{tube: tube-2x1-8, length: 100, height: 20, hangers: [45, 30, -45]}")
    (cure,) = offered(assembly, "one more place")
    assert cure.values == (pytest.approx((-1143.0, -190.0, 762.0, 1143.0), abs=0.5),)
    before, after = solve_bar(assembly), solve_bar(changed(assembly, cure, cure.values[0]))
    assert after.stress_mpa < before.stress_mpa


@pytest.mark.parametrize("tube", ["tube-2x1-8", "tube-2x3-16-perforated"])
def test_every_larger_tube_goes_together_and_is_stiffer(tube: str) -> None:
    assembly = bar(f"{{tube: {tube}, length: 72, height: 20, hangers: [15, -15]}}")
    cures = offered(assembly, "larger tube")
    assert cures
    for cure in cures:
        sizes = []
        for value in cure.values:
            larger = changed(assembly, cure, value)
            assert larger.scene.tube.hole_pitch == assembly.scene.tube.hole_pitch
            assert bar_section(larger).second_moment_mm4 > bar_section(assembly).second_moment_mm4
            sizes.append(larger.scene.tube.size)
        assert len(set(sizes)) == 1
    nearest = [changed(assembly, c, c.values[0]).scene.tube.size for c in cures]
    assert nearest == sorted(nearest)


def test_a_size_that_has_no_clamps_is_not_offered() -> None:
    assembly = bar("{tube: tube-2x1-4, length: 72, height: 20, hangers: [15, -15]}")
    sizes = {
        assembly.scene.catalogue.parts[str(c.values[0])].size  # type: ignore[union-attr]
        for c in offered(assembly, "larger tube")
    }
    clamps = {p.fits for p in assembly.scene.catalogue.parts.values() if p.kind == "bar-clamp"}
    assert sizes
    assert all(any(abs(size - fits) <= 0.5 for fits in clamps) for size in sizes)


RANKED = "{use: finger-pair, at: rows, pair_gap: 1, depth: 1/2, draft_n: 20, rank: [0, -8]}"


def test_stations_on_cross_tubes_get_tee_clamps_for_the_larger_bar() -> None:
    toolbar = "{tube: tube-2x1-8, length: 72, height: 20, hangers: [15, -15], yield_mpa: 300}"
    scene = SCENE.replace("TOOLBAR", toolbar).replace("stations: [", f"stations: [{RANKED}, ")
    assembly = assemble(scene_from_text(scene))
    cures = offered(assembly, "larger tube")
    assert [assembly.scene.catalogue.parts[str(c.values[0])].size for c in cures] == [63.5, 76.2]  # type: ignore[union-attr]
    for cure, tee in zip(cures, ("tee-clamp-2-1-2x2", "tee-clamp-3x2"), strict=True):
        larger = changed(assembly, cure, cure.values[0])
        items = {part.item for part in larger.rig_parts()}
        assert tee in items
        assert not items & {"tee-clamp-2", "bar-clamp-2"}
        assert "tube-2x3-16-perforated" in items  # the cross tube stays


@pytest.mark.parametrize(
    ("tube", "says"),
    [
        ("tube: tube-3x1-4", "no clamp like bar-clamp-3 for a"),
        ("size: 2, wall: 1/8", "own size and wall are given"),
    ],
)
def test_a_bar_with_no_larger_tube_is_told_why(tube: str, says: str) -> None:
    clamp = "bar-clamp-3" if "3x" in tube else "bar-clamp-2"
    toolbar = f"{{{tube}, length: 140, height: 20, hangers: [3, -3], yield_mpa: 60}}"
    scene = SCENE.replace("TOOLBAR", toolbar).replace(
        "at: [-20, 0, 20], depth: 1", f"at: [-66, 0, 66], depth: 1, swap: {{mount: {clamp}}}"
    )
    assembly = assemble(scene_from_text(scene))
    assert not offered(assembly, "larger tube")
    failing = [f for f in load_bar.findings(Scope(assembly)) if f.verdict is Verdict.FAIL]
    assert says in failing[0].message


def test_a_tee_clamp_for_other_tubes_is_said_with_the_one_that_joins_them() -> None:
    toolbar = "{tube: tube-2-1-2x1-4, length: 72, height: 20}"
    ranked = RANKED.replace("rank:", "swap: {mount: bar-clamp-2-1-2}, rank:")
    scene = SCENE.replace("TOOLBAR", toolbar).replace("stations: [", f"stations: [{ranked}, ")
    scene = scene.replace("depth: 1}]", "depth: 1, swap: {mount: bar-clamp-2-1-2}}]")
    with pytest.raises(InputError, match="joins a 2 in tube to a 2 in bar") as told:
        scene_from_text(scene)
    assert "rank_clamp" in str(told.value)
    assert "did you mean 'tee-clamp-2-1-2x2'" in str(told.value)
    right = scene.replace("{mount: bar-clamp-2-1-2}, rank", "{mount: bar-clamp-2-1-2, "
                          "rank_clamp: tee-clamp-2-1-2x2}, rank")  # fmt: skip
    assert assemble(scene_from_text(right))


def test_no_more_hangers_than_a_scene_may_have_are_offered() -> None:
    places = ", ".join(str(5 * k - 27.5) for k in range(12))
    assembly = bar(f"{{tube: tube-2x1-4, length: 72, height: 20, hangers: [{places}]}}")
    assert not offered(assembly, "more place")


def test_another_tube_must_be_as_strong_as_was_stated(thin: Assembly) -> None:
    """The strength stated in the scene is counted on for the new tube too, so it is told."""
    for says in ("thicker wall", "larger tube"):
        assert all("yield strength of 450 MPa or more" in c.says for c in offered(thin, says))
    plain = bar("{tube: tube-2x1-8, length: 72, height: 20, hangers: [15, -15]}")
    assert not any("yield" in c.says for c in bar_cures(plain))
