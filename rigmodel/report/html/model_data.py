"""What the 3D view draws, as plain values for JSON: frames, parts, ground, and finding places.

Vertices are mm in the axes of the frame that carries them, so that the page can show any pose.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from meshes_generic.mesh import Mesh, circle, merge
from meshes_generic.shapes import Box, Cylinder, RoundedDisc
from meshes_generic.solid import Piece
from meshes_generic.transform import FloatArray, apply, translation
from rigmodel.assembly.model import Frame, JointKind, Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings
from rigmodel.report.html.verdicts import SHORT, amount, ranked
from rigmodel.units import Unit
from rigmodel.view import palette

SIDES = 48
_FEWER_SIDES = ((9.0, 12), (25.0, 24))  # of cylinders up to these radii: bolts, pins, springs
_MARGIN = 250.0  # ground drawn beyond what stands on it, mm
_OVER = 3.0  # bands and row lines lie this far over the soil, mm
_STILL = 1e-6  # mm or degrees
_SPOKES, _SPOKE_FROM, _PROUD = 24, 0.55, 0.4
_GROUPS = {Role.TYRE: "tyres", Role.TRACTOR: "frame"}
_FAINT = {"tyres": 0.16, "frame": 0.12, "soil": 0.55, "bands": 0.3, "plants": 0.35}
MOVED = {
    JointKind.LIFT: ("Lift", "lowest", "highest"),
    JointKind.FLOAT: ("Floating arms", "down stop", "up stop"),
    JointKind.TRIP: ("Spring holders", "one stop", "other stop"),
    JointKind.STEER: ("Front wheels", "one lock", "other lock"),
}


@dataclass
class _Draft:
    """Vertices, triangles and strokes of all bodies, one after the other."""

    vertices: list[FloatArray] = field(default_factory=list)
    faces: list[NDArray[np.int64]] = field(default_factory=list)
    strokes: list[FloatArray] = field(default_factory=list)
    bodies: list[dict[str, Any]] = field(default_factory=list)
    lines: list[dict[str, Any]] = field(default_factory=list)
    counts: list[int] = field(default_factory=lambda: [0, 0, 0])

    def body(self, name: str, group: str, frame: int, mesh: Mesh, colour: str, edge: str) -> None:
        """Adds a mesh in the axes of a frame."""
        self.bodies.append(
            {
                "name": name,
                "group": group,
                "frame": frame,
                "colour": colour,
                "opacity": _FAINT.get(group, 1.0),
                "edge": edge,
                "first": self.counts[1] * 3,
                "count": len(mesh.faces) * 3,
            }
        )
        self.vertices.append(mesh.vertices)
        self.faces.append(mesh.faces + self.counts[0])
        self.counts[0] += len(mesh.vertices)
        self.counts[1] += len(mesh.faces)

    def stroke(self, group: str, frame: int, ends: FloatArray, colour: str) -> None:
        """Adds straight strokes (n, 2, 3) in the axes of a frame."""
        self.lines.append(
            {
                "group": group,
                "frame": frame,
                "colour": colour,
                "first": self.counts[2],
                "count": len(ends),
            }
        )
        self.strokes.append(ends)
        self.counts[2] += len(ends)


def model_data(assembly: Assembly, findings: Findings) -> dict[str, Any]:
    """Everything the 3D view needs."""
    draft = _Draft()
    for part in assembly.mechanism.parts:
        _add_part(draft, part)
    bounds = _bounds(assembly, assembly.mechanism.parts)
    _add_ground(draft, assembly, bounds)
    vertices = np.concatenate(draft.vertices).astype("<f4")
    return {
        "frames": [_frame(frame) for frame in assembly.mechanism.frames],
        "bodies": draft.bodies,
        "lines": draft.lines,
        "vertices": _base64(vertices),
        "faces": _base64(np.concatenate(draft.faces).astype("<u4")),
        "strokes": _base64(np.concatenate([np.zeros((0, 2, 3)), *draft.strokes]).astype("<f4")),
        "focus": _bounds(assembly, assembly.rig_parts()).tolist(),
        "bounds": bounds.tolist(),
        "findings": list(_places(findings, assembly.scene.unit)),
    }


def groups(assembly: Assembly) -> tuple[tuple[str, str], ...]:
    """What can be hidden in the view: id and words."""
    named = [("tyres", "Tyres"), ("frame", "Tractor frame"), ("soil", "Soil")]
    named.append(("bands", "Keep-out bands"))
    if any(row.plants.height > 0.0 for row in assembly.rows):
        named.append(("plants", "Plants"))
    present = {_GROUPS[p.role] for p in assembly.mechanism.parts if p.role in _GROUPS}
    return tuple(n for n in named if n[0] in present or n[0] in ("soil", "bands", "plants"))


def _base64(array: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode("ascii")


def _bounds(assembly: Assembly, parts: Iterable[Part]) -> FloatArray:
    boxes = np.array([assembly.at_work(part).bounds() for part in parts])
    both: FloatArray = np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])
    return both


def _frame(frame: Frame) -> dict[str, Any]:
    told: dict[str, Any] = {
        "parent": frame.parent,
        "placement": frame.placement.reshape(-1).round(9).tolist(),
    }
    if frame.joint is not None:
        joint = frame.joint
        told["joint"] = {
            "name": joint.name,
            "kind": joint.kind.value,
            "turns": joint.turns,
            "axis": list(joint.axis),
            "value": joint.value,
            "low": joint.low,
            "high": joint.high,
        }
    return told


def _add_part(draft: _Draft, part: Part) -> None:
    group = _GROUPS.get(part.role, "rig")
    for material in dict.fromkeys(piece.material for piece in part.solid.pieces):
        pieces = part.solid.of(material)
        if pieces is not None:
            style = palette.style_of(part, material)
            mesh = merge(piece.mesh(_sides(piece)) for piece in pieces.pieces)
            draft.body(part.name, group, part.frame, mesh, style.colour, style.edge)
    for piece in part.solid.pieces:
        if part.role is Role.FINGER_WHEEL and isinstance(piece.shape, RoundedDisc):
            spokes = apply(piece.placement, _spokes(piece.shape).reshape(-1, 3))
            draft.stroke(group, part.frame, spokes.reshape(-1, 2, 3), "#a79db0")


def _sides(piece: Piece) -> int:
    if isinstance(piece.shape, Cylinder):
        for radius, sides in _FEWER_SIDES:
            if piece.shape.radius <= radius:
                return sides
    return SIDES


def _spokes(shape: RoundedDisc) -> FloatArray:
    """Strokes on either face of a wheel, so that it reads as fingers; shape (n, 2, 3)."""
    turn = circle(_SPOKES)
    outer = shape.radius - shape.thickness / 2.0
    inner = min(_SPOKE_FROM * shape.radius, outer)
    height = shape.thickness / 2.0 + _PROUD
    ends = [
        np.stack([np.column_stack((r * turn, np.full(_SPOKES, z))) for r in (inner, outer)], axis=1)
        for z in (height, -height)
    ]
    strokes: FloatArray = np.concatenate(ends)
    return strokes


def _add_ground(draft: _Draft, assembly: Assembly, bounds: FloatArray) -> None:
    back, front = float(bounds[0, 0]) - _MARGIN, float(bounds[1, 0]) + _MARGIN
    reach = float(np.abs(bounds[:, 1]).max()) + _MARGIN
    corners = assembly.soil.corners(reach)
    middle, length = (back + front) / 2.0, front - back
    draft.body("soil", "soil", 0, _sheet(corners, back, front), palette.SOIL, palette.SOIL_DEEP)
    for row in assembly.rows:
        place = translation(middle, 0.0, _OVER)
        band = Box(length, 2.0 * row.keep_out_mm, _OVER).mesh().moved(place)
        name = f"{row.name} keep-out"
        draft.body(name, "bands", row.frame, band, palette.CROP, palette.CROP)
        line = np.array([[(back, 0.0, 2.0 * _OVER), (front, 0.0, 2.0 * _OVER)]])
        draft.stroke("bands", row.frame, line, "#0b6b4d")
        plants = row.plants
        if plants.height > 0.0:
            thick = max(plants.height - plants.lowest_leaf, 1.0)
            leaves = Box(length, max(plants.canopy_width, plants.stem, 1.0), thick).mesh()
            mesh = leaves.moved(translation(middle, 0.0, plants.height - thick / 2.0))
            draft.body(f"{row.name} plants", "plants", row.frame, mesh, palette.LEAF, palette.LEAF)


def _sheet(corners: tuple[tuple[float, float], ...], back: float, front: float) -> Mesh:
    """The soil's surface as strips of two triangles, seen from above."""
    points = [(x, y, z) for y, z in corners for x in (back, front)]
    faces = [
        face
        for i in range(0, 2 * len(corners) - 2, 2)
        for face in ((i, i + 1, i + 2), (i + 1, i + 3, i + 2))
    ]
    return Mesh(np.array(points), np.array(faces))


