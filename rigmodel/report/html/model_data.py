"""What the 3D view draws, as plain values for JSON: frames, parts, ground, and finding places.

Vertices are mm in the axes of the frame that carries them, so that the page can show any pose.
Shapes are named by a digest of their numbers: equal parts share one, and a view that is told of a
changed rig keeps those it has.
"""

from __future__ import annotations

import base64
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

from meshes_generic.material import Material
from meshes_generic.mesh import Mesh, circle, merge
from meshes_generic.shapes import Box, Cylinder, RoundedDisc, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray, apply, translation
from rigmodel.assembly.model import Frame, JointKind, Part, Role
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.clearance.finding import Finding, Findings
from rigmodel.report.html.sag_lines import sag_lines
from rigmodel.report.html.verdicts import SHORT, amount, ranked
from rigmodel.units import Unit, format_length
from rigmodel.view import palette

SIDES = 48
_FEWER_SIDES = ((9.0, 12), (25.0, 24))  # of cylinders up to these radii: bolts, pins, springs
_MARGIN = 250.0  # ground drawn beyond what stands on it, mm
_OVER = 3.0  # bands and row lines lie this far over the soil, mm
_STILL = 1e-6  # mm or degrees
_SPOKES, _SPOKE_FROM, _PROUD = 24, 0.55, 0.4
_BENT = "#a3350f"
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
    """Bodies and strokes, and the shapes they share: equal parts are told once."""

    bodies: list[dict[str, Any]] = field(default_factory=list)
    lines: list[dict[str, Any]] = field(default_factory=list)
    shapes: dict[str, Mapping[str, str]] = field(default_factory=dict)

    def body(
        self,
        name: str,
        group: str,
        frame: int,
        shape: _Shape,
        colour: str,
        edge: str,
        station: str = "",
    ) -> None:
        """Adds a body in the axes of a frame."""
        self.bodies.append(
            {
                "name": name,
                "group": group,
                "frame": frame,
                "station": station,
                "colour": colour,
                "opacity": _FAINT.get(group, 1.0),
                "edge": edge,
                "shape": self._kept(shape),
            }
        )

    def stroke(self, group: str, frame: int, shape: _Shape, colour: str, station: str = "") -> None:
        """Adds strokes in the axes of a frame."""
        self.lines.append(
            {
                "group": group,
                "frame": frame,
                "station": station,
                "colour": colour,
                "shape": self._kept(shape),
            }
        )

    def _kept(self, shape: _Shape) -> str:
        self.shapes[shape.name] = shape.arrays
        return shape.name


@dataclass(frozen=True)
class _Shape:
    """Numbers of a shape in base64, and their digest, which is the same in every model."""

    name: str
    arrays: Mapping[str, str]


def _shape(**arrays: NDArray[Any]) -> _Shape:
    name = blake2b(digest_size=9)
    for array in arrays.values():
        name.update(array.tobytes())
    return _Shape(name.hexdigest(), {kind: _base64(array) for kind, array in arrays.items()})


def _faces(mesh: Mesh) -> _Shape:
    return _shape(vertices=mesh.vertices.astype("<f4"), faces=mesh.faces.astype("<u4"))


def _strokes(ends: FloatArray) -> _Shape:
    return _shape(strokes=ends.astype("<f4"))


def model_data(
    assembly: Assembly, findings: Findings, known: Collection[str] = ()
) -> dict[str, Any]:
    """Everything the 3D view needs.

    Args:
        assembly: what is drawn.
        findings: whose places are marked.
        known: names of shapes the view has already; they are not told again.
    """
    draft = _Draft()
    for part in assembly.mechanism.parts:
        _add_part(draft, part)
    boxes = _boxes(assembly)
    on_rig = {part.name for part in assembly.rig_parts()}
    bounds = _round(boxes)
    _add_ground(draft, assembly, bounds)
    sag, bar = sag_lines(assembly), assembly.mechanism.part("bar").frame
    if sag is not None:
        draft.stroke("sag", bar, _strokes(sag.strokes), _BENT)
    return {
        "frames": _frames(assembly.mechanism.frames),
        "bodies": draft.bodies,
        "lines": draft.lines,
        "shapes": {name: told for name, told in draft.shapes.items() if name not in known},
        "focus": _round(boxes[[p.name in on_rig for p in assembly.mechanism.parts]]).tolist(),
        "bounds": bounds.tolist(),
        "findings": list(_places(findings, assembly.scene.unit)),
        "bar": {
            "frame": bar,
            "half": assembly.scene.spec.toolbar.length / 2.0,
            "size": assembly.scene.tube.size,
        },
        "stations": [_station(station, assembly) for station in assembly.stations],
    }


def _station(station: StationPlace, assembly: Assembly) -> dict[str, Any]:
    """Where a station is clamped to the bar, for its label and for moving it."""
    place = station.place_mm
    words = format_length(abs(place), assembly.scene.unit)
    side = "" if abs(place) < _STILL else " left" if place > 0 else " right"
    return {
        "name": station.name,
        "index": station.index,
        "place": place,
        "side": station.side,
        "free": isinstance(assembly.scene.spec.stations[station.index].at, tuple),
        "mark": words + side,
    }


