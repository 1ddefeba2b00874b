"""How low each tool and part hangs in a pose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from meshes_generic.solid import Solid
from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.model import WORK, Pose
from rigmodel.assembly.rig import Assembly

_DOWN = np.array([[0.0, 0.0, -1.0]])


@dataclass(frozen=True)
class Low:
    """Lowest point of a part, mm, world axes."""

    point: tuple[float, float, float]

    @property
    def z_mm(self) -> float:
        """Height of the point."""
        return self.point[2]


def lowest_point(solid: Solid) -> Low:
    """Lowest point of a solid in world axes."""
    points = np.concatenate([piece.support_points(_DOWN) for piece in solid.pieces])
    x, y, z = points[int(np.argmin(points[:, 2]))].tolist()
    return Low((x, y, z))


def lowest_points(assembly: Assembly, pose: Pose = WORK) -> Mapping[str, Low]:
    """Lowest point of the working part of every tool, by part name."""
    frames = assembly.mechanism.frame_poses(pose)
    found = {}
    for tool in assembly.tools:
        part = assembly.mechanism.part(tool.part)
        found[tool.part] = lowest_point(working_part(part).moved(frames[part.frame]))
    return found
