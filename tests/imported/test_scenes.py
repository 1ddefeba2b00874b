"""Meshes in a scene: as obstacle, as the tractor's body, as a part; and what is refused where."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from meshes_generic.shapes import ClosedSurface, Hull
from rigmodel import assemble, check, load_scene
from rigmodel.assembly.model import Role
from rigmodel.catalog.store import read_catalogue_file
from rigmodel.clearance.finding import Change, Verdict
from rigmodel.clearance.runner import run
from rigmodel.clearance.trial import changed_scene
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text

Exported = Callable[[trimesh.Trimesh, str], Path]
USE = "  use: small-belly\n"
LUG = "{kind: mesh, file: lug.stl, unit: mm, up: z, material: steel}"


def with_obstacle(demo: str, entry: str) -> str:
    return demo.replace(USE, f"{USE}  obstacles:\n    - {entry}\n", 1)


def with_lug(demo: str, part: str = LUG, more: str = "") -> str:
    station = (
        "  - build: {mount: bar-clamp-2, tool: {name: lug, part: lug" + more + "}}\n"
        "    at: [0]\n    depth: 0\n"
    )
    return demo.rstrip("\n") + "\n" + station + f"parts:\n  lug: {part}\n"


def lug() -> trimesh.Trimesh:
    """A block behind its mount: 40 back, 60 across, 80 high."""
    made = trimesh.creation.box((40, 60, 80))
    made.apply_translation((-20, 0, 0))
    return made


def scene(tmp_path: Path, text: str):
    path = tmp_path / "scene.yaml"
    path.write_text(text)
    return load_scene(path)


def faults(tmp_path: Path, text: str) -> str:
    with pytest.raises(InputError) as caught:
        scene(tmp_path, text)
    return str(caught.value)


def test_an_obstacle_from_a_file_stands_where_it_is_put(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    made = trimesh.creation.box((2, 4, 6))
    made.apply_translation((1, 2, 3))  # from the file's origin up
    exported(made, "cab.stl")
    entry = "{name: cab, mesh: cab.stl, unit: in, up: z, at: [10, 20, 60], turn: [0, 0, 90]}"
    text = with_obstacle(demo, entry).replace("rows:\n", "soil: {tyres_run: 1}\nrows:\n", 1)
    part = assemble(scene(tmp_path, text)).mechanism.part("tractor.cab")
    assert part.role is Role.TRACTOR
    low, high = part.solid.bounds() / 25.4
    assert low == pytest.approx((10 - 4, 20, 59))
    assert high == pytest.approx((10, 22, 65))
    assert part.solid.mass_properties().mass_kg == 0.0


def test_a_box_from_a_file_gives_the_findings_of_the_box(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(trimesh.creation.box((10, 12, 4)), "box.obj")
    entries = (
        "{name: box, at: [40, 0, 36], size: [10, 12, 4]}",
        "{name: box, mesh: box.obj, unit: in, up: z, at: [40, 0, 36]}",
    )
    (true,), (ours,) = (
        run(assemble(scene(tmp_path, with_obstacle(demo, entry))), only=("frame-fit",))
        for entry in entries
    )
    assert ours.parts == true.parts
    assert "tractor.box" in ours.parts
    assert ours.value == pytest.approx(true.value, abs=0.11)
    assert ours.verdict is true.verdict


def test_what_is_buried_in_an_obstacle_fails_and_says_how_deep_at_least(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(trimesh.creation.box((100, 100, 60)), "hall.ply")
    entry = "{name: hall, mesh: hall.ply, unit: in, up: z, at: [40, 0, 28]}"
    findings = run(assemble(scene(tmp_path, with_obstacle(demo, entry))), only=("frame-fit",))
    assert {f.verdict for f in findings} == {Verdict.FAIL}
    bar = next(f for f in findings if f.parts == ("bar", "tractor.hall"))
    assert bar.value is not None
    assert bar.value < -10 * 25.4
    assert "at least" in bar.message
    assert len(findings) > 30


def test_the_whole_tractor_takes_the_place_of_the_frame(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(trimesh.creation.box((1.5, 0.4, 0.3)), "tractor.glb")
    body = "{mesh: tractor.glb, unit: m, up: y, at: [1 m, 0, 1500 mm]}"
    assembly = assemble(scene(tmp_path, demo.replace(USE, f"{USE}  body: {body}\n", 1)))
    names = {part.name for part in assembly.mechanism.parts}
    assert "tractor.body" in names
    assert "tractor.frame" not in names
    low, high = assembly.mechanism.part("tractor.body").solid.bounds()
    assert low == pytest.approx((850, -750, 1300), abs=1e-3)
    assert high == pytest.approx((1150, 750, 1700), abs=1e-3)


def test_a_part_from_a_file_is_weighed_mirrored_bolted_and_carries_others(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(lug(), "lug.stl")
    more = ", carries: [{name: second, part: lug, offset: [-45 mm, 10 mm, 0]}]"
    assembly = assemble(scene(tmp_path, with_lug(demo, more=more)))
    first, second = (assembly.mechanism.part(f"place1.{name}") for name in ("lug", "second"))
    assert first.role is Role.HOLDER
    assert first.bolted_to == {"place1.lug_clamp", "place1.second"}
    assert first.solid.mass_properties().mass_kg == pytest.approx(40 * 60 * 80 * 7850e-9, rel=1e-6)
    apart = assembly.at_work(second).bounds() - assembly.at_work(first).bounds()
    assert apart == pytest.approx(np.array([(-45, 10, 0)] * 2))
    right = with_lug(demo, more=more).replace("depth: 0\n", "depth: 0\n    hand: right\n")
    mirrored = assemble(scene(tmp_path, right))
    apart = mirrored.at_work(mirrored.mechanism.part("place1.second")).bounds()
    apart -= mirrored.at_work(mirrored.mechanism.part("place1.lug")).bounds()
    assert apart == pytest.approx(np.array([(-45, -10, 0)] * 2))


def test_a_part_from_a_file_may_be_the_tool(tmp_path: Path, demo: str, exported: Exported) -> None:
    made = trimesh.creation.box((60, 100, 20))
    made.apply_translation((0, 0, -400))
    exported(made, "lug.stl")
    blade = LUG.replace("material", "role: blade, material")
    text = with_lug(demo.replace("height: 20}", "height: 400 mm}"), blade)
    assembly = assemble(scene(tmp_path, text))
    tool = next(tool for tool in assembly.tools if tool.part == "place1.lug")
    assert (tool.low_mm, tool.high_mm) == pytest.approx((-50, 50))


def test_a_clash_with_a_part_from_a_file_is_found_and_a_change_keeps_the_mesh(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    made = trimesh.creation.box((300, 40, 40))
    made.apply_translation((-250, 0, -250))
    neck = trimesh.creation.box((100, 20, 300))
    neck.apply_translation((-50, 0, -120))
    exported(trimesh.util.concatenate([made, neck]), "lug.stl")
    text = with_lug(demo).replace("at: [0]", "at: [7]")
    loaded = scene(tmp_path, text)
    before = run(assemble(loaded), only=("part-clash",))
    clashes = [f for f in before if f.verdict is Verdict.FAIL]
    assert any("place1.lug" in f.parts for f in clashes)
    # A remedy writes another scene; the meshes read for the first one go with it.
    moved = changed_scene(loaded, [Change(("stations", 3, "at"), (700.0,))])
    assert moved is not None
    assert moved.catalogue.bodies == loaded.catalogue.bodies
    after = run(assemble(moved), only=("part-clash",))
    assert not any("place1.lug" in f.parts for f in after if f.verdict is Verdict.FAIL)


def test_the_hull_of_the_demo_obstacle_would_be_in_the_way(scenes: Path) -> None:
    loaded = load_scene(scenes / "own-mesh-obstacle.yaml")
    assert check(assemble(loaded)).verdict in (Verdict.PASS, Verdict.ADVISE)
    ((source, body),) = loaded.catalogue.bodies.items()
    assert len(body.faces) <= 100
    mesh = Hull.around(body.vertices).mesh()
    hull = ClosedSurface.of(mesh.vertices, mesh.faces)
    filled = replace(loaded, catalogue=loaded.catalogue.with_bodies({source: hull}))
    findings = run(assemble(filled), only=("frame-fit",))
    assert {f.verdict for f in findings} == {Verdict.FAIL}


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("{name: cab, at: [0, 0, 0]}", ["size", "mesh"]),
        ("{name: cab, at: [0, 0, 0], size: [1, 1, 1], mesh: cab.stl, unit: mm, up: z}", ["either"]),
        ("{name: cab, at: [0, 0, 0], size: [1, 1, 1], up: z}", ["belong to mesh"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.stl, up: z}", ["unit"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.stl, unit: mm}", ["up"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.step, unit: mm, up: z}", ["states its own"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.stl, unit: yd, up: z}", ["yd", "ft"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.stl, unit: mm, up: w}", ["'w'", "x, y or z"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.dxf, unit: mm, up: z}", [".dxf", "STL"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab, unit: mm, up: z}", ["cab", "STL"]),
        ("{name: cab, at: [0, 0, 0], mesh: ../cab.stl, unit: mm, up: z}", ["..", "folder"]),
        ("{name: cab, at: [0, 0, 0], mesh: /tmp/cab.stl, unit: mm, up: z}", ["/tmp", "folder"]),
        ("{name: cab, at: [0, 0, 0], mesh: 'C:cab.stl', unit: mm, up: z}", ["C:", "folder"]),
        ("{name: cab, at: [0, 0, 0], mesh: none.stl, unit: mm, up: z}", ["none.stl", "not there"]),
        ("{name: cab, at: [0, 0, 0], mesh: open.stl, unit: mm, up: z}", ["open.stl", "edges"]),
        ("{name: cab, at: [0, 0, 0], mesh: folder.stl, unit: mm, up: z}", ["folder.stl", "folder"]),
        ("{name: cab, at: [0, 0, 0], mesh: cab.stl, unit: m, up: z}", ["cab.stl", "unit"]),
        ("{name: cab, at: [0, 0, 0], mesh: link.stl, unit: mm, up: z}", ["link.stl", "leads out"]),
    ],
)
def test_each_fault_is_one_line_with_file_line_and_what_was_expected(
    tmp_path: Path, demo: str, exported: Exported, entry: str, said: list[str]
) -> None:
    folder = tmp_path / "scenes"
    folder.mkdir()
    made = trimesh.creation.box((100, 50, 40))
    for name in ("scenes/cab.stl", "outside.stl"):
        exported(made, name)
    made.update_faces(np.arange(12) > 0)
    exported(made, "scenes/open.stl")
    (folder / "folder.stl").mkdir()
    (folder / "link.stl").symlink_to(tmp_path / "outside.stl")
    text = with_obstacle(demo, entry)
    message = faults(folder, text)
    assert len(message.splitlines()) == 1
    line = next(i for i, row in enumerate(text.splitlines(), 1) if entry in row)
    assert f"scene.yaml:{line}:" in message
    assert "tractor.obstacles[1]" in message
    for word in said:
        assert word in message


def test_every_bad_mesh_of_a_scene_is_told_at_once(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    text = with_lug(with_obstacle(demo, "{name: cab, at: [0, 0, 0], mesh: a.stl, unit: mm, up: z}"))
    message = faults(tmp_path, text)
    assert len(message.splitlines()) == 2
    assert "parts.lug.file" in message
    assert "tractor.obstacles[1].mesh" in message


def test_a_mesh_cannot_be_the_clamp_round_the_bar(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(lug(), "lug.stl")
    text = with_lug(demo).replace("mount: bar-clamp-2,", "mount: lug,")
    assert "does not go round a bar" in faults(tmp_path, text)


def test_a_catalogue_files_meshes_lie_in_its_own_folder(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "scenes").mkdir()
    exported(lug(), "own/lug.stl")
    catalogue = tmp_path / "own" / "parts.yaml"
    catalogue.write_text(f"units: mm\nparts:\n  lug: {LUG}\n")
    part = read_catalogue_file(catalogue).parts["lug"]
    assert part.file == str((tmp_path / "own" / "lug.stl").resolve())  # type: ignore[union-attr]
    path = tmp_path / "scenes" / "scene.yaml"
    path.write_text(with_lug(demo).partition("parts:\n")[0])
    loaded = load_scene(path, [catalogue])
    assert len(loaded.catalogue.bodies) == 1
    (tmp_path / "own" / "lug.stl").unlink()
    with pytest.raises(InputError) as caught:
        load_scene(path, [catalogue])
    message = str(caught.value)
    assert "scene.yaml:" in message
    assert "part 'lug'" in message
    assert "not there" in message


def test_a_catalogue_beside_the_scene_may_hold_a_tractor_with_meshes(
    tmp_path: Path, demo: str, exported: Exported, scenes: Path
) -> None:
    exported(lug(), "lug.stl")
    built_in = (scenes.parent / "rigmodel/catalog/data/tractors.yaml").read_text()
    entry = "    obstacles: [{name: lug, mesh: lug.stl, unit: mm, up: z, at: [0, 0, 3 m]}]\n"
    entry += "    body: {mesh: lug.stl, unit: mm, up: y, at: [0, 0, 2 m]}\n"
    name = "small-belly:\n"
    assert name in built_in
    (tmp_path / "mine.yaml").write_text(built_in.replace(name, name + entry, 1))
    text = demo.replace("units: in\n", "units: in\ncatalogue: [mine.yaml]\n", 1)
    assembly = assemble(scene(tmp_path, text))
    names = {part.name for part in assembly.mechanism.parts}
    assert {"tractor.lug", "tractor.body"} <= names


def test_a_mesh_used_twice_is_read_once_and_each_declaration_counts(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(lug(), "lug.stl")
    twice = "{name: a, mesh: lug.stl, unit: mm, up: z, at: [0, 0, 3 m]}\n    - {name: b, mesh: "
    text = with_obstacle(demo, twice + "lug.stl, unit: mm, up: z, at: [0, 0, 4 m]}")
    assert len(scene(tmp_path, text).catalogue.bodies) == 1
    text = with_obstacle(demo, twice + "lug.stl, unit: cm, up: z, at: [0, 0, 4 m]}")
    assert len(scene(tmp_path, text).catalogue.bodies) == 2


def test_a_scene_held_as_text_reads_meshes_from_its_folder(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    exported(lug(), "lug.stl")
    text = with_obstacle(demo, "{name: a, mesh: lug.stl, unit: mm, up: z, at: [0, 0, 3 m]}")
    assert len(scene_from_text(text, folder=tmp_path).catalogue.bodies) == 1


def test_scenes_without_a_mesh_import_no_mesh_reader(scenes: Path) -> None:
    code = (
        "import sys\n"
        "from rigmodel import load_scene, assemble\n"
        f"assemble(load_scene({str(scenes / 'three-rows-belly.yaml')!r}))\n"
        "loaded = {'trimesh', 'cascadio', 'rigmodel.reading.mesh_file'} & set(sys.modules)\n"
        "sys.exit(', '.join(loaded) or 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


def test_the_mesh_of_a_solid_from_a_file_is_the_file(
    tmp_path: Path, demo: str, exported: Exported
) -> None:
    made = trimesh.creation.torus(800.0, 200.0, major_sections=16, minor_sections=8)
    exported(made, "ring.stl")
    text = with_obstacle(demo, "{name: a, mesh: ring.stl, unit: mm, up: z, at: [0, 0, 3 m]}")
    mesh = assemble(scene(tmp_path, text)).mechanism.part("tractor.a").solid.mesh()
    back = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert back.is_watertight
    assert back.volume == pytest.approx(made.volume, rel=1e-6)
