"""The account of weights and forces holds together, and every number in it can be traced."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.constants
import trimesh

from meshes_generic.material import Material, density_kg_m3
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.runner import run
from rigmodel.loads import words
from rigmodel.loads.account import Account, account
from rigmodel.loads.balance import lifted_pose, lifted_rigs, rig_mass
from rigmodel.loads.bar import pulls, weights
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA
from rigmodel.loads.hung import bar_section
from rigmodel.loads.trace import trace
from rigmodel.spec.load import load_scene
from rigmodel.units import Unit

SCENES = Path(__file__).parents[2] / "scenes"


@pytest.fixture(scope="module")
def loaded() -> Assembly:
    """A rig of which nearly everything is stated."""
    return assemble(load_scene(SCENES / "thin-bar-sags.yaml"))


@pytest.fixture(scope="module")
def stated() -> Assembly:
    """A rig with springs, clamps, capacity and axle loads stated as well."""
    return assemble(load_scene(SCENES / "weights-and-forces.yaml"))


@pytest.fixture(scope="module")
def bare() -> Assembly:
    """A rig of which nothing is stated that is about forces."""
    return assemble(load_scene(SCENES / "three-rows-belly.yaml"))


@pytest.fixture(scope="module")
def found(loaded: Assembly) -> Account:
    return account(loaded)


def test_masses_add_up(loaded: Assembly, found: Account) -> None:
    assert sum(p.mass_kg for p in found.parts.values()) == pytest.approx(found.rig_kg, rel=1e-12)
    stations = sum(s.mass_kg for s in found.stations.values())
    assert stations + found.bar_kg == pytest.approx(found.rig_kg, rel=1e-12)
    for balance in found.balances:
        assert balance.mass_kg == pytest.approx(found.rig_kg, rel=1e-12)


def test_mass_and_balance_of_solid_parts_agree_with_trimesh(
    loaded: Assembly, found: Account
) -> None:
    """Volume and centre of the meshes by trimesh, an independent library."""
    for part in loaded.rig_parts():
        if not part.name.endswith(("blade", "blade_shank")):
            continue
        meshes = [
            trimesh.convex.convex_hull(np.asarray(piece.mesh().vertices))
            for piece in loaded.at_work(part).pieces
        ]
        volume = sum(mesh.volume for mesh in meshes)
        centre = sum(mesh.volume * mesh.center_mass for mesh in meshes) / volume
        mass = volume * density_kg_m3(Material.STEEL) / 1e9
        assert found.parts[part.name].mass_kg == pytest.approx(mass, rel=1e-6)
        assert found.parts[part.name].centroid_mm == pytest.approx(centre, abs=1e-3)


def test_a_symmetrical_rig_balances_on_the_centre_line(bare: Assembly) -> None:
    for balance in account(bare).balances:
        assert balance.centre_mm[1] == pytest.approx(0.0, abs=1.0)


def test_lifting_straight_up_moves_the_balance_straight_up(bare: Assembly) -> None:
    low, middle, high = (b.centre_mm for b in account(bare).balances[1:])
    assert low[:2] == pytest.approx(high[:2], abs=1e-9)
    assert middle[2] == pytest.approx((low[2] + high[2]) / 2.0, abs=1e-9)


def test_along_the_bar_the_curves_are_each_other_s_slopes(loaded: Assembly, found: Account) -> None:
    """dM/dy = V and E·I·w'' = M, by finite differences between the places where something acts."""
    along = found.along
    assert along is not None
    y = along.at_mm
    step = np.diff(y)
    between = step > 1.0
    rigid = STEEL_E_MPA * bar_section(loaded).second_moment_mm4
    for plane in (0, 1):
        slope = np.diff(along.moment_nm[plane])[between] * 1000.0 / step[between]
        shear = (along.shear_n[plane][:-1] + along.shear_n[plane][1:])[between] / 2.0
        assert np.abs(slope) == pytest.approx(np.abs(shear), abs=0.02 * np.abs(shear).max())
        once = np.flatnonzero(np.diff(y, prepend=-np.inf) > 0.0)
        w, at = along.moved_mm[plane][once], y[once]
        bent = np.gradient(np.gradient(w, at), at)[3:-3] * rigid / 1000.0
        moment = along.moment_nm[plane][once][3:-3]
        size = np.abs(moment).max()
        assert np.median(np.abs(np.abs(bent) - np.abs(moment))) < 0.01 * size


def test_nothing_is_left_at_the_free_ends(found: Account) -> None:
    along = found.along
    assert along is not None
    for values in (*along.shear_n, *along.moment_nm, along.torque_nm):
        size = np.abs(values).max()
        assert values[0] == pytest.approx(0.0, abs=1e-9 * size)
        assert values[-1] == pytest.approx(0.0, abs=1e-9 * size)


def test_every_number_that_is_known_is_traced_to_a_formula_and_a_source(
    loaded: Assembly, found: Account
) -> None:
    traced = trace(loaded, found)
    told = " ".join(one.what for one in traced)
    for what in ("mass", "gravity", "pivot", "draft", "yaw", "power", "section", "sag", "stress"):
        assert what in told
    for one in traced:
        assert all((one.what, one.formula, one.inputs, one.result, one.source))
    sag = next(one for one in traced if "sag" in one.what)
    assert found.along is not None
    assert f"{np.abs(found.along.moved_mm[0]).max():.2f} mm" in sag.result


def test_what_is_not_known_is_named_and_not_guessed(bare: Assembly) -> None:
    found = account(bare)
    assert [found.pull, found.bar, found.along, found.axles] == [None] * 4
    assert not found.drafts
    assert not found.clamps
    told = " ".join(found.unknown)
    for field in ("toolbar.hangers", "soil.texture", "tractor.speed_kmh", "draft_n",
                  "toolbar.clamp_torque_nm", "tractor.front.load_kg", "tractor.rear.load_kg",
                  "tractor.lift.capacity_kg"):  # fmt: skip
        assert field in told
    assert [one.what for one in trace(bare, found)][:2] == ["mass of a part", "centre of gravity"]


def test_pounds_are_those_of_scipy() -> None:
    """scipy.constants follows NIST's special publication 811 and CODATA."""
    assert pytest.approx(scipy.constants.lb, rel=1e-15) == words.KG_PER_LB
    assert pytest.approx(scipy.constants.lbf, rel=1e-15) == words.N_PER_LBF
    lbf_ft = scipy.constants.lbf * scipy.constants.foot
    assert pytest.approx(lbf_ft, rel=1e-15) == words.NM_PER_LBF_FT


