"""Digests of what assemblies hold: equal digests, equal content."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from meshes_generic.mass import MassProperties
from meshes_generic.shapes import ClosedSurface, Shape
from meshes_generic.solid import Solid
from rigmodel.advise.study.facets import TYRE_FRAMES, Facet
from rigmodel.assembly.model import Frame, JointKind, Part, Role
from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.recent import Recent
from rigmodel.spec.resolve import PlannedStation

_SIZE = 16  # bytes; by chance two of a million differ in nothing once in 10^27
_OBJECTS = 400  # lists and other things whose digests are kept
_Told = TypeVar("_Told")
_AXLES, _LIFT = ("rear", "front"), ("lift",)


def digest(*texts: bytes) -> bytes:
    """A digest of some byte strings, each kept apart from the next."""
    found = hashlib.blake2b(digest_size=_SIZE)
    for text in texts:
        found.update(len(text).to_bytes(8, "little"))
        found.update(text)
    return found.digest()


class Digests:
    """Digests of assemblies made from scenes' trees.

    Those of solids, parts and all else that is kept are too: a rig stands under many tractors.
    """

    def __init__(self) -> None:
        self._solids: WeakKeyDictionary[Solid, bytes] = WeakKeyDictionary()
        self._parts: WeakKeyDictionary[Part, bytes] = WeakKeyDictionary()
        self._frames: WeakKeyDictionary[Frame, bytes] = WeakKeyDictionary()
        self._by_id: Recent[int, tuple[object, bytes]] = Recent(_OBJECTS)
        self._rows: Recent[tuple[RowPlace, ...], bytes] = Recent(_OBJECTS)

    def rest(self, tree: Mapping[str, Any], assembly: Assembly) -> bytes:
        """Digest of all but the facets: the scene as written, and what was put together."""
        tractor = tree.get("tractor")
        kept = {k: v for k, v in (tractor or {}).items() if k not in (*_AXLES, *_LIFT)}
        scene, mechanism = assembly.scene, assembly.mechanism
        tyres = [part for part in mechanism.parts if part.role is Role.TYRE]
        parts = [self._part(part) for part in mechanism.parts if part.role is not Role.TYRE]
        frames = [self._frame(frame) for frame in mechanism.frames]
        return digest(
            _json({**tree, "tractor": kept}),
            *(
                self._kept(told, _listed)
                for told in (
                    assembly.stations,
                    assembly.tools,
                    assembly.clamps,
                    assembly.adjustments,
                )
            ),
            self._rows_of(assembly.rows),
            self._kept(scene.stations, _places),
            self._kept(scene.tube, repr),
            repr((assembly.soil, assembly.level_angles)).encode(),
            b"".join(frames),
            b"".join(parts),
            *map(_names, tyres),
        )

    def facet(self, facet: Facet, tree: Mapping[str, Any], assembly: Assembly) -> bytes:
        """Digest of one facet."""
        tractor = tree.get("tractor") or {}
        mechanism = assembly.mechanism
        if facet is Facet.LIFT:
            joints = mechanism.joints.values()
            lifts = [vars(joint) for joint in joints if joint.kind is JointKind.LIFT]
            return digest(_json([tractor.get(k) for k in _LIFT]), repr(lifts).encode())
        parts = (self._part(part) for part in mechanism.parts if part.role is Role.TYRE)
        frames = (f for f in mechanism.frames if f.name.startswith(TYRE_FRAMES))
        axles = [vars(axle) for axle in assembly.scene.axles]
        return digest(
            _json([tractor.get(k) for k in _AXLES]),
            repr(axles).encode(),
            *parts,
            *(frame.placement.tobytes() + repr(vars(frame.joint)).encode() for frame in frames),
        )

    def tyre(self, name: str, solid: Solid, frame: Frame) -> bytes:
        """Digest of a tyre in its frame, which is the tractor's own unless the tyre steers."""
        place = b""
        if frame.name.startswith(TYRE_FRAMES):
            place = frame.placement.tobytes() + repr(frame.joint).encode()
        return digest(name.encode(), self._solid(solid), place)

    def _kept(self, told: _Told, written: Callable[[_Told], str]) -> bytes:
        known = self._by_id.get(id(told))
        if known is None:  # what it is kept with holds the object, so no other has its id
            made = digest(written(told).encode())
            known = self._by_id.keep(id(told), (told, made))
        return known[1]

    def _rows_of(self, rows: tuple[RowPlace, ...]) -> bytes:
        return self._rows.get(rows) or self._rows.keep(rows, digest(_listed(rows).encode()))

    def _part(self, part: Part) -> bytes:
        found = self._parts.get(part)
        if found is None:
            told = _names(part) + repr(sorted(part.bolted_to)).encode()
            found = self._parts[part] = digest(told, self._solid(part.solid))
        return found

    def _frame(self, frame: Frame) -> bytes:
        found = self._frames.get(frame)
        if found is None:
            found = self._frames[frame] = _frame(frame)
        return found

    def _solid(self, solid: Solid) -> bytes:
        found = self._solids.get(solid)
        if found is None:
            pieces = (
                digest(
                    _shape(piece.shape),
                    repr((piece.material, piece.label)).encode(),
                    _mass(piece.own_mass),
                    piece.placement.tobytes(),
                )
                for piece in solid.pieces
            )
            found = self._solids[solid] = digest(_mass(solid.mass), *pieces)
        return found


def _listed(told: Iterable[object]) -> str:
    return repr(list(map(vars, told)))


def _places(stations: Iterable[PlannedStation]) -> str:
    return repr([planned.places for planned in stations])


def _names(part: Part) -> bytes:
    return repr((part.name, part.role.value, part.item, part.frame, part.station)).encode()


def _shape(shape: Shape) -> bytes:
    if isinstance(shape, ClosedSurface):
        return digest(shape.vertices.tobytes(), shape.triangles.tobytes())
    return repr(shape).encode()  # plain numbers, each written in full


def _mass(mass: MassProperties | None) -> bytes:
    if mass is None:
        return b""
    arrays = (mass.centroid_mm.tobytes(), mass.inertia_kg_mm2.tobytes())
    return digest(repr(mass.mass_kg).encode(), *arrays)


def _frame(frame: Frame) -> bytes:
    """All of a frame that belongs to no facet."""
    joint = frame.joint
    told: Any = None
    if joint is not None:
        told = dict(vars(joint))
        if joint.kind in (JointKind.LIFT, JointKind.STEER):
            del told["low"], told["high"]
    place = b"" if frame.name.startswith(TYRE_FRAMES) else frame.placement.tobytes()
    return digest(repr((frame.name, frame.parent, told)).encode(), place)


def _json(tree: Any) -> bytes:
    return json.dumps(tree, ensure_ascii=False, sort_keys=True).encode()
