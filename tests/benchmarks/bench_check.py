"""Speed of a whole check, side by side with others in one run.

    python tests/benchmarks/bench_check.py

Prints a table of ratios. Nothing here is a test: times depend on the machine, ratios less so.
"""

from __future__ import annotations

import itertools
import math
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import trimesh

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import JointKind, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check
from rigmodel.clearance.engine import DistanceEngine
from rigmodel.clearance.runner import CHECKS, run
from rigmodel.clearance.scope import Memo, Scope
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
SIX = SCENES / "six-wide-rows.yaml"
THREE = SCENES / "three-rows-belly.yaml"


def best_of(times: int, call: Callable[[], object]) -> float:
    """Median seconds of a call."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def row(what: str, value: str) -> None:
    print(f"| {what} | {value} |", flush=True)


def calls_of(assembly: Assembly) -> int:
    scope = Scope(assembly)
    for one in CHECKS:
        list(one.findings(scope))
    return scope.calls


def mesh_managers(assembly: Assembly) -> list[trimesh.collision.CollisionManager]:
    """One collision manager a station, holding its parts' meshes at work."""
    managers = []
    for station in assembly.stations:
        manager = trimesh.collision.CollisionManager()
        for name in station.parts:
            mesh = assembly.at_work(assembly.mechanism.part(name)).mesh(48)
            manager.add_object(name, trimesh.Trimesh(mesh.vertices, mesh.faces, process=False))
        managers.append(manager)
    return managers


def against_meshes(assembly: Assembly, ours: float) -> None:
    """All pairs of stations by trimesh's collision manager, once, against our whole check."""
    start = time.perf_counter()
    managers = mesh_managers(assembly)
    pairs = list(itertools.combinations(managers, 2))
    for one, other in pairs:
        one.min_distance_other(other)
    took = time.perf_counter() - start
    row(
        f"all {len(pairs)} pairs of stations, one pose, by trimesh's collision manager",
        f"{took:.2f} s",
    )
    row("… over our whole certified check", f"{took / ours:.0f} times")


def against_part_meshes(assembly: Assembly, ours: float) -> None:
    """All pairs of parts that are not bolted, extrapolated from every fiftieth pair."""
    parts = assembly.rig_parts()
    managers = []
    for part in parts:
        manager = trimesh.collision.CollisionManager()
        mesh = assembly.at_work(part).mesh(48)
        manager.add_object("part", trimesh.Trimesh(mesh.vertices, mesh.faces, process=False))
        managers.append(manager)
    pairs = [
        (i, j)
        for i, j in itertools.combinations(range(len(parts)), 2)
        if parts[j].name not in parts[i].bolted_to
    ]
    some = pairs[::50]
    start = time.perf_counter()
    for i, j in some:
        managers[i].min_distance_other(managers[j])
    took = (time.perf_counter() - start) / len(some) * len(pairs)
    row(
        f"all {len(pairs)} pairs of parts, one pose, by the same (extrapolated from {len(some)})",
        f"{took:.1f} s",
    )
    row("… over our whole certified check", f"{took / ours:.0f} times")


def mesh_error(assembly: Assembly) -> None:
    """Error of 48-sided meshes and of our own value on two discs a known gap apart."""
    from meshes_generic.material import Material  # noqa: PLC0415
    from meshes_generic.shapes import Cylinder  # noqa: PLC0415
    from meshes_generic.solid import Piece, Solid  # noqa: PLC0415
    from meshes_generic.transform import rotation_z, translation  # noqa: PLC0415
    from rigmodel.clearance.separation import solid_separation  # noqa: PLC0415

    disc = Solid((Piece(Cylinder(175.0, 16.0), np.eye(4), Material.STEEL),))
    turn = rotation_z(360.0 / 96.0)
    away = translation(360.0, 0.0, 0.0) @ turn
    found = solid_separation(disc, turn, disc, away)
    ours = abs(found.low_mm - 10.0)
    one, other = trimesh.collision.CollisionManager(), trimesh.collision.CollisionManager()
    for manager, place in ((one, turn), (other, away)):
        mesh = disc.moved(place).mesh(48)
        manager.add_object("disc", trimesh.Trimesh(mesh.vertices, mesh.faces, process=False))
    theirs = abs(one.min_distance_other(other) - 10.0)
    row("error on two discs of 350 mm, 10 mm apart: 48-sided meshes", f"{theirs:.3f} mm")
    row("… ours", f"{ours:.1e} mm")


