"""Mesh files: every kind, declared units and axes, and a reason for each one that is refused."""

from __future__ import annotations

import json
import os
import struct
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from rigmodel.errors import ReadingError
from rigmodel.reading.mesh_file import MAX_BYTES, MAX_FACES, read_body
from rigmodel.reading.mesh_path import MeshSource, mesh_source

KINDS = ("stl", "obj", "ply", "glb")
Exported = Callable[[trimesh.Trimesh, str], Path]

# Exact by definition: an inch is 25.4 mm, a foot is 12 inches.
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}


def wedge() -> trimesh.Trimesh:
    """A tetrahedron whose three axes cannot be mistaken: 10 along x, 20 along y, 30 along z."""
    corners = [(0, 0, 0), (10, 0, 0), (0, 20, 0), (0, 0, 30)]
    faces = [(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)]
    return trimesh.Trimesh(corners, faces, process=False)


def box(*sizes: float, at: tuple[float, float, float] = (0, 0, 0)) -> trimesh.Trimesh:
    made = trimesh.creation.box(sizes)
    made.apply_translation(at)
    return made


def read(path: Path, unit: str = "mm", up: str = "z"):
    return read_body(MeshSource(str(path), unit, up))


def refusal(path: Path, unit: str = "mm", up: str = "z") -> str:
    with pytest.raises(ReadingError) as caught:
        read(path, unit, up)
    text = str(caught.value)
    assert "\n" not in text
    assert path.name[:20] in text
    assert caught.value.expected
    return text


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_file_gives_the_same_body(exported: Exported, kind: str) -> None:
    made = trimesh.creation.torus(80.0, 20.0, major_sections=24, minor_sections=12)
    body = read(exported(made, f"ring.{kind}"))
    assert len(body.faces) == len(made.faces)
    assert body.volume_mm3 == pytest.approx(made.volume, rel=1e-5)
    apart = np.linalg.norm(body.vertices[:, None] - made.vertices[None], axis=2)
    assert apart.min(axis=1).max() < 1e-4
    assert apart.min(axis=0).max() < 1e-4


def test_an_ascii_stl_is_read_like_a_binary_one(tmp_path: Path) -> None:
    path = tmp_path / "a.stl"
    path.write_text(trimesh.exchange.stl.export_stl_ascii(wedge()))
    assert read(path).volume_mm3 == pytest.approx(10 * 20 * 30 / 6)


def test_a_capital_suffix_is_a_suffix(exported: Exported) -> None:
    path = exported(wedge(), "a.stl")
    path = path.rename(path.with_name("A.STL"))
    assert read(path).volume_mm3 == pytest.approx(1000.0)


@pytest.mark.parametrize(("unit", "size"), UNITS.items())
@pytest.mark.parametrize("kind", KINDS)
def test_numbers_take_the_declared_unit_whatever_the_format(
    exported: Exported, kind: str, unit: str, size: float
) -> None:
    body = read(exported(wedge(), f"a.{kind}"), unit)
    assert_allclose(body.vertices.max(axis=0), np.array((10, 20, 30)) * size, rtol=1e-6)


@pytest.mark.parametrize(
    ("up", "sizes"),
    [
        ("z", (10, 20, 30)),  # file x forward, y left
        ("y", (30, 10, 20)),  # file z forward, x left
        ("x", (20, 30, 10)),  # file y forward, z left
    ],
)
def test_the_declared_axis_points_up_and_nothing_is_mirrored(
    exported: Exported, up: str, sizes: tuple[float, ...]
) -> None:
    body = read(exported(wedge(), "a.stl"), up=up)
    assert_allclose(body.vertices.max(axis=0), sizes)
    assert_allclose(body.vertices.min(axis=0), 0.0)
    assert body.volume_mm3 == pytest.approx(1000.0)


@pytest.mark.parametrize("way", ["x", "y", "z"])
def test_a_glb_keeps_the_places_of_its_parts_and_mirrors_none(tmp_path: Path, way: str) -> None:
    scene = trimesh.Scene()
    flip = np.diag([-1.0 if axis == way else 1.0 for axis in "xyz"] + [1.0])
    flip[:3, 3] = (100, 200, 300)
    scene.add_geometry(wedge(), transform=flip)
    scene.add_geometry(box(2, 2, 2))
    scene.export(tmp_path / "two.glb")
    body = read(tmp_path / "two.glb")
    assert body.volume_mm3 == pytest.approx(1000.0 + 8.0, rel=1e-5)
    assert_allclose(body.vertices.min(axis=0), (-1, -1, -1))
    assert body.vertices.max() == pytest.approx(300.0 if way == "z" else 330.0)


