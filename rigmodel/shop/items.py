"""Every physical item on the rig, once: what the catalogue sells as one thing is one item."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.material import Material
from meshes_generic.shapes import Box
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.catalog.kinds import (
    AnyPart,
    FingerWheel,
    HalfBlade,
    MeshPart,
    SpringHolder,
    SquareTube,
    TrailingArm,
    walk,
)
from rigmodel.catalog.store import Catalogue

BAR = "bar"
_SECOND_SOLID: Mapping[type, str] = MappingProxyType(
    {SpringHolder: "_bracket", TrailingArm: "_bracket", FingerWheel: "_axle"}
)


@dataclass(frozen=True, eq=False)
class Item:
    """One item.

    Attributes:
        name: stable name such as ``row2.left.finger_wheel_arm``; the toolbar is ``bar``.
        station: name of its station; empty for the toolbar and its struts.
        part_id: catalogue id; ``bar`` for a toolbar whose sizes the scene gives.
        role: what it does.
        entry: its catalogue entry.
        on: entry of what it is fixed to, of the strut for a strut's clamp, or None.
        mass_kg: mass of all its solids; None where it is not modelled.
        materials: what it is made of, the heaviest first.
        length_mm: cut length of a tube, else 0.
        hand: ``left hand``, ``right hand`` or ``mirror image of its file`` where they differ, else
            empty.
        overall_mm: sizes x, y, z of a part from a mesh file, in the file's axes; else empty.
    """

    name: str
    station: str
    part_id: str
    role: Role
    entry: AnyPart
    on: AnyPart | None
    mass_kg: float | None
    materials: tuple[Material, ...]
    length_mm: float
    hand: str
    overall_mm: tuple[float, ...]


def items(assembly: Assembly) -> tuple[Item, ...]:
    """The bar, its struts with their clamps, then every item of every station, as in the scene."""
    scene, mechanism = assembly.scene, assembly.mechanism
    bar = mechanism.part(BAR)
    bar_id = scene.spec.toolbar.tube or BAR
    found = [_item(scene.catalogue, bar.name, (bar,), scene.tube, None, "", bar_id)]
    for strut in assembly.struts:
        tube, clamp = mechanism.part(strut.name), mechanism.part(strut.clamp.part)
        section = scene.catalogue.parts[tube.item]
        found.append(
            _item(
                scene.catalogue,
                clamp.name,
                (clamp,),
                scene.catalogue.parts[clamp.item],
                section,
                "",
                clamp.item,
            )
        )
        found.append(_item(scene.catalogue, tube.name, (tube,), section, None, "", tube.item))
    for station in assembly.stations:
        found += _station_items(assembly, station)
    return tuple(found)


def counted(assembly: Assembly, station: StationPlace) -> Counter[str]:
    """Catalogue parts of one station, counted; nothing is weighed."""
    return Counter(parts[0].item for parts in _whole_items(assembly, station).values())


def _whole_items(assembly: Assembly, station: StationPlace) -> dict[str, list[Part]]:
    """The parts of a station by the item they belong to: a wheel is one, of two solids."""
    catalogue, mechanism = assembly.scene.catalogue.parts, assembly.mechanism
    groups: dict[str, list[Part]] = {}
    for name in station.parts:
        part = mechanism.part(name)
        suffix = _SECOND_SOLID.get(type(catalogue[part.item]), "")
        whole = name.removesuffix(suffix) if suffix else name
        owner = whole if whole in mechanism.part_index else name
        groups.setdefault(owner, []).append(part)
    return groups


def _station_items(assembly: Assembly, station: StationPlace) -> list[Item]:
    catalogue = assembly.scene.catalogue.parts
    above = _above(assembly, station)
    mounted: AnyPart = assembly.scene.tube
    found = []
    for name, parts in _whole_items(assembly, station).items():
        node = name[len(station.name) + 1 :]
        entry = catalogue[parts[0].item]
        on = above.get(node)
        if on is None:  # the clamp, a cross tube, or the first part they carry, in this order
            on = mounted
            mounted = entry
        part_id = parts[0].item
        book = assembly.scene.catalogue
        found.append(_item(book, name, tuple(parts), entry, on, station.name, part_id))
    return found


def _above(assembly: Assembly, station: StationPlace) -> dict[str, AnyPart]:
    """For each node of a station's sub-assembly, the entry of the node that carries it."""
    planned = next(p for p in assembly.scene.stations if p.index == station.index)
    catalogue = assembly.scene.catalogue.parts
    return {
        child.name: catalogue[node.part]
        for node in walk(planned.unit.tool)
        for child in node.carries
    }


def _item(
    catalogue: Catalogue,
    name: str,
    parts: tuple[Part, ...],
    entry: AnyPart,
    on: AnyPart | None,
    station: str,
    part_id: str,
) -> Item:
    main = next((part for part in parts if part.name == name), parts[0])
    weights: dict[Material, float] = {}
    for part in parts:
        for piece in part.solid.pieces:
            mass = piece.mass_properties().mass_kg
            weights[piece.material] = weights.get(piece.material, 0.0) + mass
    total = sum(part.solid.mass_properties().mass_kg for part in parts)
    return Item(
        name,
        station,
        part_id,
        main.role,
        entry,
        on,
        None if Material.BODY in weights else total,
        tuple(sorted(weights, key=lambda m: (-weights[m], m.value))),
        _tube_length(main) if isinstance(entry, SquareTube) else 0.0,
        _hand(catalogue, main, entry),
        _overall(main) if isinstance(entry, MeshPart) else (),
    )


def _tube_length(part: Part) -> float:
    shape = part.solid.pieces[0].shape
    assert isinstance(shape, Box)  # a square tube's one piece
    return max(shape.size_x, shape.size_y, shape.size_z)


def _overall(part: Part) -> tuple[float, ...]:
    shape = part.solid.pieces[0].shape
    return tuple((shape.support(np.eye(3)) + shape.support(-np.eye(3))).tolist())


def _hand(catalogue: Catalogue, part: Part, entry: AnyPart) -> str:
    """What tells a part from its mirror image."""
    if isinstance(entry, MeshPart):
        as_read = part.solid.pieces[0].shape == catalogue.bodies[entry.source]
        return "" if as_read else "mirror image of its file"
    return f"{_wing_side(part)} hand" if isinstance(entry, HalfBlade) else ""


def _wing_side(part: Part) -> str:
    """The side of its upright that a one-sided blade's wing lies on, seen from behind."""
    tang = next(piece for piece in part.solid.pieces if piece.label == "tang")
    wing = next(piece for piece in part.solid.pieces if piece.label == "wing")
    middles = [piece.mass_properties().centroid_mm for piece in (wing, tang)]
    across = float(np.dot(tang.placement[:3, 1], middles[0] - middles[1]))
    return "left" if across > 0.0 else "right"
