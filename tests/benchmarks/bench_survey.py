"""Times a survey of a large rig: calls, milliseconds, and the floor set by the engine alone.

Run by hand: ``python tests/benchmarks/bench_survey.py [rows]``.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

import numpy as np

from meshes_generic.material import Material
from meshes_generic.shapes import Box, Cylinder, Frustum, RoundedDisc, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import (
    Transform,
    identity,
    mirror_y,
    rotation_x,
    rotation_y,
    translation,
)
from rigmodel.assembly.model import Frame, Joint, JointKind, Mechanism, Part, Role
from rigmodel.clearance.kinematics import MotionRange
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.motion import ClearanceSolver, Status
from rigmodel.clearance.separation import NarrowPhase

STEEL, RUBBER = Material.STEEL, Material.RUBBER
PITCH = 500.0
CALL_MS = 8e-3  # one engine call with its poses set and its answer read, measured


def solid(*pieces: tuple[Shape, Transform]) -> Solid:
    return Solid(tuple(Piece(shape, placement, STEEL) for shape, placement in pieces))


def at(x: float, y: float, z: float) -> Transform:
    return translation(x, y, z)


def mirrored(placement: Transform, side: int) -> Transform:
    return placement if side > 0 else mirror_y(placement)


class Builder:
    def __init__(self) -> None:
        self.frames = [Frame("world", -1, identity())]
        self.parts: list[Part] = []

    def frame(self, name: str, parent: int, place: Transform, joint: Joint | None = None) -> int:
        self.frames.append(Frame(name, parent, place, joint))
        return len(self.frames) - 1

    def part(self, name: str, frame: int, body: Solid, station: str = "") -> None:
        self.parts.append(Part(name, Role.TUBE, "", frame, body, station))

    def setting(self, name: str, parent: int, place: Transform) -> int:
        joint = Joint(f"{name}.setting", JointKind.SETTING, False, (0.0, 1.0, 0.0), 0.0, -2.0, 2.0)
        return self.frame(f"{name}.setting", parent, place, joint)

    def clamp(self, name: str, frame: int) -> None:
        bolt = Cylinder(5.0, 90.0)
        self.part(
            f"{name}.clamp",
            frame,
            solid(
                (Box(10.0, 76.0, 100.0), at(-30.5, 0.0, 0.0)),
                (bolt, at(0.0, 24.0, 30.5) @ rotation_y(90.0)),
                (bolt, at(0.0, -24.0, 30.5) @ rotation_y(90.0)),
                (bolt, at(0.0, 24.0, -30.5) @ rotation_y(90.0)),
                (bolt, at(0.0, -24.0, -30.5) @ rotation_y(90.0)),
            ),
            name,
        )

    def wheel_station(self, name: str, bar: int, line: float, side: int, rank: float) -> None:
        base = self.setting(name, bar, at(rank, line + side * 150.0, 0.0))
        self.clamp(name, base)
        self.part(
            f"{name}.bracket", base, solid((Box(60.0, 35.0, 50.0), at(-66.0, 0.0, 0.0))), name
        )
        float_joint = Joint(
            f"{name}.float", JointKind.FLOAT, True, (0.0, 1.0, 0.0), 0.0, -20.0, 20.0
        )
        arm = self.frame(f"{name}.arm", base, at(-110.0, 0.0, 0.0), float_joint)
        self.part(f"{name}.arm", arm, solid((Box(400.0, 25.0, 38.0), at(-210.0, 0.0, 0.0))), name)
        spring = (Cylinder(16.0, 150.0), at(-110.0, 0.0, 36.0) @ rotation_y(90.0))
        self.part(f"{name}.spring", arm, solid(spring), name)
        holder = (Box(50.0, 50.0, 76.0), at(-436.0, 0.0, 0.0))
        self.part(f"{name}.holder", arm, solid(holder), name)
        stem = (Cylinder(12.7, 300.0), at(-436.0, 0.0, -60.0))
        self.part(f"{name}.stem", arm, solid(stem), name)
        tilt = mirrored(rotation_x(10.0), side)
        wheel = at(-436.0, -side * 60.0, -330.0) @ tilt
        self.part(
            f"{name}.wheel",
            arm,
            solid(
                (RoundedDisc(101.6, 16.0), wheel),
                (Cylinder(50.0, 6.0), wheel @ at(0.0, 0.0, 11.0)),
                (Frustum(40.0, 55.0, 19.0), wheel @ at(0.0, 0.0, -17.5)),
                (Cylinder(32.0, 50.0), wheel @ at(0.0, 0.0, 39.0)),
            ),
            name,
        )

    def blade_station(self, name: str, bar: int, line: float, rank: float) -> None:
        base = self.setting(name, bar, at(rank, line, 0.0))
        self.clamp(name, base)
        self.part(
            f"{name}.bracket",
            base,
            solid(
                (Box(6.0, 35.0, 60.0), at(-39.0, 0.0, 0.0)),
                (Box(110.0, 6.0, 50.0), at(-97.0, 15.0, 0.0)),
                (Box(110.0, 6.0, 50.0), at(-97.0, -15.0, 0.0)),
            ),
            name,
        )
        trip = Joint(f"{name}.trip", JointKind.TRIP, True, (0.0, 1.0, 0.0), 0.0, 0.0, 60.0)
        swing = self.frame(f"{name}.trip", base, at(-160.0, 0.0, 25.0), trip)
        self.part(
            f"{name}.holder",
            swing,
            solid(
                (Box(6.0, 26.0, 76.0), at(-22.0, 0.0, -100.0)),
                (Box(6.0, 26.0, 76.0), at(22.0, 0.0, -100.0)),
                (Box(38.0, 6.0, 76.0), at(0.0, 10.0, -100.0)),
                (Box(38.0, 6.0, 76.0), at(0.0, -10.0, -100.0)),
            ),
            name,
        )
        shank = (Box(38.0, 12.7, 600.0), at(0.0, 0.0, -220.0))
        self.part(f"{name}.shank", swing, solid(shank), name)
        blade = (Box(60.0, 150.0, 6.0), at(0.0, 0.0, -517.0))
        self.part(f"{name}.blade", swing, solid(blade), name)


def rig(rows: int, stagger: float = 0.0) -> Mechanism:
    """A bar with a pair of finger wheels at every row and a blade between rows.

    Stagger sets every station at a rank of its own, so that no two rows are alike.
    """
    builder = Builder()
    width = rows * PITCH + 400.0
    lift = Joint("lift", JointKind.LIFT, False, (0.0, 0.0, 1.0), 0.0, 0.0, 200.0)
    bar = builder.frame("bar", 0, at(0.0, 0.0, 508.0), lift)
    builder.part("bar", bar, solid((Box(50.8, width, 50.8), identity())))
    for row in range(rows):
        line = (row - (rows - 1) / 2.0) * PITCH
        builder.wheel_station(f"row{row}.left", bar, line, 1, -stagger * (row * 0.37 % 1.0))
        builder.wheel_station(f"row{row}.right", bar, line, -1, -stagger * (row * 0.71 % 1.0))
        builder.blade_station(f"space{row}", bar, line + PITCH / 2.0, -stagger * (row * 0.53 % 1.0))
    return Mechanism(tuple(builder.frames), tuple(builder.parts))


def pairs_of(mechanism: Mechanism) -> Iterator[tuple[int, int]]:
    """Every pair of parts but those of one station, and the clamps on the bar."""
    for i, one in enumerate(mechanism.parts):
        for j, other in enumerate(mechanism.parts[:i]):
            same = one.station and one.station == other.station
            if not same and not (
                "bar" in (one.name, other.name) and "clamp" in one.name + other.name
            ):
                yield i, j


def main() -> None:
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 11
    for stagger in (0.0, 120.0):
        print(f"stagger {stagger:g}:")
        time_survey(rig(rows, stagger))


def time_survey(mechanism: Mechanism) -> None:
    pairs = np.array(list(pairs_of(mechanism)))
    pieces = sum(len(part.solid.pieces) for part in mechanism.parts)
    print(f"{len(mechanism.parts)} parts, {pieces} pieces, {len(pairs)} pairs")
    motion = MotionRange.only(JointKind.FLOAT, JointKind.TRIP, JointKind.SETTING)
    narrow = NarrowPhase()
    memo = ClearanceMemo()
    for name, used in (
        ("cold", None),
        ("warm engine", None),
        ("memo, first", memo),
        ("again", memo),
    ):
        begin = time.perf_counter()
        solver = ClearanceSolver(mechanism, motion, memo=used, narrow=narrow)
        middle = time.perf_counter()
        survey = solver.survey(pairs, 10.0)
        end = time.perf_counter()
        counts = {status.value: len(survey.which(status)) for status in Status}
        closest = survey.closest
        assert closest is not None
        print(
            f"{name}: compile {1e3 * (middle - begin):.1f} ms, "
            f"survey {1e3 * (end - middle):.1f} ms, "
            f"{survey.calls} calls, floor {survey.calls * CALL_MS:.1f} ms; {counts}; closest "
            f"{closest.parts} {closest.low_mm:.3f}..{closest.high_mm:.3f}"
        )


if __name__ == "__main__":
    main()
