"""Sag of the bar comes off the clearances: never less than points of the parts really move."""

from __future__ import annotations

from itertools import combinations, product
from pathlib import Path

import numpy as np

from rigmodel.assembly.build import assemble
from rigmodel.clearance.checks import ground_contact, part_clash
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.scope import Scope
from rigmodel.loads.sag import part_sags
from rigmodel.spec.load import load_scene

SCENES = Path(__file__).parents[2] / "scenes"


def test_no_two_corners_move_more_against_each_other_than_is_taken_off() -> None:
    assembly = assemble(load_scene(SCENES / "thin-bar-sags.yaml"))
    scope = Scope(assembly)
    assert scope.bar is not None
    bar, sags = scope.bar, part_sags(assembly, scope.bar)
    origin = assembly.work_frames[assembly.mechanism.part("bar").frame][:3, 3]
    moves: list[tuple[int, str, np.ndarray]] = []
    for station in assembly.stations:
        at = np.array([station.place_mm])
        shift = np.array((bar.level.deflection(at)[0], 0.0, bar.upright.deflection(at)[0]))
        # Small turns: bending upright tips left side up about x, level bending turns about z.
        turn = np.array(
            (bar.upright.slope(at)[0], bar.turned.angles(at)[0], -bar.level.slope(at)[0])
        )
        for name in station.parts[::3]:
            index = assembly.mechanism.part_index[name]
            bounds = assembly.at_work(assembly.mechanism.parts[index]).bounds()
            corners = np.array(list(product(*bounds.T)))
            arms = corners - origin - (0.0, station.place_mm, 0.0)
            moves.append((index, station.name, shift + np.cross(turn, arms)))
    for (i, one, a), (j, other, b) in combinations(moves, 2):
        if one != other:
            moved = np.linalg.norm(a[:, None] - b[None, :], axis=2).max()
            assert moved <= sags.between(np.array([i]), np.array([j]))[0] + 1e-9


def test_the_thin_bar_is_caught_and_a_rig_without_hangers_loses_nothing() -> None:
    thin = Scope(assemble(load_scene(SCENES / "thin-bar-sags.yaml")))
    told = [f for f in ground_contact.findings(thin) if f.verdict is Verdict.FAIL]
    assert [f.pose_name for f in told] == ["level, the bar sagging"]
    plain = Scope(assemble(load_scene(SCENES / "three-rows-belly.yaml")))
    assert plain.sags is None
    assert not plain.sag_between(part_clash.pairs(plain)).any()


def test_no_corner_of_the_bar_moves_more_than_the_tractor_is_kept_from() -> None:
    assembly = assemble(load_scene(SCENES / "thin-bar-sags.yaml"))
    scope = Scope(assembly)
    assert scope.bar is not None
    bar, sags = scope.bar, part_sags(assembly, scope.bar)
    half, side = assembly.scene.spec.toolbar.length / 2.0, assembly.scene.tube.size / 2.0
    along = np.linspace(-half, half, 401)
    zero = np.zeros(len(along))
    shifts = np.column_stack((bar.level.deflection(along), zero, bar.upright.deflection(along)))
    turns = np.column_stack(
        (bar.upright.slope(along), bar.turned.angles(along), -bar.level.slope(along))
    )
    index = assembly.mechanism.part_index
    tyre = next(name for name in index if name.endswith(".tyre"))
    kept = sags.between(np.array([index["bar"]]), np.array([index[tyre]]))[0]
    for x, z in product((-side, side), repeat=2):
        moved = shifts + np.cross(turns, np.array((x, 0.0, z)))
        assert np.linalg.norm(moved, axis=1).max() <= kept + 1e-9
