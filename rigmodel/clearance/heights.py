"""How low each tool and part hangs in a pose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, identity
from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.model import WORK, Pose
from rigmodel.assembly.rig import Assembly

_HERE = identity()


@dataclass(frozen=True)
class Low:
    """Lowest point of a part, mm, world axes."""

    point: tuple[float, float, float]

    @property
    def z_mm(self) -> float:
        """Height of the point."""
        return self.point[2]


def low_of(solid: Solid, pose: FloatArray) -> float:
    """Least height of a solid carried by a pose (4, 4), mm."""
    return float(pose[2, 3]) - _deepest(solid, pose)[0]


def lowest_point(solid: Solid, pose: FloatArray = _HERE) -> Low:
    """Lowest point of a solid carried by a pose (4, 4), world axes."""
    piece = _deepest(solid, pose)[1]
    down = -pose[2:3, :3]
    x, y, z = (pose[:3, :3] @ piece.support_points(down)[0] + pose[:3, 3]).tolist()
    return Low((x, y, z))


def _deepest(solid: Solid, pose: FloatArray) -> tuple[float, Piece]:
    """How far a solid reaches down from its pose's origin, mm, and the piece that does."""
    a, b, c, _ = (-pose[2]).tolist()
    return max(((piece.reach(a, b, c), piece) for piece in solid.pieces), key=lambda item: item[0])


def lowest_points(assembly: Assembly, pose: Pose = WORK) -> Mapping[str, Low]:
    """Lowest point of the working part of every tool, by part name."""
    frames = assembly.mechanism.frame_poses(pose)
    found = {}
    for tool in assembly.tools:
        part = assembly.mechanism.part(tool.part)
        found[tool.part] = lowest_point(working_part(part), frames[part.frame])
    return found
