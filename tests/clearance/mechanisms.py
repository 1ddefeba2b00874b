"""Small mechanisms to work out clearances of, and what any clearance found must show."""

from __future__ import annotations

import numpy as np
import pytest

from meshes_generic.material import Material
from meshes_generic.shapes import Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import (
    Transform,
    identity,
)
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism, Part, Pose, Role
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.motion import Clearance, ClearanceSolver
from rigmodel.clearance.separation import NarrowPhase

Y = (0.0, 1.0, 0.0)
NARROW = NarrowPhase()


def turning(name: str, low: float, high: float, kind: JointKind = JointKind.FLOAT) -> Joint:
    return Joint(name, kind, True, Y, 0.0, low, high)


def sliding(name: str, half: float, axis: tuple[float, float, float] = Y) -> Joint:
    return Joint(name, JointKind.SETTING, False, axis, 0.0, -half, half)


def part(name: str, frame: int, *pieces: tuple[Shape, Transform]) -> Part:
    placed = tuple(
        Piece(shape, at, Material.STEEL, f"{name}{k}") for k, (shape, at) in enumerate(pieces)
    )
    return Part(name, Role.TUBE, "", frame, Solid(placed))


def fixed(*parts: Part) -> Mechanism:
    return Mechanism((Frame("world", -1, identity()),), parts)


def least(mechanism: Mechanism, motion: MotionRange | None = None) -> Clearance:
    found = ClearanceSolver(mechanism, motion, narrow=NARROW).pair(0, 1)
    assert found.settled
    assert found.high_mm - found.low_mm <= 0.1
    return found


def check_pose(mechanism: Mechanism, found: Clearance) -> None:
    """The pose given shows the clearance given, between the points given."""
    pose = Pose("found", found.pose)
    one, other = (mechanism.placed(mechanism.part(name), pose) for name in found.parts)
    there = NARROW.solids(one, identity(), other, identity())
    assert there.high_mm == pytest.approx(found.high_mm, abs=1e-3)
    if found.high_mm > 0.1:
        assert np.linalg.norm(found.point_b - found.point_a) == pytest.approx(
            found.high_mm, abs=1e-3
        )
