"""Trailing arms and cross tubes between bar and tool, under weight and draft or a stone's force.

What hangs beyond a section of such a member acts on it by its resultant there: the force F, and the
moment M about the middle of the section. Along the member nothing but its own weight acts, so the
moment is greatest at one of its ends:

- a cross tube is held fast at the middle of its tee clamp;
- an arm turns freely about its pivot, which takes no moment about its pin. There its level bending
  and its torque are looked at, and at its far end, where the holder stands, all of the moment.

At its tool an arm is held up by the soil. The soil pushes at most with the down-force of weight and
spring, for draft lifts the arm; where the spring is not stated it is that of the weight alone, and
`assumed` says so. Bending in both planes is added as at a sharp corner, and shear to torsion.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import JointKind, Part, Role
from rigmodel.assembly.rig import Assembly, StationPlace, ToolPlace
from rigmodel.catalog.kinds import SquareTube, TrailingArm
from rigmodel.loads.constants import GRAVITY
from rigmodel.loads.section import Section, flat_section, square_section
from rigmodel.loads.side import acts_at
from rigmodel.loads.spring import arm_entry, at_work, down_forces, known


@dataclass(frozen=True, eq=False)
class Cut:
    """A section of a member.

    Attributes:
        place: where it is, in words.
        middle_mm: middle of the section, world axes, shape (3,).
        pinned: whether it takes no moment about the pin that lies across.
    """

    place: str
    middle_mm: FloatArray
    pinned: bool = False


@dataclass(frozen=True, eq=False)
class Member:
    """One arm or cross tube.

    Attributes:
        name: the part.
        what: ``arm`` or ``cross tube``.
        along: unit vector along it, away from the bar, world axes, shape (3,).
        upright: its section bent up and down.
        level: its section bent sideways.
        cuts: where it is looked at.
        carried: parts beyond it.
        tools: tools beyond it.
        yield_mpa: yield strength of its steel, or None.
    """

    name: str
    what: str
    along: FloatArray
    upright: Section
    level: Section
    cuts: tuple[Cut, ...]
    carried: tuple[str, ...]
    tools: tuple[ToolPlace, ...]
    yield_mpa: float | None


@dataclass(frozen=True, eq=False)
class Stressed:
    """The worst section of a member under some forces.

    Attributes:
        stress_mpa: greatest equivalent stress.
        place: where.
        bending_nm: bending up and down, and sideways, N m.
        torque_nm: torque, N m.
        forces_n: force along the member, up and down, and sideways, N.
        upright: its section bent up and down.
        level: the same bent sideways.
    """

    stress_mpa: float
    place: str
    bending_nm: tuple[float, float]
    torque_nm: float
    forces_n: tuple[float, float, float]
    upright: Section
    level: Section


def members(assembly: Assembly) -> tuple[Member, ...]:
    """Every arm and every cross tube that carries a tool."""
    return tuple(found for station in assembly.stations for found in _of(assembly, station))


def entries(assembly: Assembly) -> Iterator[tuple[Part, SquareTube | TrailingArm]]:
    """Every arm and cross tube with its catalogue entry; quick, as nothing is worked out."""
    catalogue = assembly.scene.catalogue.parts
    for part in assembly.mechanism.parts:
        if part.role in (Role.ARM, Role.TUBE) and part.station:
            entry = catalogue.get(part.item)
            tube = part.role is Role.TUBE and isinstance(entry, SquareTube)
            if tube or (isinstance(entry, TrailingArm) and _turns(assembly, part)):
                yield part, entry  # type: ignore[misc]


def _of(assembly: Assembly, station: StationPlace) -> Iterator[Member]:
    for name in station.parts:
        part = assembly.mechanism.part(name)
        if part.role not in (Role.ARM, Role.TUBE):
            continue
        entry = assembly.scene.catalogue.parts.get(part.item)
        beyond = _beyond(assembly, station, name)
        tools = tuple(t for t in assembly.tools if t.part in beyond)
        if not tools:
            continue
        if part.role is Role.TUBE and isinstance(entry, SquareTube):
            section = square_section(entry.size, entry.wall, entry.corner_radius)
            above = next(p for p in station.parts if p not in (*beyond, name))
            x, _, z = assembly.at_work(part).mass_properties().centroid_mm.tolist()
            clamp = assembly.at_work(assembly.mechanism.part(above)).mass_properties().centroid_mm
            root = np.array((float(clamp[0]), float(clamp[1]), z))
            along = np.array((np.sign(x - float(clamp[0])) or -1.0, 0.0, 0.0))
            cuts: tuple[Cut, ...] = (Cut("at its tee clamp", root),)
            yield Member(name, "cross tube", along, section, section, cuts, beyond, tools,
                         entry.yield_mpa)  # fmt: skip
        elif part.role is Role.ARM and isinstance(entry, TrailingArm) and _turns(assembly, part):
            frame = assembly.work_frames[part.frame]
            pivot, along = frame[:3, 3], -frame[:3, 0]
            end = Cut("where its holder stands", pivot + entry.length * along)
            cuts = (Cut("at its pivot", pivot, pinned=True), end)
            upright = flat_section(entry.depth, entry.width)
            level = flat_section(entry.width, entry.depth)
            yield Member(name, "arm", along, upright, level, cuts, beyond, tools, entry.yield_mpa)


def _turns(assembly: Assembly, part: Part) -> bool:
    """Whether a part of an arm is what turns, not its bracket."""
    joint = assembly.mechanism.frames[part.frame].joint
    return joint is not None and joint.kind is JointKind.FLOAT  # a clamp's place may sway too


def _beyond(assembly: Assembly, station: StationPlace, name: str) -> tuple[str, ...]:
    """Parts of a station that a part carries: those bolted to it but through the one above it."""
    order = {part: k for k, part in enumerate(station.parts)}
    found: list[str] = []
    ahead = [name]
    while ahead:
        here = ahead.pop()
        nexts = [
            other
            for other in assembly.mechanism.part(here).bolted_to
            if order.get(other, -1) > order[here] and other not in found
        ]
        found += nexts
        ahead += nexts
    return tuple(sorted(found, key=lambda part: order[part]))


def assumed(assembly: Assembly) -> str:
    """What is assumed of the soil's push on tools on arms, in words."""
    entries = [arm_entry(assembly, tool) for tool in assembly.tools]
    if any(entry is not None and not known(entry) for entry in entries):
        return "the soil holds tools on arms up by their weight alone, as springs are not stated"
    return "the soil holds tools on arms up by their down-force"


