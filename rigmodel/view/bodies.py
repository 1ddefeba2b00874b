"""Parts of a rig as surfaces: at work, and faintly in other poses."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.material import Material
from meshes_generic.mesh import Mesh, circle
from meshes_generic.shapes import Cylinder, RoundedDisc
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, Transform, apply
from rigmodel.assembly.model import WORK, Joint, Mechanism, Part, Pose, Role
from rigmodel.view import palette
from rigmodel.view.options import Ghost
from rigmodel.view.picture import Lines, Surface

SIDES = 64
MOST_SIDES = 512
BOUNDS_MM = 0.05  # a drawn part's bounds are within this of the solid's
_FINGERS = 28
_RIM_SHARE = 0.56
_PROUD = 0.3  # decoration stands this far off a face, so that it is not lost in it, mm


@dataclass(frozen=True)
class Roundness:
    """How round round parts are drawn.

    Attributes:
        sides: least number of sides round a circle.
        off_mm: most by which the bounds of what is drawn may differ from the solid's.
    """

    sides: int
    off_mm: float


ROUND = Roundness(SIDES, BOUNDS_MM)
ROUGH = Roundness(32, 0.6)  # for moving pictures, in which a pixel is some 3 mm


def true_mesh(solid: Solid, roundness: Roundness = ROUND) -> Mesh:
    """A mesh with the solid's bounds.

    Round parts that lie skew have no corner at their outermost point; they get more sides.
    """
    bounds, sides = solid.bounds(), roundness.sides
    while True:
        mesh = solid.mesh(sides)
        drawn = np.array([mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)])
        if sides >= MOST_SIDES or np.abs(drawn - bounds).max() <= roundness.off_mm:
            return mesh
        sides *= 2


def part_surfaces(mechanism: Mechanism, roundness: Roundness = ROUND) -> tuple[Surface, ...]:
    """Every part at work: one surface for each of its materials, named ``part/material``."""
    worlds = mechanism.frame_poses(WORK)
    return tuple(
        Surface(
            f"{part.name}/{material.value}",
            true_mesh(solid, roundness),
            palette.style_of(part, material),
        )
        for part in mechanism.parts
        for material, solid in _by_material(part.solid.moved(worlds[part.frame]))
    )


def _by_material(solid: Solid) -> Iterable[tuple[Material, Solid]]:
    for material in dict.fromkeys(piece.material for piece in solid.pieces):
        pieces = solid.of(material)
        if pieces is not None:
            yield material, pieces


def rims(mechanism: Mechanism) -> tuple[Surface, ...]:
    """A pale disc on either face of each tyre, so that it reads as a wheel."""
    worlds = mechanism.frame_poses(WORK)
    found = []
    for part in mechanism.parts:
        if part.role is not Role.TYRE:
            continue
        for piece in part.solid.moved(worlds[part.frame]).pieces:
            if isinstance(piece.shape, Cylinder):
                mesh = _two_discs(piece, piece.shape)
                found.append(Surface(f"{part.name}/rim", mesh, palette.RIM))
    return tuple(found)


def _two_discs(piece: Piece, shape: Cylinder) -> Mesh:
    disc = Cylinder(shape.radius * _RIM_SHARE, shape.height + 2.0 * _PROUD)
    return disc.mesh(SIDES).moved(piece.placement)


def finger_lines(mechanism: Mechanism, frames: Container[int]) -> Lines:
    """Strokes from the driver to the rim of every finger wheel on those frames, at work.

    So it reads as fingers.
    """
    worlds = mechanism.frame_poses(WORK)
    ends = [np.zeros((0, 2, 3))]
    for part in mechanism.parts:
        if part.role is Role.FINGER_WHEEL and part.frame in frames:
            ends += _spokes(part, worlds[part.frame])
    return Lines("fingers", np.concatenate(ends), "#938a9c", 1.0)


def _spokes(part: Part, world: Transform) -> Iterable[FloatArray]:
    rings = [p for p in part.solid.pieces if isinstance(p.shape, RoundedDisc)]
    for piece in rings:
        shape = piece.shape
        assert isinstance(shape, RoundedDisc)
        outer = shape.radius - shape.thickness / 2.0
        inner = min(0.55 * shape.radius, outer)
        turn = circle(_FINGERS)
        height = shape.thickness / 2.0 + _PROUD
        for z in (height, -height):
            level = np.full(_FINGERS, z)
            stroke = np.stack([np.column_stack((r * turn, level)) for r in (inner, outer)], axis=1)
            flat = apply(world @ piece.placement, stroke.reshape(-1, 3))
            yield flat.reshape(-1, 2, 3)


def ghost_poses(mechanism: Mechanism, ghost: Ghost) -> tuple[Pose, ...]:
    """The poses a ghost stands for: both stops, full trip, raised, both steering locks."""
    joints = [j for j in mechanism.joints.values() if j.kind is ghost.joint_kind]
    if ghost is Ghost.TRIP:
        stops = [("tripped", {j.name: farther_stop(j) for j in joints})]
    elif ghost is Ghost.LIFT:
        stops = [("raised", {j.name: j.high for j in joints})]
    else:
        stops = [
            ("low", {j.name: j.low for j in joints}),
            ("high", {j.name: j.high for j in joints}),
        ]
    return tuple(Pose(f"{ghost.value} {name}", MappingProxyType(at)) for name, at in stops if at)


def farther_stop(joint: Joint) -> float:
    """The end of a joint's travel that is farther from work, mm or degrees."""
    return max((joint.low, joint.high), key=lambda stop: abs(stop - joint.value))


def ghost_surfaces(mechanism: Mechanism, ghosts: Iterable[Ghost]) -> tuple[Surface, ...]:
    """What stands elsewhere than at work in the poses of those ghosts, faintly."""
    work = mechanism.frame_poses(WORK)
    found = []
    for ghost in ghosts:
        for pose in ghost_poses(mechanism, ghost):
            worlds = mechanism.frame_poses(pose)
            for part in mechanism.parts:
                if np.abs(worlds[part.frame] - work[part.frame]).max() < 1e-6:
                    continue
                mesh = true_mesh(part.solid.moved(worlds[part.frame]))
                name = f"{part.name}@{pose.name}"
                found.append(Surface(name, mesh, palette.GHOST_STYLE))
    return tuple(found)