def test_quads_become_triangles_and_loose_lines_are_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "quads.obj"
    corners = [(x, y, z) for x in (0, 1) for y in (0, 2) for z in (0, 3)]
    quads = [(1, 2, 4, 3), (5, 7, 8, 6), (1, 5, 6, 2), (3, 4, 8, 7), (1, 3, 7, 5), (2, 6, 8, 4)]
    lines = [f"v {x} {y} {z}" for x, y, z in corners]
    lines += ["f " + " ".join(map(str, quad)) for quad in quads]
    path.write_text("\n".join([*lines, "l 1 2", "usemtl paint", "mtllib ../secret.mtl"]) + "\n")
    body = read(path)
    assert body.volume_mm3 == pytest.approx(6.0)
    assert len(body.faces) == 12


def test_a_body_written_inside_out_is_turned(exported: Exported) -> None:
    made = wedge()
    made.invert()
    assert read(exported(made, "a.stl")).volume_mm3 == pytest.approx(1000.0)


def test_shells_inside_out_are_turned_but_cavities_stay_hollow(exported: Exported) -> None:
    hole, beside = box(6, 6, 6), box(5, 5, 5, at=(50, 0, 0))
    hole.invert()
    beside.invert()
    both = trimesh.util.concatenate([box(10, 10, 10), hole, beside])
    body = read(exported(both, "a.stl"))
    assert body.volume_mm3 == pytest.approx(1000 - 216 + 125)
    assert body.contains(np.array([(0.0, 0, 0), (4, 0, 0), (50, 0, 0)])).tolist() == [
        *(False, True, True)
    ]


def test_bodies_that_overlap_in_one_file_are_all_solid(exported: Exported) -> None:
    both = trimesh.util.concatenate([box(10, 10, 10), box(4, 4, 4), box(10, 2, 2, at=(5, 0, 0))])
    body = read(exported(both, "a.stl"))
    assert body.contains(np.array([(0.0, 0, 0), (4, 4, 4), (8, 0, 0)])).all()


def test_bodies_that_share_an_edge_are_closed(exported: Exported) -> None:
    both = trimesh.util.concatenate([box(10, 10, 10), box(10, 10, 10, at=(10, 10, 0))])
    assert read(exported(both, "a.stl")).volume_mm3 == pytest.approx(2000.0)


def test_slivers_without_area_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "a.obj"
    corners = [(0, 0, 0), (10, 0, 0), (0, 20, 0), (0, 0, 30), (5, 0, 0), (0, 0, 0)]
    # The edge from 1 to 2 is cut at 5 on one side only: a sliver 1, 5, 2 closes it.
    faces = [(1, 3, 5), (5, 3, 2), (1, 2, 4), (1, 4, 3), (2, 3, 4), (1, 5, 2), (1, 6, 1)]
    lines = [f"v {x} {y} {z}" for x, y, z in corners]
    path.write_text("\n".join([*lines, *(f"f {a} {b} {c}" for a, b, c in faces)]) + "\n")
    assert read(path).volume_mm3 == pytest.approx(1000.0)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("data", [b"", b"\n \n", b"just words\n", b"\x00" * 200, b"solid\n"])
def test_what_is_no_mesh_is_refused(tmp_path: Path, kind: str, data: bytes) -> None:
    path = tmp_path / f"a.{kind}"
    path.write_bytes(data)
    refusal(path)


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_cut_short_is_refused(exported: Exported, kind: str) -> None:
    path = exported(trimesh.creation.icosphere(subdivisions=2, radius=50), f"a.{kind}")
    data = path.read_bytes()
    for share in (0.1, 0.5, 0.9):
        path.write_bytes(data[: int(len(data) * share)])
        refusal(path)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(KINDS), st.integers(0, 2**31), st.binary(min_size=1, max_size=6))
def test_a_damaged_file_is_a_body_or_a_refusal(
    exported: Exported, kind: str, place: int, damage: bytes
) -> None:
    path = exported(wedge(), f"a.{kind}")
    data = bytearray(path.read_bytes())
    place %= len(data)
    data[place : place + len(damage)] = damage
    path.write_bytes(bytes(data))
    said = ""
    try:
        assert read(path).volume_mm3 > 0.0
    except ReadingError as error:
        said = str(error)
    assert "\n" not in said


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e999"])
def test_numbers_that_are_not_finite_are_refused(tmp_path: Path, value: str) -> None:
    path = tmp_path / "a.obj"
    corners = [f"v 0 0 0\nv 10 0 0\nv 0 {value} 0\nv 0 0 30"]
    path.write_text("\n".join([*corners, "f 1 3 2", "f 1 2 4", "f 1 4 3", "f 2 3 4"]) + "\n")
    assert "not finite" in refusal(path)


