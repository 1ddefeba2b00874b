"""Statics: forces and moments on the bar of any rig add up to nothing; mirrors pull alike."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import account
from rigmodel.loads.along import hanger_forces
from rigmodel.loads.bar import pulls, pushes, solve_bar, weights
from rigmodel.loads.constants import GRAVITY
from rigmodel.loads.side import acts_at
from rigmodel.spec.load import scene_from_text

SCENE = """
name: Any rig on hangers
units: in
rows: {{count: {count}, spacing: {spacing}, keep_out: 2}}
soil: {{texture: {texture}}}
tractor: {{use: compact-rear, speed_kmh: {speed}}}
toolbar: {{tube: {tube}, length: {length}, height: 20, hangers: [{left}, {more}{right}],
  struts: [{struts}]}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: 1, depth: 1/2, draft_n: {pull}, side_n: {push},
     rank: [0, {rank}]}}
  - {{use: blade-rigid, at: gaps, depth: {depth}, shift: {shift}}}
  - {{use: blade-spring, at: outside, depth: {depth}, sides: {sides}}}
"""
KNOWN = 1e-9

strut = st.fixed_dictionaries(
    {
        "at": st.integers(-700, 700).map(lambda v: v / 10),
        "top": st.integers(-300, 300).map(lambda v: v / 10),
        "height": st.sampled_from([8, 20, 33.3]),
        "ahead": st.sampled_from([0, 0, 6.5, -9]),
        "tube": st.sampled_from(["tube-1-1-2x1-8", "tube-2x1-4"]),
    }
).map(lambda d: "{" + ", ".join(f"{k}: {v}" for k, v in d.items()) + ", clamp: strut-clamp-2}")

rigs = st.fixed_dictionaries(
    {
        "count": st.integers(2, 5),
        "spacing": st.sampled_from([15, 21.3, 30]),
        "texture": st.sampled_from(["fine", "medium", "coarse"]),
        "speed": st.floats(1.0, 8.0).map(lambda v: round(v, 2)),
        "tube": st.sampled_from(["tube-2x1-8", "tube-2x1-4"]),
        "length": st.sampled_from([150, 180]),
        "left": st.floats(3.0, 70.0).map(lambda v: round(v, 2)),
        "more": st.sampled_from(["", "0, ", "1.5, -1.5, "]),
        "right": st.floats(-70.0, -3.0).map(lambda v: round(v, 2)),
        "pull": st.integers(0, 300),
        "push": st.integers(-200, 200),
        "rank": st.sampled_from([0, -8, -14.5]),
        "depth": st.sampled_from([0.5, 1.25]),
        "shift": st.sampled_from([0, 1.3]),
        "sides": st.sampled_from(["both", "left", "right"]),
        "struts": st.lists(strut, max_size=3).map(", ".join),
    }
)


def built(values: Mapping[str, object], **changes: object) -> Assembly:
    return assemble(scene_from_text(SCENE.format(**{**values, **changes})))


@given(rigs)
@settings(max_examples=40)
def test_forces_and_moments_on_the_bar_add_up_to_nothing(values: dict[str, object]) -> None:
    """The whole free body: weights, the bar's own, drafts both ways, what hangers and struts do."""
    assembly = built(values)
    bar = solve_bar(assembly)
    own = assembly.mechanism.part("bar").solid.mass_properties().mass_kg * GRAVITY
    acting = [*weights(assembly), *pulls(assembly), *pushes(assembly)]
    held = np.sort(np.array(assembly.scene.spec.toolbar.hangers))
    forces = [f.force_n for f in acting] + [np.array((0.0, 0.0, -own))]
    places = [np.array((0.0, f.at_mm, 0.0)) + f.arm_mm for f in acting] + [np.zeros(3)]
    for hanger in hanger_forces(bar):
        forces.append(np.array((hanger.ahead_n, hanger.left_n, hanger.up_n)))
        places.append(np.array((0.0, hanger.at_mm, 0.0)))
    assert sorted(hanger.at_mm for hanger in hanger_forces(bar)) == pytest.approx(held)
    for one, pull in zip(assembly.struts, bar.bent.pulls_n, strict=True):
        foot, top = np.array(one.foot_mm), np.array(one.top_mm)
        forces.append(pull * (top - foot) / np.linalg.norm(top - foot))
        places.append(foot)
    force, at = np.array(forces), np.array(places)
    size = np.abs(force).sum()
    assert force.sum(axis=0) == pytest.approx(np.zeros(3), abs=KNOWN * size)
    moments = np.cross(at, force)
    total = moments.sum(axis=0) + np.array((0.0, bar.turned.reactions.sum(), 0.0))
    assert total == pytest.approx(np.zeros(3), abs=KNOWN * np.abs(moments).sum())


@given(rigs)
@settings(max_examples=25)
def test_the_account_of_a_rig_is_the_sum_of_its_parts_in_every_pose(
    values: dict[str, object],
) -> None:
    found = account(built(values))
    total = sum(part.mass_kg for part in found.parts.values())
    for balance in found.balances:
        assert balance.mass_kg == pytest.approx(total, rel=KNOWN)
    centre = sum(p.mass_kg * p.centroid_mm for p in found.parts.values()) / total
    assert found.balances[0].centre_mm == pytest.approx(centre, rel=KNOWN, abs=1e-6)
    assert found.pull is not None
    drafts = [d.middle_n for d in found.drafts.values()]
    assert found.pull.draft_n == pytest.approx(sum(drafts), rel=KNOWN)
    assert found.pull.low_n <= found.pull.draft_n <= found.pull.high_n


@given(rigs)
@settings(max_examples=15)
def test_a_rig_on_one_side_pulls_as_far_to_that_side_as_its_mirror_to_the_other(
    values: dict[str, object],
) -> None:
    left, right = (
        account(built(values, sides=side, left=20, right=-20, shift=0, struts="")).pull
        for side in ("left", "right")
    )
    assert left is not None
    assert right is not None
    assert left.yaw_nm == pytest.approx(-right.yaw_nm, rel=1e-6, abs=1e-6)
    assert left.draft_n == pytest.approx(right.draft_n, rel=KNOWN)


@given(rigs)
@settings(max_examples=15)
def test_what_the_tyres_must_push_balances_draft_and_side_draft(values: dict[str, object]) -> None:
    """The whole rig and tractor from above: forces to the side, and moments about any point."""
    assembly = built(values, sides="left")
    found = account(assembly)
    pull = found.pull
    assert pull is not None
    assert pull.side_n is not None
    assert pull.front_n is not None
    assert pull.rear_n is not None
    forces = [np.array((0.0, pull.front_n, 0.0)), np.array((0.0, pull.rear_n, 0.0))]
    places = [np.array((assembly.scene.tractor.wheelbase, 0.0, 0.0)), np.zeros(3)]
    for tool in assembly.tools:
        drawn = found.drafts[tool.part].middle_n
        forces.append(np.array((-drawn, found.side.tools[tool.part], 0.0)))
        places.append(acts_at(assembly, tool))
    forces.append(np.array((pull.draft_n, 0.0, 0.0)))  # the tractor's own pull, in its middle
    places.append(np.zeros(3))
    size = np.abs(forces).sum()
    assert sum(forces) == pytest.approx(np.zeros(3), abs=KNOWN * size)
    for point in (np.zeros(3), np.array((-700.0, 300.0, 0.0))):
        moments = np.cross(np.array(places) - point, forces)[:, 2]
        assert moments.sum() == pytest.approx(0.0, abs=KNOWN * np.abs(moments).sum())
