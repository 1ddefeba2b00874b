"""3D files read back by libraries that share nothing with the writers."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import lib3mf
import numpy as np
import pygltflib
import pytest
import stl as numpy_stl
import trimesh

from rigmodel import assemble, check, load_scene
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.export import ExportFormat, export_model, model_bytes
from rigmodel.files import FileError
from rigmodel.spec.load import scene_from_text

BOUNDS_MM = 0.051  # drawn round parts that lie skew, and 32-bit floats
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
SCENES = ("three-rows-belly", "bar-out-of-level", "raised-bed-furrow", "rear-hitch-inches")


def bounds_of(assembly: Assembly) -> np.ndarray:
    boxes = np.array([assembly.at_work(p).bounds() for p in assembly.mechanism.parts])
    return np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])


def gltf_bounds(bounds: np.ndarray) -> np.ndarray:
    """Bounds in mm, z up, as metres, y up (glTF 2.0, section 3.4: +y up, +z front, -x right)."""
    return bounds[:, [1, 2, 0]] / 1000.0


@pytest.fixture(scope="module")
def rigs() -> dict[str, Assembly]:
    folder = Path(__file__).parents[2] / "scenes"
    return {name: assemble(load_scene(folder / f"{name}.yaml")) for name in SCENES}


@pytest.fixture(scope="module")
def level(rigs: dict[str, Assembly]) -> Assembly:
    return rigs["three-rows-belly"]


@pytest.fixture(scope="module")
def found(level: Assembly) -> Findings:
    return check(level)


def loaded_glb(data: bytes) -> Any:
    return trimesh.load(io.BytesIO(data), file_type="glb", process=False)


@pytest.mark.parametrize("name", SCENES)
def test_glb_bounds_are_the_assemblys(rigs: dict[str, Assembly], name: str) -> None:
    scene = loaded_glb(model_bytes(rigs[name], None, ExportFormat.GLB))
    expected = gltf_bounds(bounds_of(rigs[name]))
    assert np.abs(scene.bounds - expected).max() * 1000.0 <= BOUNDS_MM


def test_glb_places_every_part_by_its_frames(rigs: dict[str, Assembly]) -> None:
    assembly = rigs["bar-out-of-level"]
    scene = loaded_glb(model_bytes(assembly, None, ExportFormat.GLB))
    boxes: dict[str, list[np.ndarray]] = {}
    for node in scene.graph.nodes_geometry:
        matrix, mesh = scene.graph[node]
        owner = mesh if mesh in assembly.mechanism.part_index else mesh.rpartition("_")[0]
        boxes.setdefault(owner, []).append(
            trimesh.transform_points(scene.geometry[mesh].vertices, matrix)
        )
    assert set(boxes) == {p.name for p in assembly.mechanism.parts}
    for part in assembly.mechanism.parts:
        points = np.concatenate(boxes[part.name])
        drawn = np.array([points.min(axis=0), points.max(axis=0)])
        expected = gltf_bounds(assembly.at_work(part).bounds())
        assert np.abs(drawn - expected).max() * 1000.0 <= BOUNDS_MM, part.name


def test_glb_tree_is_the_tree_of_frames(level: Assembly) -> None:
    file = pygltflib.GLTF2().load_from_bytes(model_bytes(level, None, ExportFormat.GLB))
    names = [node.name for node in file.nodes]
    assert len(set(names)) == len(names)
    parent = {file.nodes[c].name: node.name for node in file.nodes for c in node.children}
    frames = level.mechanism.frames
    for part in level.mechanism.parts:
        assert parent[part.name] == f"{frames[part.frame].name} frame"
    for frame in frames[1:]:
        assert parent[f"{frame.name} frame"] == f"{frames[frame.parent].name} frame"
    floats = {n.extras["joint"]: n.extras for n in file.nodes if "joint" in (n.extras or {})}
    assert set(floats) == set(level.mechanism.joints)
    for name, joint in level.mechanism.joints.items():
        assert (floats[name]["low"], floats[name]["high"]) == (joint.low, joint.high)


def test_glb_keeps_to_the_format(level: Assembly, found: Findings) -> None:
    # glTF 2.0: header and chunks of four-byte lengths (4.4), min and max of positions as they
    # are stored (3.6.2.1.5), offsets that are multiples of the component size (3.6.2.4).
    data = model_bytes(level, found, ExportFormat.GLB)
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert size % 4 == 0
    assert kind == b"JSON"
    tree = json.loads(data[20 : 20 + size])
    blob = data[20 + size + 8 :]
    assert len(blob) % 4 == 0
    assert tree["buffers"][0]["byteLength"] == len(blob)
    for accessor in tree["accessors"]:
        view = tree["bufferViews"][accessor["bufferView"]]
        start = view["byteOffset"] + accessor["byteOffset"]
        assert start % 4 == 0
        width = 3 if accessor["type"] == "VEC3" else 1
        kind = "<f4" if width == 3 else "<u4"
        values = np.frombuffer(blob, kind, accessor["count"] * width, start).reshape(-1, width)
        assert accessor["byteOffset"] + values.nbytes <= view["byteLength"]
        if width == 3:
            assert values.min(axis=0).tolist() == accessor["min"]
            assert values.max(axis=0).tolist() == accessor["max"]


def test_glb_faces_look_outwards(level: Assembly) -> None:
    scene = loaded_glb(model_bytes(level, None, ExportFormat.GLB))
    for name, mesh in scene.geometry.items():
        assert mesh.is_watertight, name
        assert mesh.volume > 0.0, name


def test_glb_marks_findings_where_they_are(level: Assembly, found: Findings) -> None:
    file = pygltflib.GLTF2().load_from_bytes(model_bytes(level, found, ExportFormat.GLB))
    marks = [n for n in file.nodes if n.name.startswith("finding ")]
    placed = [f for f in found.findings if f.at]
    assert len(marks) == len(placed) > 0
    by_message = {n.extras["message"]: n for n in marks}
    for finding in placed:
        x, y, z = finding.at[0]
        node = by_message[finding.message]
        assert np.allclose(node.translation, np.array((y, z, x)) / 1000.0, atol=1e-12)
        assert finding.check in node.name
        assert finding.verdict.value in node.name
        assert node.extras["verdict"] == finding.verdict.value
    assert file.asset.extras["verdict"] == found.verdict.value
    assert file.asset.extras["cautions"]


def test_glb_parts_are_the_same_with_marks(level: Assembly, found: Findings) -> None:
    plain, marked = (
        pygltflib.GLTF2().load_from_bytes(model_bytes(level, f, ExportFormat.GLB))
        for f in (None, found)
    )
    count = len(plain.nodes)
    assert [n.name for n in marked.nodes[:count]] == [n.name for n in plain.nodes]
    assert "findings" not in [n.name for n in plain.nodes]


@pytest.mark.parametrize("name", SCENES)
def test_stl_bounds_unit_and_triangles(
    rigs: dict[str, Assembly], name: str, tmp_path: Path
) -> None:
    path = tmp_path / "rig.stl"
    export_model(rigs[name], None, ExportFormat.STL, path)
    mesh = numpy_stl.mesh.Mesh.from_file(str(path), mode=numpy_stl.Mode.BINARY)
    corners = mesh.vectors.astype(float).reshape(-1, 3)
    drawn = np.array([corners.min(axis=0), corners.max(axis=0)])
    assert np.abs(drawn - bounds_of(rigs[name])).max() <= BOUNDS_MM
    data = path.read_bytes()
    assert b"UNIT=mm" in data[:80]
    assert not data[:80].lower().startswith(b"solid")
    assert len(data) == 84 + 50 * len(mesh.vectors)
    assert mesh.areas.min() > 0.0


def test_stl_volume_is_the_pieces(level: Assembly, tmp_path: Path) -> None:
    path = tmp_path / "rig.stl"
    export_model(level, None, ExportFormat.STL, path)
    mesh = trimesh.load(path, process=False)
    expected = sum(p.solid.volume_mm3 for p in level.mechanism.parts)
    assert mesh.volume == pytest.approx(expected, rel=3e-3)  # corners lie on the true circles


def read_3mf(data: bytes) -> Any:
    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromBuffer(data)
    return model


@pytest.mark.parametrize("name", SCENES)
def test_3mf_objects_names_unit_and_bounds(rigs: dict[str, Assembly], name: str) -> None:
    assembly = rigs[name]
    reader_model = lib3mf.get_wrapper().CreateModel()
    reader = reader_model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(model_bytes(assembly, None, ExportFormat.THREE_MF))
    assert reader.GetWarningCount() == 0
    assert reader_model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    meshes = {}
    objects = reader_model.GetMeshObjects()
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        meshes[mesh.GetName()] = mesh
    assert set(meshes) == {p.name for p in assembly.mechanism.parts}
    items = reader_model.GetBuildItems()
    assert items.Count() == len(meshes)
    for part in assembly.mechanism.parts:
        mesh = meshes[part.name]
        assert mesh.IsManifoldAndOriented(), part.name
        points = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
        drawn = np.array([points.min(axis=0), points.max(axis=0)])
        assert np.abs(drawn - assembly.at_work(part).bounds()).max() <= BOUNDS_MM, part.name


def test_3mf_xml_says_the_unit_and_carries_the_cautions(level: Assembly) -> None:
    data = model_bytes(level, None, ExportFormat.THREE_MF)
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert package.testzip() is None
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    assert root.get("unit") == "millimeter"
    told = {m.get("name"): m.text for m in root.iter(f"{CORE}metadata")}
    assert told["Title"] == level.scene.spec.name
    assert "engine off" in (told["Description"] or "")


NASTY = ("<b>&\"'</metadata>", "Ünïcode — 深さ 15°", "]]> solid ", "a" * 120)


@pytest.mark.parametrize("title", NASTY)
def test_any_title_gives_files_that_read_back(demo: str, title: str) -> None:
    text = demo.replace("Three rows under the belly", json.dumps(title), 1)
    assembly = assemble(scene_from_text(text))
    assert assembly.scene.spec.name == title
    file = pygltflib.GLTF2().load_from_bytes(model_bytes(assembly, None, ExportFormat.GLB))
    assert file.scenes[0].name == title
    model = read_3mf(model_bytes(assembly, None, ExportFormat.THREE_MF))
    assert model.GetMetaDataGroup().GetMetaDataByKey("", "Title").GetValue() == title
    header = model_bytes(assembly, None, ExportFormat.STL)[:80]
    assert header.isascii()
    assert header.startswith(b"rigmodel binary STL, UNIT=mm")


@pytest.mark.parametrize("kind", ExportFormat)
def test_equal_scenes_give_equal_bytes(demo: str, kind: ExportFormat) -> None:
    one, other = (model_bytes(assemble(scene_from_text(demo)), None, kind) for _ in range(2))
    assert one == other


@pytest.mark.parametrize("kind", ExportFormat)
def test_a_file_that_is_there_is_kept_unless_asked(
    level: Assembly, kind: ExportFormat, tmp_path: Path
) -> None:
    path = tmp_path / f"rig.{kind.value}"
    path.write_bytes(b"mine")
    with pytest.raises(FileError):
        export_model(level, None, kind, path)
    assert path.read_bytes() == b"mine"
    export_model(level, None, kind, path, replace=True)
    assert path.read_bytes() == model_bytes(level, None, kind)
    assert [p.name for p in tmp_path.iterdir()] == [path.name]
