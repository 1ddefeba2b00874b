"""Reads a mesh file into a closed body, or says in one line why it cannot be one.

What is read is the surface alone: no materials, no pictures, no other file. The numbers take the
unit that was declared, and the axes are exchanged in a circle, so that nothing is mirrored.
"""

from __future__ import annotations

import io
import json
import stat
import struct
from pathlib import Path
from typing import Any

import numpy as np

from meshes_generic.mesh import IntArray
from meshes_generic.surface import ClosedSurface, shells, unmatched_edges, winding_numbers
from meshes_generic.transform import FloatArray
from rigmodel.errors import ReadingError, shown
from rigmodel.reading.mesh_path import STEP_FILES, MeshSource
from rigmodel.reading.step_file import StepError, step_as_glb
from rigmodel.units import Unit, format_length, parse_length

MAX_BYTES = 32 * 1024 * 1024
MAX_FACES = 20_000
LARGEST_MM = 30_000.0
FLAT_MM = 1e-3
_FARTHEST_MM = 1e9

BODY_EXPECTED = "a closed ('watertight') body"
_READABLE = "a mesh file that can be read"
_SIMPLER = "simplify it in the program that made it"
_UNIT_RIGHT = "is the unit right?"
_MOST_NODES = 10_000
_MOST_ITEMS = 4_000_000

# Which column of the file becomes x, y and z: the axes are exchanged in a circle.
_COLUMNS = {"z": (0, 1, 2), "y": (2, 0, 1), "x": (1, 2, 0)}


def read_body(source: MeshSource) -> ClosedSurface:
    """The body that a mesh file encloses, in mm with z up.

    Raises:
        ReadingError: there is no such body in the file; the message says why.
    """
    path = Path(source.path)
    data = _bytes(path)
    suffix = path.suffix.lower()
    unit = Unit(source.unit or "m")
    if suffix in STEP_FILES:
        try:
            data, suffix = step_as_glb(data), ".glb"  # in metres, whatever the file's own unit
        except StepError as error:
            raise _refused(path, error.problem, error.expected, error.hint) from None
    vertices, faces = _triangles(path, data, suffix.removeprefix("."))
    if len(faces) > MAX_FACES:
        problem = f"has {len(faces)} triangles"
        raise _refused(path, problem, f"at most {MAX_FACES}", _SIMPLER)
    if not np.isfinite(vertices[np.unique(faces)]).all():
        raise _refused(path, "holds numbers that are not finite", _READABLE)
    with np.errstate(over="ignore"):
        scaled = vertices[:, _COLUMNS[source.up]] * parse_length("1", unit)
    return _body(path, scaled, faces, unit)


def _refused(path: Path, problem: str, expected: str, hint: str = "") -> ReadingError:
    return ReadingError(path.name, f"{shown(path.name)} {problem}", expected, hint)


def _bytes(path: Path) -> bytes:
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            what = "a folder" if stat.S_ISDIR(status.st_mode) else "a device or a pipe"
            raise _refused(path, f"is {what}", "a file")
        if status.st_size > MAX_BYTES:
            size = f"{status.st_size / MAX_BYTES * 32:.1f} MiB"
            raise _refused(path, f"is too big ({size})", "a file of at most 32 MiB", _SIMPLER)
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise _refused(path, "is not there", _READABLE) from None
    except OSError as error:
        reason = str(error.strerror or error).lower()
        raise _refused(path, f"cannot be read ({reason})", _READABLE) from None
    if not data.strip():
        raise _refused(path, "is empty", _READABLE)
    return data


def _triangles(path: Path, data: bytes, kind: str) -> tuple[FloatArray, IntArray]:
    """Corner points (v, 3) and triangles (f, 3) of a file, as its numbers stand."""
    if kind == "glb":
        _check_glb(path, data)
    # Takes as long to import as a whole check: only scenes that name a mesh pay for it.
    import trimesh  # noqa: PLC0415

    try:
        # Without a resolver and without materials no other file is ever opened.
        scene = trimesh.load_scene(
            io.BytesIO(data), file_type=kind, process=False, skip_materials=True
        )
        parts = _parts_of(scene, trimesh.Trimesh)
    except Exception as error:  # the reader's own errors are of every kind
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        raise _refused(path, f"cannot be read as {kind.upper()} ({reason})", _READABLE) from None
    if not sum(len(faces) for _, faces in parts):
        raise _refused(path, "holds no triangles", BODY_EXPECTED)
    starts = np.cumsum([0] + [len(vertices) for vertices, _ in parts[:-1]])
    return (
        np.concatenate([vertices for vertices, _ in parts]),
        np.concatenate([faces + start for (_, faces), start in zip(parts, starts, strict=True)]),
    )


def _parts_of(scene: Any, mesh_type: type) -> list[tuple[FloatArray, IntArray]]:
    """Every mesh of a file in its place; lines and loose points are passed over."""
    parts: list[tuple[FloatArray, IntArray]] = []
    total = 0
    for node in scene.graph.nodes_geometry:
        placement, name = scene.graph[node]
        mesh = scene.geometry[name]
        if not isinstance(mesh, mesh_type):
            continue
        total += len(mesh.faces)  # type: ignore[attr-defined]
        if total > _MOST_ITEMS or len(parts) > _MOST_NODES:
            raise ValueError("it has too many parts")
        vertices = np.asarray(mesh.vertices, dtype=np.float64)  # type: ignore[attr-defined]
        faces = np.asarray(mesh.faces, dtype=np.int64)  # type: ignore[attr-defined]
        if faces.size and not 0 <= faces.min() <= faces.max() < len(vertices):
            raise ValueError("a triangle names a point that is not there")
        with np.errstate(all="ignore"):  # what comes out that is not finite is refused later
            vertices = vertices @ placement[:3, :3].T + placement[:3, 3]
        mirrored = np.linalg.det(placement[:3, :3]) < 0.0
        parts.append((vertices, faces[:, ::-1] if mirrored else faces))
    return parts