def test_a_flat_sheet_is_refused_even_when_it_has_two_sides(exported: Exported) -> None:
    sheet = trimesh.Trimesh(
        [(0, 0, 0), (100, 0, 0), (100, 50, 0), (0, 50, 0)],
        [(0, 1, 2), (0, 2, 3), (0, 2, 1), (0, 3, 2)],
        process=False,
    )
    for turn in (0.0, 0.7):
        turned = sheet.copy()
        turned.apply_transform(trimesh.transformations.rotation_matrix(turn, (1, 2, 3)))
        assert "flat" in refusal(exported(turned, "a.ply"))


@pytest.mark.parametrize("gone", [1, 2, 5])
def test_an_open_body_is_refused_and_the_hole_is_told(exported: Exported, gone: int) -> None:
    made = box(10, 20, 30, at=(100, 0, 0))
    made.update_faces(np.arange(12) >= gone)
    text = refusal(exported(made, "a.stl"))
    assert "open" in text
    assert "near (" in text
    assert "mm" in text


def test_neighbours_that_face_opposite_ways_are_refused(exported: Exported) -> None:
    made = box(10, 20, 30)
    faces = made.faces.copy()
    faces[3] = faces[3][::-1]
    turned = trimesh.Trimesh(made.vertices, faces, process=False)
    assert "opposite ways" in refusal(exported(turned, "a.ply"))


def test_a_body_far_too_large_is_refused_with_a_word_on_its_unit(exported: Exported) -> None:
    path = exported(box(40, 2, 2), "a.stl")
    assert read(path, "mm").volume_mm3 == pytest.approx(160.0)
    text = refusal(path, "m")
    assert "40 m" in text
    assert "unit" in text
    for far in (1e200, 1e308):
        (path.parent / "huge.obj").write_text(
            f"v 0 0 0\nv {far} 0 0\nv 0 {-far} 0\nv 0 0 {far}\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n"
        )
        refusal(path.parent / "huge.obj", "m")
    away = exported(box(1, 1, 1, at=(400_000, 0, 0)), "far.stl")
    assert "origin" in refusal(away)


def test_too_many_triangles_are_refused(exported: Exported) -> None:
    made = trimesh.creation.icosphere(subdivisions=6, radius=100)
    assert len(made.faces) > MAX_FACES
    text = refusal(exported(made, "a.stl"))
    assert str(len(made.faces)) in text
    assert "simplify" in text


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.stl"
    with path.open("wb") as file:
        file.truncate(MAX_BYTES * 100)
    assert "3200" in refusal(path)


def test_files_that_are_none(tmp_path: Path) -> None:
    assert "not there" in refusal(tmp_path / "none.stl")
    (tmp_path / "folder.stl").mkdir()
    assert "folder" in refusal(tmp_path / "folder.stl")
    os.mkfifo(tmp_path / "pipe.stl")
    assert "pipe" in refusal(tmp_path / "pipe.stl")


def test_points_without_faces_are_refused(tmp_path: Path) -> None:
    cloud = trimesh.PointCloud([(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)])
    cloud.export(tmp_path / "a.ply")
    assert "no triangles" in refusal(tmp_path / "a.ply")


def glb_with(tree: dict[str, object]) -> bytes:
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    head = struct.pack("<4sIIII", b"glTF", 2, 20 + len(text), len(text), 0x4E4F534A)
    return head + text


@pytest.mark.parametrize(
    ("tree", "said"),
    [
        ({"buffers": [{"uri": "../secret.bin", "byteLength": 4}]}, "another file"),
        ({"accessors": [{"count": 10**9, "componentType": 5126, "type": "VEC3"}]}, "too many"),
        ({"nodes": [{}] * 20_000}, "too many"),
        ({"asset": {"version": "2.0"}}, ""),
        ({"accessors": [{"count": "x"}]}, "GLB"),
        ({"accessors": 5}, "GLB"),
    ],
)
def test_a_glb_that_claims_too_much_is_refused(
    tmp_path: Path, tree: dict[str, object], said: str
) -> None:
    path = tmp_path / "a.glb"
    path.write_bytes(glb_with(tree))
    assert said in refusal(path)


def test_an_stl_that_claims_more_than_it_holds_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.stl"
    path.write_bytes(b"\0" * 80 + struct.pack("<I", 4_000_000_000) + b"\0" * 100)
    refusal(path)


def test_what_must_be_declared() -> None:
    assert mesh_source("a.stl", "mm", "z") == MeshSource("a.stl", "mm", "z")
    assert mesh_source("a.step", None, "y") == MeshSource("a.step", "", "y")
    for path, unit, up, said in (
        ("a.stl", None, "z", "unit"),
        ("a.glb", None, "y", "unit"),
        ("a.stl", "mm", None, "up"),
        ("a.stp", "mm", "z", "states its own"),
        ("a.stp", None, None, "up"),
    ):
        with pytest.raises(ValueError, match=said):
            mesh_source(path, unit, up)
