"""Parts as meshes for a file: in world axes at work, or by material in the frame that moves them.

Bounds of a mesh are those of its solid to `BOUNDS_MM`, as in a picture.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from meshes_generic.material import Material
from meshes_generic.mesh import Mesh
from meshes_generic.transform import inverse
from rigmodel.assembly.model import Part
from rigmodel.assembly.rig import Assembly
from rigmodel.view.bodies import BOUNDS_MM, true_mesh

__all__ = ["BOUNDS_MM", "Body", "chief_material", "in_frame", "in_world"]


class Body(NamedTuple):
    """All pieces of a part that are of one material, as one mesh in mm."""

    material: Material
    mesh: Mesh


def in_world(assembly: Assembly) -> Iterator[tuple[Part, Mesh]]:
    """Every part with its mesh at work, world axes, mm."""
    for part in assembly.mechanism.parts:
        yield part, true_mesh(assembly.at_work(part))


def in_frame(assembly: Assembly) -> Iterator[tuple[Part, tuple[Body, ...]]]:
    """Every part with its bodies in the axes of its frame, mm."""
    for part in assembly.mechanism.parts:
        solid, back = assembly.at_work(part), inverse(assembly.work_frames[part.frame])
        bodies = []
        for material in dict.fromkeys(piece.material for piece in solid.pieces):
            pieces = solid.of(material)
            if pieces is not None:
                bodies.append(Body(material, true_mesh(pieces).moved(back)))
        yield part, tuple(bodies)


def chief_material(part: Part) -> Material:
    """The material most of a part's room is taken up by; a file's object has only one colour."""
    room: dict[Material, float] = {}
    for piece in part.solid.pieces:
        room[piece.material] = room.get(piece.material, 0.0) + piece.shape.volume_mm3
    return max(room, key=room.__getitem__)
