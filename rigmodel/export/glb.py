"""GLB: binary glTF 2.0 in metres, y up, with the assembly's tree of frames.

glTF's axes are x to the left, y up and z forward of what faces forward, so that a point (x, y, z)
of ours is (y, z, x) there: a turn, no mirror. Facts of the format: Khronos, "glTF 2.0
Specification", 2021 (from memory).
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from meshes_generic.material import Material
from meshes_generic.transform import FloatArray, Transform
from rigmodel.assembly.model import Frame
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.export.bodies import Body, in_frame
from rigmodel.export.looks import MATERIALS, VERDICTS, linear
from rigmodel.report.as_json import findings_object

_TURN = np.array([(0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)])
_METRE = 1e-3
_FLOAT, _WHOLE = 5126, 5125  # component types: 32-bit float, 32-bit unsigned integer
_VERTICES, _INDICES = 34962, 34963  # what a buffer view is bound to
_LINES, _TRIANGLES = 1, 4  # modes of a primitive
_ARM_MM = 14.0  # half the size of the cross that marks a point
_JSON, _BIN = 0x4E4F534A, 0x004E4942


def glb_bytes(assembly: Assembly, findings: Findings | None) -> bytes:
    """An assembly as GLB: a node for each frame and part, and one for each finding with a place.

    Parts stand at work. A finding's node lies in no frame: its points are where they were found,
    in the pose named in its extras.
    """
    draft = _Draft()
    draft.materials()
    frames = [draft.node(_frame_node(assembly, frame)) for frame in assembly.mechanism.frames]
    for frame, node in zip(assembly.mechanism.frames, frames, strict=True):
        if frame.parent >= 0:
            draft.hang(frames[frame.parent], node)
    for part, bodies in in_frame(assembly):
        mesh = draft.part_mesh(part.name, bodies)
        extras = {"role": part.role.value, "item": part.item, "station": part.station}
        draft.hang(
            frames[part.frame], draft.node({"name": part.name, "mesh": mesh, "extras": extras})
        )
    roots = [frames[0]]
    if findings is not None:
        roots.append(_markers(draft, findings))
    return draft.packed(assembly, findings, roots)


def turned(points: FloatArray) -> FloatArray:
    """Points (n, 3) in mm, x forward and z up, as glTF has them: metres, y up."""
    moved: FloatArray = points @ _TURN.T * _METRE
    return moved


@dataclass
class _Draft:
    """The growing file: its JSON lists, and vertices and indices as two runs of bytes."""

    nodes: list[dict[str, Any]] = field(default_factory=list)
    meshes: list[dict[str, Any]] = field(default_factory=list)
    accessors: list[dict[str, Any]] = field(default_factory=list)
    looks: list[dict[str, Any]] = field(default_factory=list)
    look_of: dict[str, int] = field(default_factory=dict)
    vertices: bytearray = field(default_factory=bytearray)
    indices: bytearray = field(default_factory=bytearray)

    def materials(self) -> None:
        """Adds a look for every material and verdict."""
        for material, colour in MATERIALS.items():
            metal = material in (Material.STEEL, Material.CAST_IRON)
            self._look(material.value, colour, 0.6 if metal else 0.0, 0.45 if metal else 0.9)
        for verdict, colour in VERDICTS.items():
            self._look(verdict.value, colour, 0.0, 1.0)

    def _look(self, name: str, colour: str, metallic: float, roughness: float) -> None:
        self.look_of[name] = len(self.looks)
        surface = {
            "baseColorFactor": [*linear(colour), 1.0],
            "metallicFactor": metallic,
            "roughnessFactor": roughness,
        }
        self.looks.append({"name": name, "pbrMetallicRoughness": surface})

    def node(self, node: dict[str, Any]) -> int:
        """Adds a node and returns its index."""
        self.nodes.append(node)
        return len(self.nodes) - 1

    def hang(self, parent: int, child: int) -> None:
        """Makes one node the child of another."""
        self.nodes[parent].setdefault("children", []).append(child)

    def part_mesh(self, name: str, bodies: tuple[Body, ...]) -> int:
        """Adds a mesh with one primitive for each body; normals are left to the faces."""
        primitives = [
            self._primitive(turned(b.mesh.vertices), b.mesh.faces, b.material.value, _TRIANGLES)
            for b in bodies
        ]
        return self._mesh(name, primitives)

    def line_mesh(self, name: str, ends: FloatArray, look: str) -> int:
        """Adds a mesh of straight strokes (n, 2, 3), metres, y up."""
        points = ends.reshape(-1, 3)
        return self._mesh(name, [self._primitive(points, np.arange(len(points)), look, _LINES)])

    def _mesh(self, name: str, primitives: list[dict[str, Any]]) -> int:
        self.meshes.append({"name": name, "primitives": primitives})
        return len(self.meshes) - 1

    def _primitive(
        self, points: FloatArray, indices: np.ndarray, look: str, mode: int
    ) -> dict[str, Any]:
        stored = points.astype("<f4")
        whole = np.ascontiguousarray(indices, dtype="<u4").reshape(-1)
        where = {
            "bufferView": 0,
            "byteOffset": len(self.vertices),
            "componentType": _FLOAT,
            "count": len(stored),
            "type": "VEC3",
            "min": stored.min(axis=0).tolist(),
            "max": stored.max(axis=0).tolist(),
        }
        order = {
            "bufferView": 1,
            "byteOffset": len(self.indices),
            "componentType": _WHOLE,
            "count": len(whole),
            "type": "SCALAR",
        }
        self.vertices += stored.tobytes()
        self.indices += whole.tobytes()
        self.accessors += [where, order]
        last = len(self.accessors) - 1
        return {
            "attributes": {"POSITION": last - 1},
            "indices": last,
            "material": self.look_of[look],
            "mode": mode,
        }

    def packed(self, assembly: Assembly, findings: Findings | None, roots: list[int]) -> bytes:
        """The whole file."""
        about: dict[str, Any] = {"title": assembly.scene.spec.name, "length": "m"}
        if findings is not None:
            told = findings_object(findings)
            about |= {key: told[key] for key in ("verdict", "not_checked", "cautions")}
        views = [
            {
                "buffer": 0,
                "byteOffset": 0,
                "byteLength": len(self.vertices),
                "byteStride": 12,
                "target": _VERTICES,
            },
            {
                "buffer": 0,
                "byteOffset": len(self.vertices),
                "byteLength": len(self.indices),
                "target": _INDICES,
            },
        ]
        data = bytes(self.vertices + self.indices)  # both are runs of four bytes
        tree = {
            "asset": {"version": "2.0", "generator": "rigmodel", "extras": about},
            "scene": 0,
            "scenes": [{"name": assembly.scene.spec.name, "nodes": roots}],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": self.looks,
            "accessors": self.accessors,
            "bufferViews": views,
            "buffers": [{"byteLength": len(data)}],
        }
        text = json.dumps(tree, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
        chunks = _chunk(_JSON, text, b" ") + _chunk(_BIN, data, b"\0")
        return struct.pack("<4sII", b"glTF", 2, 12 + len(chunks)) + chunks


def _chunk(kind: int, data: bytes, fill: bytes) -> bytes:
    data += fill * (-len(data) % 4)
    return struct.pack("<II", len(data), kind) + data


def _frame_node(assembly: Assembly, frame: Frame) -> dict[str, Any]:
    """A node at the frame's place in its parent at work, its joint told in the extras."""
    local = frame.placement
    joint = frame.joint
    node: dict[str, Any] = {"name": f"{frame.name} frame"}
    if joint is not None:
        local = local @ joint.motion(joint.value)
        node["extras"] = {
            "joint": joint.name,
            "kind": joint.kind.value,
            "unit": "deg" if joint.turns else "mm",
            "axis": (_TURN @ np.array(joint.axis)).tolist(),
            "value": joint.value,
            "low": joint.low,
            "high": joint.high,
        }
    if not np.array_equal(local, np.eye(4)):
        node["matrix"] = _matrix(local)
    return node