def against_sampling(assembly: Assembly, ours: float) -> None:
    """Sampling one pair of arms finely enough for 0.1 mm, extrapolated from 200 poses."""
    wheels = [p for p in assembly.mechanism.parts if p.role is Role.FINGER_WHEEL][:4:2]
    joints = [j for j in assembly.mechanism.joints.values() if j.kind is JointKind.FLOAT][:2]
    steps = 1.0
    for joint in joints:
        reach = 600.0  # mm, farthest point of a wheel from its arm's pivot
        # Two poses h apart on each joint bracket the least value to reach · h / 2 each.
        step = 0.1 / reach
        steps *= math.radians(joint.high - joint.low) / step
    managers = []
    for part in wheels:
        manager = trimesh.collision.CollisionManager()
        mesh = assembly.at_work(part).mesh(48)
        manager.add_object("wheel", trimesh.Trimesh(mesh.vertices, mesh.faces, process=False))
        managers.append(manager)
    start = time.perf_counter()
    for k in range(200):
        managers[0].set_transform(
            "wheel", trimesh.transformations.translation_matrix([0, 0, k * 0.01])
        )
        managers[0].min_distance_other(managers[1])
    each = (time.perf_counter() - start) / 200
    row(
        "sampling one pair of arms for the same 0.1 mm by collision manager "
        f"({steps:.1e} poses, extrapolated from 200)",
        f"{steps * each:.1e} s",
    )
    row("… over our whole certified check", f"{steps * each / ours:.1e} times")


def one_station_changed() -> None:
    """Checks again after one station moved by a sixteenth of an inch, with the memo kept."""
    text = SIX.read_text()
    moved = text.replace("at: outside, depth: 1}", "at: outside, depth: 1, shift: 1/16}")
    assert moved != text
    first, second = (assemble(scene_from_text(t)) for t in (text, moved))
    memo = Memo()
    run(first, memo)
    start = time.perf_counter()
    run(second, memo)
    row(
        "one station changed, clearances checked again (memo kept)",
        f"{(time.perf_counter() - start) * 1e3:.0f} ms",
    )


def growth() -> None:
    """Time for each row of rigs of 2 to 32 rows."""
    text = """
name: growth
units: in
rows: {{count: {rows}, spacing: 30, keep_out: 2 1/2}}
tractor: {{use: compact-rear}}
toolbar: {{tube: tube-2x1-4, length: 1200, height: 20, ahead: -44}}
stations:
  - {{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, rank: -14}}
  - {{use: blade-spring, at: gaps, sides: both, depth: 1}}
"""
    each = {}
    for rows in (2, 4, 8, 16, 32):
        assembly = assemble(scene_from_text(text.format(rows=rows)))
        each[rows] = best_of(3, lambda a=assembly: run(a)) / rows  # type: ignore[misc]
        row(f"{rows} rows: time for each row", f"{each[rows] * 1e3:.1f} ms")
    row("growth of time for each row, 4 to 32 rows", f"{each[32] / each[4]:.2f} times")


def cold_start() -> None:
    """Start of a check on the three-row scene against importing numpy and pydantic.

    The two take turns, so that a busy moment of the machine falls on both; the best of each counts.
    """
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    commands = (
        [sys.executable, "-c", "import numpy, pydantic"],
        [sys.executable, "-m", "rigmodel.cli", "check", str(THREE)],
    )
    best = [math.inf, math.inf]
    for _ in range(15):
        for k, command in enumerate(commands):
            start = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=environment)
            best[k] = min(best[k], time.perf_counter() - start)
    row("cold start of `rigmodel check`, three rows", f"{best[1]:.2f} s")
    row("… over `import numpy, pydantic`", f"{best[1] / best[0]:.2f} times")


def floor(assembly: Assembly, ours: float) -> None:
    """Engine calls of the whole check times the engine's own time for each."""
    calls = calls_of(assembly)
    names = [p.name for p in assembly.mechanism.parts if p.role is Role.FINGER_WHEEL]
    pieces = [assembly.mechanism.part(n).solid.pieces[0] for n in names[:2]]
    engine = DistanceEngine()
    shapes = [piece.shape for piece in pieces]
    turn, away = np.eye(3), np.array([300.0, 0.0, 0.0])

    def thousand() -> None:
        for _ in range(1000):
            engine.distance(shapes[0], shapes[1], turn, away)

    each = best_of(5, thousand) / 1000
    row("engine calls of that check", f"{calls}")
    row("floor: calls times the engine's time for each", f"{calls * each * 1e3:.0f} ms")
    row("… share of the whole", f"{calls * each / ours:.0%}")


def main() -> None:
    """Prints the table."""
    print("| what | measured |\n|---|---|")
    assembly = assemble(load_scene(SIX))
    bodies = len(assembly.mechanism.parts)
    pieces = sum(len(part.solid.pieces) for part in assembly.mechanism.parts)
    row("six-row scene", f"{len(assembly.tools)} tools, {bodies} parts, {pieces} convex pieces")
    run(assembly)
    ours = best_of(5, lambda: run(assembly))
    row("whole certified check, after import", f"{ours * 1e3:.0f} ms")
    row(
        "… with assembly and remedies",
        f"{best_of(3, lambda: check(assemble(load_scene(SIX)))) * 1e3:.0f} ms",
    )
    floor(assembly, ours)
    one_station_changed()
    growth()
    against_meshes(assembly, ours)
    against_part_meshes(assembly, ours)
    mesh_error(assembly)
    against_sampling(assembly, ours)
    cold_start()


if __name__ == "__main__":
    main()