def groups(assembly: Assembly) -> tuple[tuple[str, str], ...]:
    """What can be hidden in the view: id and words."""
    named = [("tyres", "Tyres"), ("frame", "Tractor frame"), ("soil", "Soil")]
    named.append(("bands", "Keep-out bands"))
    if any(row.plants.height > 0.0 for row in assembly.rows):
        named.append(("plants", "Plants"))
    sag = sag_lines(assembly)
    if sag is not None:
        named.append(("sag", sag.told))
    present = {_GROUPS[p.role] for p in assembly.mechanism.parts if p.role in _GROUPS}
    always = ("soil", "bands", "plants", "sag")
    return tuple(n for n in named if n[0] in present or n[0] in always)


def _base64(array: NDArray[Any]) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode("ascii")


def _boxes(assembly: Assembly) -> FloatArray:
    """Boxes (n, 2, 3) of all parts at work, mm."""
    places = [assembly.work_frames[part.frame] for part in assembly.mechanism.parts]
    spreads = [
        _spread(part.solid, place[:3, :3].tobytes())
        for part, place in zip(assembly.mechanism.parts, places, strict=True)
    ]
    boxes: FloatArray = np.array(spreads) + np.array([p[:3, 3] for p in places])[:, None, :]
    return boxes


@lru_cache(maxsize=8192)  # a rig that is raised or shifted is not turned
def _spread(solid: Solid, turn: bytes) -> FloatArray:
    """Box (2, 3) of a solid that is turned by a rotation (3, 3), given as the bytes of it."""
    return np.array([solid.extent(axis) for axis in np.frombuffer(turn).reshape(3, 3)]).T


def _round(boxes: FloatArray) -> FloatArray:
    """The box (2, 3) round boxes (n, 2, 3)."""
    both: FloatArray = np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])
    return both


def _frames(frames: Sequence[Frame]) -> list[dict[str, Any]]:
    placements = np.array([frame.placement for frame in frames]).reshape(len(frames), -1)
    return [
        _frame(frame, placement)
        for frame, placement in zip(frames, placements.round(9).tolist(), strict=True)
    ]


def _frame(frame: Frame, placement: list[float]) -> dict[str, Any]:
    told: dict[str, Any] = {"parent": frame.parent, "placement": placement}
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
    for material, shape in _bodies(part.solid):
        style = palette.style_of(part, material)
        draft.body(part.name, group, part.frame, shape, style.colour, style.edge, part.station)
    if part.role is Role.FINGER_WHEEL:
        for shape in _spokes(part.solid):
            draft.stroke(group, part.frame, shape, "#a79db0", part.station)


@lru_cache(maxsize=4096)  # a solid is known by itself: places and assemblies share it
def _bodies(solid: Solid) -> tuple[tuple[Material, _Shape], ...]:
    """One shape for each material of a solid."""
    found = []
    for material in dict.fromkeys(piece.material for piece in solid.pieces):
        pieces = solid.of(material)
        if pieces is not None:
            mesh = merge(_mesh(p.shape, _sides(p)).moved(p.placement) for p in pieces.pieces)
            found.append((material, _faces(mesh)))
    return tuple(found)


@lru_cache(maxsize=4096)  # a shank that slides in its holder is another solid of the same shapes
def _mesh(shape: Shape, sides: int) -> Mesh:
    return shape.mesh(sides)


@lru_cache(maxsize=1024)
def _spokes(solid: Solid) -> tuple[_Shape, ...]:
    """Strokes on either face of the wheels of a solid, so that they read as fingers."""
    return tuple(
        _strokes(apply(piece.placement, _rays(piece.shape).reshape(-1, 3)).reshape(-1, 2, 3))
        for piece in solid.pieces
        if isinstance(piece.shape, RoundedDisc)
    )


def _sides(piece: Piece) -> int:
    if isinstance(piece.shape, Cylinder):
        for radius, sides in _FEWER_SIDES:
            if piece.shape.radius <= radius:
                return sides
    return SIDES


def _rays(shape: RoundedDisc) -> FloatArray:
    """Strokes from the hub outwards on either face; shape (n, 2, 3)."""
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
    sheet = _faces(_sheet(corners, back, front))
    draft.body("soil", "soil", 0, sheet, palette.SOIL, palette.SOIL_DEEP)
    for row in assembly.rows:
        place = translation(middle, 0.0, _OVER)
        band = Box(length, 2.0 * row.keep_out_mm, _OVER).mesh().moved(place)
        name = f"{row.name} keep-out"
        draft.body(name, "bands", row.frame, _faces(band), palette.CROP, palette.CROP)
        line = np.array([[(back, 0.0, 2.0 * _OVER), (front, 0.0, 2.0 * _OVER)]])
        draft.stroke("bands", row.frame, _strokes(line), "#0b6b4d")
        plants = row.plants
        if plants.height > 0.0:
            thick = max(plants.height - plants.lowest_leaf, 1.0)
            leaves = Box(length, max(plants.canopy_width, plants.stem, 1.0), thick).mesh()
            shape = _faces(leaves.moved(translation(middle, 0.0, plants.height - thick / 2.0)))
            draft.body(f"{row.name} plants", "plants", row.frame, shape, palette.LEAF, palette.LEAF)


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