def _matrix(local: Transform) -> list[float]:
    """A placement in glTF's axes, its columns one after the other."""
    there = np.eye(4)
    there[:3, :3] = _TURN @ local[:3, :3] @ _TURN.T
    there[:3, 3] = _TURN @ local[:3, 3] * _METRE
    columns: list[float] = (there.T + 0.0).reshape(-1).tolist()
    return columns


def _markers(draft: _Draft, findings: Findings) -> int:
    """A node that holds a node for every finding with a place, worst first."""
    group = draft.node({"name": "findings"})
    rank = {verdict: i for i, verdict in enumerate(Verdict)}
    found = sorted(enumerate(findings.findings), key=lambda item: (rank[item[1].verdict], item[0]))
    told = findings_object(findings)["findings"]
    for number, (index, finding) in enumerate(found, start=1):
        if not finding.at:
            continue
        name = f"finding {number} {finding.verdict.value} {finding.check}"
        points = turned(np.array(finding.at, dtype=float))
        mesh = draft.line_mesh(name, _strokes(finding, points), finding.verdict.value)
        place = points[0].tolist()
        draft.hang(
            group,
            draft.node({"name": name, "mesh": mesh, "translation": place, "extras": told[index]}),
        )
    return group


def _strokes(finding: Finding, points: FloatArray) -> FloatArray:
    """A cross at each of the finding's points and a stroke between them, from the first point."""
    places = points - points[0]
    arms = np.eye(3) * _ARM_MM * _METRE
    strokes = [(place - arm, place + arm) for place in places for arm in arms]
    if len(finding.at) > 1:
        strokes.append((places[0], places[-1]))
    ends: FloatArray = np.array(strokes)
    return ends