def _check_glb(path: Path, data: bytes) -> None:
    """Refuses a GLB that wants another file, or claims more than it can hold."""
    try:
        magic, _, _, size, kind = struct.unpack_from("<4sIII4s", data)
        if magic != b"glTF" or kind != b"JSON":
            raise ValueError
        tree = json.loads(data[20 : 20 + size])
        others = [item["uri"] for item in tree.get("buffers", ()) if "uri" in item]
        claimed = sum(int(item["count"]) for item in tree.get("accessors", ()))
        nodes = len(tree.get("nodes", ()))
    except (struct.error, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise _refused(path, "cannot be read as GLB", _READABLE) from None
    if others:
        raise _refused(path, "keeps its shape in another file", "a GLB with all of it inside")
    if claimed > _MOST_ITEMS or nodes > _MOST_NODES:
        raise _refused(path, "claims far too many points", f"at most {MAX_FACES}", _SIMPLER)


def _body(path: Path, scaled: FloatArray, faces: IntArray, unit: Unit) -> ClosedSurface:
    """The body inside triangles, its points in mm; what is wrong is told in the file's unit."""
    vertices, faces = _merged(scaled, faces)
    if len(faces) == 0:
        raise _refused(path, "has only triangles without any size", BODY_EXPECTED)
    used = vertices[np.unique(faces)]
    far = float(np.abs(used).max())
    if far > 10.0 * LARGEST_MM:
        problem = f"lies {format_length(min(far, _FARTHEST_MM), unit)} or more from its origin"
        limit = f"at most {format_length(10.0 * LARGEST_MM, Unit.M)}"
        raise _refused(path, problem, limit, f"move it to its origin; {_UNIT_RIGHT}")
    sizes = used.max(axis=0) - used.min(axis=0)
    if sizes.max() > LARGEST_MM:
        problem = f"is {format_length(float(sizes.max()), unit)} long"
        limit = f"at most {format_length(LARGEST_MM, Unit.M)}"
        raise _refused(path, problem, limit, _UNIT_RIGHT)
    spread = np.linalg.svd(used - used.mean(axis=0), full_matrices=False)[1] / len(used) ** 0.5
    if spread[-1] < FLAT_MM:
        raise _refused(path, "is flat: it has no thickness", BODY_EXPECTED, _UNIT_RIGHT)
    _check_closed(path, vertices, faces, unit)
    return _outward(path, vertices, faces)


def _merged(vertices: FloatArray, faces: IntArray) -> tuple[FloatArray, IntArray]:
    """Points at the same place made one, to a tenth of a µm; triangles left without area go."""
    # Points that no triangle uses may hold anything; what lies far off is refused afterwards.
    finite = np.clip(np.nan_to_num(vertices), -_FARTHEST_MM, _FARTHEST_MM)
    rounded = np.round(finite, 4) + 0.0
    _, first, number = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    faces = number.reshape(-1)[faces]
    distinct = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    kept = faces[distinct]
    used, renumbered = np.unique(kept, return_inverse=True)
    return finite[first[used]], renumbered.reshape(-1, 3)


def _check_closed(path: Path, vertices: FloatArray, faces: IntArray, unit: Unit) -> None:
    """Refuses a surface with a hole, or with neighbours that face opposite ways."""
    unmatched = unmatched_edges(faces)
    if not len(unmatched):
        return
    edges = np.sort(np.concatenate([faces[:, [k, (k + 1) % 3]] for k in range(3)]), axis=1)
    kinds, count = np.unique(edges, axis=0, return_counts=True)
    odd = kinds[count % 2 == 1]
    at = odd[0] if len(odd) else unmatched[0]
    place = ", ".join(format_length(float(v), unit) for v in vertices[at].mean(axis=0))
    if len(odd):
        problem = f"is open: {len(odd)} of its edges have a triangle on one side only"
        hint = f"the first is near ({place}), its axes turned z up; close it there"
    else:
        problem = f"has {len(unmatched)} edges at which neighbouring triangles face opposite ways"
        hint = f"the first is near ({place}), its axes turned z up; make all of them face outwards"
    raise _refused(path, problem, BODY_EXPECTED, hint)


def _outward(path: Path, vertices: FloatArray, faces: IntArray) -> ClosedSurface:
    """The body with all shells facing outwards, but for cavities.

    A shell that faces inwards is a cavity where it lies inside another one, else a body that was
    written inside out. Nothing is ever made a cavity that was not one: full is the safe side.
    """
    corners = vertices[faces]
    volumes = np.linalg.det(corners - vertices.mean(axis=0)) / 6.0
    if volumes.sum() < 0.0:
        faces, volumes = faces[:, ::-1], -volumes
    label = shells(faces, len(vertices))[faces[:, 0]]
    flipped = np.zeros(len(faces), dtype=bool)
    for shell in np.unique(label):
        own = label == shell
        if volumes[own].sum() < 0.0 and not own.all():
            point = corners[own][:1].mean(axis=1)
            others = winding_numbers(vertices[faces[~own]], point)
            flipped |= own & bool(np.abs(others[0]) < 0.5)
    faces = np.where(flipped[:, None], faces[:, ::-1], faces)
    volume = float(np.linalg.det(vertices[faces] - vertices.mean(axis=0)).sum()) / 6.0
    if not volume > FLAT_MM**3:
        raise _refused(path, "encloses no volume", BODY_EXPECTED)
    return ClosedSurface.of(vertices, faces)
