"""Sag of the bar comes off the clearances: never less than points of the parts really move."""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meshes_generic.transform import FloatArray
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check
from rigmodel.clearance.checks import ground_contact, part_clash
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.scope import Scope
from rigmodel.clearance.trial import changed_scene
from rigmodel.loads.bar import BentBar, bar_cases, solve_bar
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.sag import part_sags
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(scope="module")
def thin() -> Assembly:
    return assemble(load_scene(SCENES / "thin-bar-sags.yaml"))


@pytest.fixture(scope="module")
def cases(thin: Assembly) -> tuple[BentBar, ...]:
    return bar_cases(thin)


def moves_and_turns(
    cases: tuple[BentBar, ...], shares: FloatArray, at: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What the bar does at places along it with each of its loads there by a share, (m, 3) each."""
    moves, turns = np.zeros((len(at), 3)), np.zeros((len(at), 3))
    for share, case in zip(shares, cases, strict=True):
        moves[:, 0] += share * case.level.deflection(at)
        moves[:, 2] += share * case.upright.deflection(at)
        # Small turns: bending upright tips the left side up about x, level bending turns about z.
        turns[:, 0] += share * case.upright.slope(at)
        turns[:, 1] += share * case.turned.angles(at)
        turns[:, 2] -= share * case.level.slope(at)
    return moves, turns


def test_all_loads_together_are_the_bar_as_it_is_solved(
    thin: Assembly, cases: tuple[BentBar, ...]
) -> None:
    whole = solve_bar(thin)
    at = np.linspace(-1900.0, 1900.0, 77)
    moves, turns = moves_and_turns(cases, np.ones(len(cases)), at)
    assert moves[:, 0] == pytest.approx(whole.level.deflection(at), rel=1e-9, abs=1e-9)
    assert moves[:, 2] == pytest.approx(whole.upright.deflection(at), rel=1e-9, abs=1e-9)
    assert turns[:, 1] == pytest.approx(whole.turned.angles(at), rel=1e-9, abs=1e-12)


@given(st.integers(0, 2**32 - 1), st.booleans())
@settings(max_examples=25)
def test_no_two_corners_move_more_against_each_other_than_is_taken_off(
    thin: Assembly, cases: tuple[BentBar, ...], seed: int, whole: bool
) -> None:
    """Any of the tools in the soil, wholly or in part: no two stations, no station and tractor."""
    sags = part_sags(thin)
    shares = np.random.default_rng(seed).random(len(cases))
    if whole:
        shares = np.round(shares)
    origin = thin.work_frames[thin.mechanism.part("bar").frame][:3, 3]
    tyre = next(k for name, k in thin.mechanism.part_index.items() if name.endswith(".tyre"))
    moved: list[tuple[int, str, FloatArray]] = []
    for station in thin.stations:
        shift, turn = moves_and_turns(cases, shares, np.array([station.place_mm]))
        for name in station.parts[::3]:
            index = thin.mechanism.part_index[name]
            bounds = thin.at_work(thin.mechanism.parts[index]).bounds()
            corners = np.array(list(product(*bounds.T)))
            arms = corners - origin - (0.0, station.place_mm, 0.0)
            moved.append((index, station.name, shift + np.cross(turn, arms)))
    for index, _, found in moved:
        kept = sags.between(np.array([index]), np.array([tyre]))[0]
        assert np.linalg.norm(found, axis=1).max() <= kept + 1e-9
    for (i, one, a), (j, other, b) in combinations(moved, 2):
        if one != other:
            found = np.linalg.norm(a[:, None] - b[None, :], axis=2).max()
            assert found <= sags.between(np.array([i]), np.array([j]))[0] + 1e-9


def test_the_thin_bar_is_caught_and_a_rig_without_hangers_loses_nothing(thin: Assembly) -> None:
    told = [f for f in ground_contact.findings(Scope(thin)) if f.verdict is Verdict.FAIL]
    assert [f.pose_name for f in told] == ["level, the bar sagging"]
    plain = Scope(assemble(load_scene(SCENES / "three-rows-belly.yaml")))
    assert plain.sags is None
    assert not plain.sag_between(part_clash.pairs(plain)).any()


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25)
def test_no_corner_of_the_bar_moves_more_than_the_tractor_is_kept_from(
    thin: Assembly, cases: tuple[BentBar, ...], seed: int
) -> None:
    random = np.random.default_rng(seed)
    half, side = thin.scene.spec.toolbar.length / 2.0, thin.scene.tube.size / 2.0
    along = np.sort(random.uniform(-half, half, 2000))
    shifts, turns = moves_and_turns(cases, np.round(random.random(len(cases))), along)
    index = thin.mechanism.part_index
    tyre = next(name for name in index if name.endswith(".tyre"))
    kept = part_sags(thin).between(np.array([index["bar"]]), np.array([index[tyre]]))[0]
    for x, z in product((-side, side), repeat=2):
        moved = shifts + np.cross(turns, np.array((x, 0.0, z)))
        assert np.linalg.norm(moved, axis=1).max() <= kept + 1e-9


def test_the_demo_is_caught_at_12_mm_and_a_thicker_wall_passes(thin: Assembly) -> None:
    half = thin.scene.spec.toolbar.length / 2.0
    ends = solve_bar(thin).upright.deflection(np.array([-half, half]))
    assert ends == pytest.approx(-12.0, abs=0.1)
    findings = check(thin)
    failing = [f for f in findings.findings if f.verdict is Verdict.FAIL]
    assert {f.check for f in failing} == {"ground-contact"}
    for finding in failing:
        assert finding.remedy is not None
        assert not finding.remedy.leaves
        assert [c.path for c in finding.remedy.changes] == [("toolbar", "tube")]
        assert ENGINEER in finding.message
    scene = changed_scene(thin.scene, failing[0].remedy.changes)  # type: ignore[union-attr]
    assert scene is not None
    assert check(assemble(scene)).verdict is not Verdict.FAIL