@pytest.mark.parametrize(
    ("value", "unit", "told"),
    [
        (1.0, Unit.MM, "1.0 kg"),
        (0.45359237, Unit.IN, "1.0 lb (0.45 kg)"),
        (100.0, Unit.FT, "220 lb (100 kg)"),
        (-0.001, Unit.CM, "0 kg"),
        (0.0449, Unit.IN, "0.10 lb (0.04 kg)"),
    ],
)
def test_a_mass_is_told_in_both_systems_where_inches_are_read(
    value: float, unit: Unit, told: str
) -> None:
    assert words.mass(value, unit) == told


def test_one_frame_s_pose_is_that_of_all_frames(bare: Assembly) -> None:
    mechanism, pose = bare.mechanism, lifted_pose(bare, 0.7)
    worlds = mechanism.frame_poses(pose)
    for index in range(len(mechanism.frames)):
        assert mechanism.frame_pose(index, pose) == pytest.approx(worlds[index], abs=1e-9)


@pytest.mark.parametrize("name", ["thin-bar-sags", "three-rows-belly", "two-wide-rows-paths-rear"])
def test_the_lifted_rig_is_one_body_on_the_lift(name: str) -> None:
    """Carried as one body it balances where the sum of all its parts in that pose does."""
    rig = assemble(load_scene(SCENES / f"{name}.yaml"))
    for share, (pose, body, _) in zip(
        (0.0, 0.3, 1.0), lifted_rigs(rig, (0.0, 0.3, 1.0)), strict=True
    ):
        whole = rig_mass(rig, lifted_pose(rig, share))
        assert pose.name == lifted_pose(rig, share).name
        assert body.centroid_mm == pytest.approx(whole.centroid_mm, abs=1e-6)
        assert body.inertia_kg_mm2 == pytest.approx(whole.inertia_kg_mm2, rel=1e-9, abs=1e-3)


def test_hangers_and_loads_balance(loaded: Assembly, found: Account) -> None:
    """Statics of the free body: forces up and ahead, and torques about the bar, sum to nothing."""
    assert found.bar is not None
    weight = -GRAVITY * found.rig_kg  # the bar stands level in this scene
    assert sum(h.up_n for h in found.hangers) == pytest.approx(-weight, rel=1e-9)
    drawn = sum(d.high_n for d in found.drafts.values())
    assert sum(h.ahead_n for h in found.hangers) == pytest.approx(drawn, rel=1e-9)
    twisting = sum(float(f.moment_nmm[1]) for f in (*weights(loaded), *pulls(loaded))) / 1000.0
    assert sum(h.torque_nm for h in found.hangers) == pytest.approx(-twisting, rel=1e-9)
    places = [h.at_mm for h in found.hangers]
    assert places == sorted(loaded.scene.spec.toolbar.hangers or (), reverse=True)


def test_what_is_stated_is_all_known(stated: Assembly) -> None:
    found = account(stated)
    assert found.unknown == ("forces of the soil up or down: not modelled",)
    told = " ".join(one.what for one in trace(stated, found))
    for what in ("front axle", "arm or cross tube", "down-force", "clamp", "hangers", "shank"):
        assert what in told
    assert found.clamps
    assert found.axles is not None


def test_spring_curves_go_from_stop_to_stop_through_the_three_known_angles(
    stated: Assembly,
) -> None:
    found = account(stated)
    assert sorted(t for c in found.spring_curves for t in c.tools) == sorted(found.springs)
    for curve in found.spring_curves:
        angles = [f.angle for f in curve.forces]
        assert (angles[0], angles[-1]) == (curve.low, curve.high)
        assert curve.wanted_n == 150.0
        for tool in curve.tools:
            known = found.springs[tool]
            forces = np.interp([f.angle for f in known], angles, [f.force_n for f in curve.forces])
            assert forces == pytest.approx([f.force_n for f in known], rel=2e-3)


def test_members_say_what_their_check_says(stated: Assembly) -> None:
    found = account(stated)
    known = {m.name: m.worst.stress_mpa for m in found.members if m.yield_mpa is not None}
    (finding,) = (f for f in run(stated, None, ("load-arm",)) if "draft" in f.parts[1])
    assert finding.value == pytest.approx(max(known.values()))
