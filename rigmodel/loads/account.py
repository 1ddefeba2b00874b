"""The account of a rig's weights and forces: everything that is known of them, in one value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.mass import MassProperties, combine
from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import WORK, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.loads import draft, joint
from rigmodel.loads.along import AlongBar, HangerForce, along_bar, hanger_forces
from rigmodel.loads.balance import (
    AxleLoads,
    LiftLoad,
    axle_loads,
    lift_loads,
    lifted_rigs,
    part_masses,
    rig_mass,
)
from rigmodel.loads.bar import BarResult, missing, solve_bar
from rigmodel.loads.draft import Draft, Pull
from rigmodel.loads.joint import HeldClamp
from rigmodel.loads.member import Stressed, members, stressed
from rigmodel.loads.shank import HeldShank, held_shanks
from rigmodel.loads.spring import DownForce, arm_entry, down_forces, known

LIFT_STEPS, FLOAT_STEPS = 20, 24


@dataclass(frozen=True, eq=False)
class Balance:
    """The rig as one body in a pose.

    Attributes:
        pose: name of the pose.
        mass_kg: its mass.
        centre_mm: centre of gravity: ahead of the rear axle, left of the tractor's centre, over
            the soil's zero; shape (3,).
    """

    pose: str
    mass_kg: float
    centre_mm: FloatArray


@dataclass(frozen=True, eq=False)
class SpringCurve:
    """Down-force over the whole float of tools that all press alike.

    Attributes:
        tools: their parts.
        low: angle of the down stop, degrees.
        work: angle at work.
        high: angle of the up stop.
        forces: down-force from stop to stop, in `FLOAT_STEPS` even steps.
        wanted_n: greatest force one of them is to press with at work, or None.
    """

    tools: tuple[str, ...]
    low: float
    work: float
    high: float
    forces: tuple[DownForce, ...]
    wanted_n: float | None


@dataclass(frozen=True, eq=False)
class LoadedMember:
    """An arm or cross tube under weight and draft at the high end of its range.

    Attributes:
        name: the part.
        what: ``arm`` or ``cross tube``.
        worst: its worst section.
        yield_mpa: yield strength of its steel, or None.
    """

    name: str
    what: str
    worst: Stressed
    yield_mpa: float | None


@dataclass(frozen=True, eq=False)
class Account:
    """Weights and forces of a rig. What is None or empty could not be known; `unknown` says why.

    Attributes:
        parts: mass, centroid and inertia of every part at work, world axes.
        stations: the same of every station.
        bar_kg: mass of the bar itself.
        balances: the rig at work, and lifted lowest, halfway and highest.
        lift: load of the lift from lowest to highest, in `LIFT_STEPS` even steps.
        axles: axle loads fully lifted, the rig on.
        drafts: pull on every tool, by part.
        pull: the whole rig's.
        bar: the bar, solved.
        along: what it does along its length.
        hangers: what holds it, from left to right.
        shanks: every shank in a holder.
        members: every arm and cross tube that carries a tool.
        springs: down-force at the stops and at work of every tool on an arm, by part.
        spring_curves: the same over the whole float, tools that press alike together.
        clamps: what every clamp holds.
        unknown: what could not be known, and what to give for it.
    """

    parts: Mapping[str, MassProperties]
    stations: Mapping[str, MassProperties]
    bar_kg: float
    balances: tuple[Balance, ...]
    lift: tuple[LiftLoad, ...]
    axles: AxleLoads | None
    drafts: Mapping[str, Draft]
    pull: Pull | None
    bar: BarResult | None
    along: AlongBar | None
    hangers: tuple[HangerForce, ...]
    shanks: tuple[HeldShank, ...]
    members: tuple[LoadedMember, ...]
    springs: Mapping[str, tuple[DownForce, ...]]
    spring_curves: tuple[SpringCurve, ...]
    clamps: tuple[HeldClamp, ...]
    unknown: tuple[str, ...]

    @property
    def rig_kg(self) -> float:
        """Mass of the bar and all that it carries."""
        return self.balances[0].mass_kg


def account(assembly: Assembly, bar: BarResult | None = None) -> Account:
    """Everything that is known of a rig's weights and forces.

    Args:
        assembly: the rig.
        bar: its bar, where it has been solved already.
    """
    parts = part_masses(assembly)
    stations = {s.name: combine(parts[name] for name in s.parts) for s in assembly.stations}
    springs = _springs(assembly)
    no_draft, no_bar, no_clamp = draft.missing(assembly), missing(assembly), joint.missing(assembly)
    solved = bar if bar is not None or no_bar else solve_bar(assembly)
    lift = lift_loads(assembly, [step / LIFT_STEPS for step in range(LIFT_STEPS + 1)])
    poses = balances(assembly)
    return Account(
        parts,
        MappingProxyType(stations),
        parts["bar"].mass_kg,
        poses,
        lift or (),
        _axles(assembly, poses[-1]),
        MappingProxyType({}) if no_draft else draft.drafts(assembly),
        None if no_draft else draft.pull(assembly),
        solved,
        None if solved is None else along_bar(assembly, solved),
        () if solved is None else hanger_forces(solved),
        held_shanks(assembly),
        () if no_draft else _members(assembly),
        MappingProxyType(springs),
        tuple(_curves(assembly, springs)),
        () if no_clamp else joint.held_clamps(assembly),
        _unknown(assembly, (no_bar, no_clamp), lift is None),
    )


def balance(assembly: Assembly, pose: Pose = WORK) -> Balance:
    """The rig as one body in any pose."""
    return _balance(pose, rig_mass(assembly, pose))


def balances(assembly: Assembly) -> tuple[Balance, ...]:
    """The rig at work, and lifted lowest, halfway and highest with its arms down."""
    lifted = lifted_rigs(assembly, (0.0, 0.5, 1.0))
    return balance(assembly), *(_balance(pose, body) for pose, body, _ in lifted)


def _balance(pose: Pose, body: MassProperties) -> Balance:
    name = "at work" if pose is WORK else pose.name
    return Balance(name, body.mass_kg, np.asarray(body.centroid_mm, dtype=np.float64))


def _axles(assembly: Assembly, lifted: Balance) -> AxleLoads | None:
    tractor = assembly.scene.spec.tractor
    front, rear = tractor.front.load_kg, tractor.rear.load_kg
    if front is None or rear is None or assembly.scene.tractor.front is None:
        return None
    wheelbase = assembly.scene.tractor.wheelbase
    return axle_loads(front, rear, wheelbase, lifted.mass_kg, float(lifted.centre_mm[0]))


def _springs(assembly: Assembly) -> dict[str, tuple[DownForce, ...]]:
    found = {}
    for tool in assembly.tools:
        entry = arm_entry(assembly, tool)
        if entry is not None and known(entry):
            found[tool.part] = down_forces(assembly, tool, entry)
    return found


def _curves(
    assembly: Assembly, springs: Mapping[str, tuple[DownForce, ...]]
) -> Iterator[SpringCurve]:
    tools = {tool.part: tool for tool in assembly.tools}
    alike: dict[tuple[float, ...], list[str]] = {}
    for part, forces in springs.items():
        key = tuple(round(v, 3) + 0.0 for f in forces for v in (f.angle, f.force_n))
        alike.setdefault(key, []).append(part)
    for parts in alike.values():
        tool = tools[parts[0]]
        entry = arm_entry(assembly, tool)
        assert entry is not None  # it has a spring
        turn = assembly.mechanism.joints[tool.arm]
        angles = np.linspace(turn.low, turn.high, FLOAT_STEPS + 1).tolist()
        forces = down_forces(assembly, tool, entry, angles)
        indices = {assembly.station[tools[part].station].index for part in parts}
        wanted = [assembly.scene.spec.stations[index].press_n for index in sorted(indices)]
        most = max((w for w in wanted if w is not None), default=None)
        yield SpringCurve(tuple(parts), turn.low, turn.value, turn.high, forces, most)


def _members(assembly: Assembly) -> tuple[LoadedMember, ...]:
    back = {part: one.high_n for part, one in draft.drafts(assembly).items()}
    return tuple(
        LoadedMember(m.name, m.what, stressed(assembly, m, back), m.yield_mpa)
        for m in members(assembly)
    )


def _unknown(assembly: Assembly, wanting: tuple[str, ...], no_lever: bool) -> tuple[str, ...]:
    tractor = assembly.scene.spec.tractor
    told = [text for texts in wanting for text in texts.split("; ") if text]
    told += [
        f"axle loads: tractor.{axle}.load_kg is not given"
        for axle in ("front", "rear")
        if getattr(tractor, axle).load_kg is None
    ]
    if tractor.lift.capacity_kg is None:
        told.append("what the lift can raise: tractor.lift.capacity_kg is not given")
    if no_lever:
        told.append("the lift's load: the bar passes over or under the lift's pivot")
    bare = [t for t in assembly.tools if (e := arm_entry(assembly, t)) is not None and not known(e)]
    if bare:
        told.append("down-force of the arms: their springs are not stated in the catalogue")
    told.append("forces of the soil sideways and up or down: not modelled")
    return tuple(dict.fromkeys(told))
