"""Digests of what assemblies hold: equal digests, equal content."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any
from weakref import WeakKeyDictionary

from meshes_generic.mass import MassProperties
from meshes_generic.shapes import ClosedSurface, Shape
from meshes_generic.solid import Solid
from rigmodel.advise.study.facets import TYRE_FRAMES, Facet
from rigmodel.assembly.model import Frame, JointKind, Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.recent import Recent

_SIZE = 16  # bytes; by chance two of a million differ in nothing once in 10^27
_LISTS = 200  # lists whose digests are kept
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

    Those of solids, parts and frames are kept: one rig stands under many tractors.
    """

    def __init__(self) -> None:
        self._solids: WeakKeyDictionary[Solid, bytes] = WeakKeyDictionary()
        self._parts: WeakKeyDictionary[Part, bytes] = WeakKeyDictionary()
        self._frames: WeakKeyDictionary[Frame, bytes] = WeakKeyDictionary()
        self._lists: Recent[int, tuple[object, bytes]] = Recent(_LISTS)

    def rest(self, tree: Mapping[str, Any], assembly: Assembly) -> bytes:
        """Digest of all but the facets: the scene as written, and what was put together."""
        tractor = tree.get("tractor")
        kept = {k: v for k, v in (tractor or {}).items() if k not in (*_AXLES, *_LIFT)}
        told = (
            assembly.stations,
            assembly.tools,
            assembly.clamps,
            assembly.adjustments,
            assembly.rows,
        )
        mechanism = assembly.mechanism
        return digest(
            _json({**tree, "tractor": kept}),
            *map(self._list, told),
            repr((assembly.soil, assembly.level_angles)).encode(),
            repr([[p.places for p in assembly.scene.stations], assembly.scene.tube]).encode(),
            *map(self._frame, mechanism.frames),
            *(
                _names(part) if part.role is Role.TYRE else self._part(part)
                for part in mechanism.parts
            ),
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

    def _list(self, told: Sequence[object]) -> bytes:
        known = self._lists.get(id(told))
        if known is None:  # what it is kept with holds the list, so no other has its id
            made = repr(list(map(vars, told))).encode()
            known = self._lists.keep(id(told), (told, digest(made)))
        return known[1]

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