def _places(findings: Findings, unit: Unit) -> Iterator[dict[str, Any]]:
    for number, finding in ranked(findings.findings):
        if finding.at:
            yield {
                "number": number,
                "check": finding.check,
                "kind": SHORT[finding.verdict],
                "word": finding.verdict.value,
                "at": [list(point) for point in _ends(finding)],
                "pose": dict(finding.pose),
                "told": _measured(finding, unit),
                "message": finding.message,
            }


def _ends(finding: Finding) -> tuple[tuple[float, float, float], ...]:
    first, last = finding.at[0], finding.at[-1]
    return (first,) if first == last else (first, last)


def _measured(finding: Finding, unit: Unit) -> str:
    return "" if finding.value is None else amount(finding.value, finding.unit, unit)


def motions(assembly: Assembly) -> tuple[dict[str, str], ...]:
    """The kinds of motion that can be tried: kind, title, and what each end is called.

    An end that no joint of the kind can move towards has an empty name.
    """
    found = []
    for kind, (title, low, high) in MOVED.items():
        joints = [j for j in assembly.mechanism.joints.values() if j.kind is kind]
        down = any(j.value - j.low > _STILL for j in joints)
        up = any(j.high - j.value > _STILL for j in joints)
        if down or up:
            ends = {"low": low if down else "", "high": high if up else ""}
            found.append({"kind": kind.value, "title": title, **ends})
    return tuple(found)
