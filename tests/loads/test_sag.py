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
from rigmodel.loads.bar import bar_cases, dip_ranges, dips, solve_bar
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.hung import BentBar
from rigmodel.loads.sag import part_sags
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(scope="module")
def thin() -> Assembly:
    return assemble(load_scene(SCENES / "thin-bar-sags.yaml"))


@pytest.fixture(scope="module", params=["thin-bar-sags", "struts-hold-a-thin-bar"])
def bar(request: pytest.FixtureRequest) -> Assembly:
    return assemble(load_scene(SCENES / f"{request.param}.yaml"))


@pytest.fixture(scope="module")
def cases(bar: Assembly) -> tuple[BentBar, ...]:
    return bar_cases(bar)


def moves_and_turns(
    cases: tuple[BentBar, ...], shares: FloatArray, at: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What the bar does at places along it with each of its loads there by a share, (m, 3) each."""
    moves, turns = np.zeros((len(at), 3)), np.zeros((len(at), 3))
    for share, case in zip(shares, cases, strict=True):
        moves[:, 0] += share * case.level.deflection(at)
        moves[:, 1] += share * case.pushed.angles(at)
        moves[:, 2] += share * case.upright.deflection(at)
        # Small turns: bending upright tips the left side up about x, level bending turns about z.
        turns[:, 0] += share * case.upright.slope(at)
        turns[:, 1] += share * case.turned.angles(at)
        turns[:, 2] -= share * case.level.slope(at)
    return moves, turns


def test_all_loads_together_are_the_bar_as_it_is_solved(
    bar: Assembly, cases: tuple[BentBar, ...]
) -> None:
    whole = solve_bar(bar)
    at = np.linspace(-1900.0, 1900.0, 77)
    moves, turns = moves_and_turns(cases, np.ones(len(cases)), at)
    assert moves[:, 0] == pytest.approx(whole.level.deflection(at), rel=1e-9, abs=1e-9)
    assert moves[:, 2] == pytest.approx(whole.upright.deflection(at), rel=1e-9, abs=1e-9)
    assert turns[:, 1] == pytest.approx(whole.turned.angles(at), rel=1e-9, abs=1e-12)


@given(st.integers(0, 2**32 - 1), st.booleans())
@settings(max_examples=25)
def test_no_two_corners_move_more_against_each_other_than_is_taken_off(
    bar: Assembly, cases: tuple[BentBar, ...], seed: int, whole: bool
) -> None:
    """Any of the tools in the soil, wholly or in part: no two stations, no station and tractor."""
    sags = part_sags(bar, cases)
    shares = np.random.default_rng(seed).random(len(cases))
    if whole:
        shares = np.round(shares)
    origin = bar.work_frames[bar.mechanism.part("bar").frame][:3, 3]
    tyre = next(k for name, k in bar.mechanism.part_index.items() if name.endswith(".tyre"))
    moved: list[tuple[int, str, FloatArray]] = []
    for station in bar.stations:
        shift, turn = moves_and_turns(cases, shares, np.array([station.place_mm]))
        for name in station.parts[::3]:
            index = bar.mechanism.part_index[name]
            bounds = bar.at_work(bar.mechanism.parts[index]).bounds()
            corners = np.array(list(product(*bounds.T)))
            arms = corners - origin - (0.0, station.place_mm, 0.0)
            moved.append((index, station.name, shift + np.cross(turn, arms)))
    for strut in bar.struts:
        shift, turn = moves_and_turns(cases, shares, np.array([strut.clamp.centre_mm]))
        for name in (strut.clamp.part, strut.name):
            index = bar.mechanism.part_index[name]
            bounds = bar.at_work(bar.mechanism.parts[index]).bounds()
            place = np.array((0.0, strut.clamp.centre_mm, 0.0))
            if name == strut.name:  # its line, from a foot that moves to a top that does not
                pin = shift + np.cross(turn, np.array(strut.foot_mm) - place)
                found = np.linspace(1.0, 0.0, 9)[:, None] * pin
            else:
                found = shift + np.cross(turn, np.array(list(product(*bounds.T))) - origin - place)
            moved.append((index, strut.name, found))
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
    bar: Assembly, cases: tuple[BentBar, ...], seed: int
) -> None:
    random = np.random.default_rng(seed)
    half, side = bar.scene.spec.toolbar.length / 2.0, bar.scene.tube.size / 2.0
    along = np.sort(random.uniform(-half, half, 2000))
    shifts, turns = moves_and_turns(cases, np.round(random.random(len(cases))), along)
    index = bar.mechanism.part_index
    tyre = next(name for name in index if name.endswith(".tyre"))
    kept = part_sags(bar, cases).between(np.array([index["bar"]]), np.array([index[tyre]]))[0]
    for x, z in product((-side, side), repeat=2):
        moved = shifts + np.cross(turns, np.array((x, 0.0, z)))
        assert np.linalg.norm(moved, axis=1).max() <= kept + 1e-9


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25)
def test_no_choice_of_other_tools_takes_a_tool_out_of_its_range_of_depth(
    bar: Assembly, cases: tuple[BentBar, ...], seed: int
) -> None:
    ranges = dip_ranges(bar, cases)
    shares = np.round(np.random.default_rng(seed).random(len(bar.tools)))
    alone = [dips(bar, case) for case in cases]
    for number, tool in enumerate(bar.tools):
        if tool.part in ranges:
            here = np.where(np.arange(len(shares)) == number, 1.0, shares)
            rise = alone[0][tool.part] + sum(
                share * one[tool.part] for share, one in zip(here, alone[1:], strict=True)
            )
            least, most = ranges[tool.part]
            assert least - 1e-9 <= rise <= most + 1e-9


def test_a_range_of_depth_holds_all_tools_and_the_tool_alone_and_reaches_its_ends(
    bar: Assembly, cases: tuple[BentBar, ...]
) -> None:
    together = solve_bar(bar).dips_mm
    alone = [dips(bar, case) for case in cases]
    for number, tool in enumerate(bar.tools):
        if tool.arm:
            continue
        least, most = dip_ranges(bar, cases)[tool.part]
        own = alone[0][tool.part] + alone[number + 1][tool.part]
        assert least - 1e-9 <= min(own, together[tool.part])
        assert max(own, together[tool.part]) <= most + 1e-9
        others = [one[tool.part] for k, one in enumerate(alone[1:]) if k != number]
        for end, way in ((least, -1.0), (most, 1.0)):
            reached = own + sum(one for one in others if way * one > 0.0)
            assert end == pytest.approx(reached, abs=1e-9)


def test_depth_with_some_tools_in_the_soil_is_told_and_never_fails_alone(thin: Assembly) -> None:
    (told,) = [
        f
        for f in ground_contact.findings(Scope(thin))
        if f.pose_name.endswith("some tools in the soil")
    ]
    assert told.verdict is Verdict.ADVISE
    assert told.value is not None
    (part, _), ranges = told.parts, dip_ranges(thin, bar_cases(thin))
    assert told.value == pytest.approx(max(abs(end) for end in ranges[part]), abs=0.05)
    assert "Whichever of the other tools" in told.message
    assert not any("only some of the tools" in n.reason for n in check(thin).not_checked)


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
