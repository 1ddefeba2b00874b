"""Parts as surfaces: all of them, where their solids are, coloured by what they are made of."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from meshes_generic.material import Material
from meshes_generic.shapes import RoundedDisc
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import roll_pitch_yaw
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.view import bodies
from rigmodel.view.options import Ghost
from rigmodel.view.palette import style_of

SCENES = ["three-rows-belly", "two-wide-rows-paths-rear", "bar-out-of-level"]


@pytest.mark.parametrize("name", SCENES)
def test_every_drawn_part_has_its_solids_bounds(
    name: str, rig_of: Callable[[str], Assembly]
) -> None:
    rig = rig_of(name)
    surfaces = bodies.part_surfaces(rig.mechanism)
    wanted = {f"{p.name}/{m.material}" for p in rig.mechanism.parts for m in p.solid.pieces}
    assert {surface.name for surface in surfaces} == wanted
    for surface in surfaces:
        part, _, material = surface.name.rpartition("/")
        solid = rig.at_work(rig.mechanism.part(part)).of(Material(material))
        assert solid is not None
        points = surface.mesh.vertices
        drawn = np.array([points.min(axis=0), points.max(axis=0)])
        assert np.abs(drawn - solid.bounds()).max() <= 0.1, surface.name


@pytest.mark.parametrize("angles", [(10.0, 0.0, 0.0), (15.0, -12.0, 33.0), (0.0, 45.0, 7.0)])
def test_round_parts_that_lie_skew_get_sides_enough(angles: tuple[float, float, float]) -> None:
    piece = Piece(RoundedDisc(400.0, 20.0), roll_pitch_yaw(*angles), Material.RUBBER)
    solid = Solid((piece,))
    points = bodies.true_mesh(solid).vertices
    drawn = np.array([points.min(axis=0), points.max(axis=0)])
    assert np.abs(drawn - solid.bounds()).max() <= 0.1


def test_ghosts_stand_at_the_stops(rig: Assembly) -> None:
    joints = rig.mechanism.joints
    for ghost, count in ((Ghost.FLOAT, 2), (Ghost.TRIP, 1), (Ghost.LIFT, 1), (Ghost.STEER, 2)):
        poses = bodies.ghost_poses(rig.mechanism, ghost)
        assert len(poses) == count
        for pose in poses:
            assert pose.values
            for name, value in pose.values.items():
                assert joints[name].kind is ghost.joint_kind
                assert value in (joints[name].low, joints[name].high)
    (raised,) = bodies.ghost_poses(rig.mechanism, Ghost.LIFT)
    assert raised.values["lift"] == joints["lift"].high


def test_only_what_moves_is_drawn_as_a_ghost(rig: Assembly) -> None:
    steered = bodies.ghost_surfaces(rig.mechanism, [Ghost.STEER])
    parts = {surface.name.partition("@")[0] for surface in steered}
    assert parts == {"tractor.front.left.tyre", "tractor.front.right.tyre"}
    assert len(steered) == 4
    raised = bodies.ghost_surfaces(rig.mechanism, [Ghost.LIFT])
    assert {s.name.partition("@")[0] for s in raised} == {p.name for p in rig.rig_parts()}
    assert all(surface.style.opacity < 0.5 for surface in (*steered, *raised))


def test_a_ghost_has_its_solids_bounds(rig: Assembly) -> None:
    mechanism = rig.mechanism
    poses = {pose.name: pose for pose in bodies.ghost_poses(mechanism, Ghost.FLOAT)}
    for surface in bodies.ghost_surfaces(mechanism, [Ghost.FLOAT]):
        part, _, pose = surface.name.partition("@")
        points = surface.mesh.vertices
        drawn = np.array([points.min(axis=0), points.max(axis=0)])
        bounds = mechanism.placed(mechanism.part(part), poses[pose]).bounds()
        assert np.abs(drawn - bounds).max() <= 0.1


def _colour(rig: Assembly, role: Role, item: str, material: Material) -> str:
    part = next(part for part in rig.mechanism.parts if part.role is Role.FINGER_WHEEL)
    made = Part("x", role, item, part.frame, part.solid)
    return style_of(made, material).colour


def test_fingers_are_coloured_by_material_only(rig: Assembly) -> None:
    items = ("soft-wheel", "medium-wheel", "hard-wheel")
    for material in (Material.RUBBER, Material.POLYURETHANE):
        colours = {_colour(rig, Role.FINGER_WHEEL, item, material) for item in items}
        assert len(colours) == 1


def _channels(colour: str) -> list[int]:
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


@pytest.mark.parametrize("role", [role for role in Role if role is not Role.TYRE])
def test_steel_is_a_neutral_grey(rig: Assembly, role: Role) -> None:
    channels = _channels(_colour(rig, role, "", Material.STEEL))
    assert max(channels) - min(channels) <= 24
    assert min(channels) > 110


def test_tyres_are_nearly_black_and_soil_is_not(rig: Assembly) -> None:
    assert max(_channels(_colour(rig, Role.TYRE, "", Material.RUBBER))) < 50
    red, green, blue = _channels(_colour(rig, Role.TRACTOR, "", Material.SOIL))
    assert red > green > blue