def soil_pushes(assembly: Assembly, tools: Iterable[ToolPlace]) -> Mapping[str, float]:
    """Greatest push of the soil up on those of some tools that hang on arms, N, by part."""
    found = {}
    for tool in tools:
        entry = arm_entry(assembly, tool)
        if entry is None:
            continue
        bare = entry.model_copy(update={"spring_rate_n_mm": 0.0, "spring_preload_n": 0.0,
                                        "spring_lever": 1.0})  # fmt: skip
        forces = down_forces(assembly, tool, entry if known(entry) else bare)
        found[tool.part] = at_work(assembly, tool, forces).force_n
    return found


def stressed(
    assembly: Assembly,
    member: Member,
    back_n: Mapping[str, float],
    aside_n: Mapping[str, float] = MappingProxyType({}),
) -> Stressed:
    """The worst section of a member.

    Args:
        assembly: the rig.
        member: the member.
        back_n: force backwards on each tool beyond it, N, by part; none for those left out.
        aside_n: force to the left likewise.
    """
    pushes = soil_pushes(assembly, member.tools)
    forces, places = [], []
    for part in map(assembly.mechanism.part, member.carried):
        body = part.solid.mass_properties().moved(assembly.work_frames[part.frame])
        forces.append(np.array((0.0, 0.0, -body.mass_kg * GRAVITY)))
        places.append(np.asarray(body.centroid_mm))
    for tool in member.tools:
        push = pushes.get(tool.part, 0.0)
        back, aside = back_n.get(tool.part, 0.0), aside_n.get(tool.part, 0.0)
        forces.append(np.array((-back, aside, push)))
        places.append(acts_at(assembly, tool))
    force, place = np.array(forces), np.array(places)
    found = (_at(member, cut, force, place) for cut in member.cuts)
    return max(found, key=lambda one: one.stress_mpa)


def _at(member: Member, cut: Cut, forces: FloatArray, places: FloatArray) -> Stressed:
    total = forces.sum(axis=0)
    moment = np.cross(places - cut.middle_mm, forces).sum(axis=0)
    across = np.array((0.0, 1.0, 0.0))  # arms turn about it, and cross tubes lie square to it
    third = np.cross(member.along, across)
    torque = float(moment @ member.along)
    upright = 0.0 if cut.pinned else float(moment @ across)
    level = float(moment @ third)
    pulled = float(total @ member.along)
    sideways, upwards = float(total @ across), float(total @ third)
    direct = abs(upright) / member.upright.modulus_mm3 + abs(level) / member.level.modulus_mm3
    direct += abs(pulled) / member.upright.area_mm2
    shear = abs(torque) / member.upright.torsion_modulus_mm3
    shear += abs(upwards) / member.upright.shear_area_mm2
    shear += abs(sideways) / member.level.shear_area_mm2
    stress = float(np.hypot(direct, np.sqrt(3.0) * shear))
    return Stressed(
        stress,
        cut.place,
        (upright / 1000.0, level / 1000.0),
        torque / 1000.0,
        (pulled, upwards, sideways),
        member.upright,
        member.level,
    )
