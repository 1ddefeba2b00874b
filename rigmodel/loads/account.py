"""The account of a rig's weights and forces: everything that is known of them, in one value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from meshes_generic.mass import MassProperties, combine
from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import WORK, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.loads import draft, joint
from rigmodel.loads.balance import (
    AxleLoads,
    LiftLoad,
    axle_loads,
    lift_loads,
    lifted_rigs,
    part_masses,
    rig_mass,
)
from rigmodel.loads.bar import BarResult, missing, pulls, solve_bar, weights
from rigmodel.loads.draft import Draft, Pull
from rigmodel.loads.joint import HeldClamp
from rigmodel.loads.shank import HeldShank, held_shanks
from rigmodel.loads.spring import DownForce, arm_entry, down_forces, known

LIFT_STEPS = 20
_STEPS = 201  # places along the bar, besides those where something acts


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
class HangerForce:
    """What a hanger does to the bar, in the bar's own axes; the hanger bears the opposite.

    Attributes:
        at_mm: its place, left of the bar's centre.
        up_n: force upwards.
        ahead_n: force forwards.
        torque_nm: torque about the bar's axis; positive turns its front down.
    """

    at_mm: float
    up_n: float
    ahead_n: float
    torque_nm: float


@dataclass(frozen=True, eq=False)
class AlongBar:
    """What the loaded bar does along its length; jumps have two points at one place.

    Attributes:
        at_mm: places, left of the bar's centre, rising, shape (n,).
        shear_n: shear force upright and level, shape (2, n).
        moment_nm: bending moment upright and level, shape (2, n).
        torque_nm: torque, shape (n,).
        moved_mm: deflection upright and level, shape (2, n).
        turned_deg: twist, shape (n,).
    """

    at_mm: FloatArray
    shear_n: FloatArray
    moment_nm: FloatArray
    torque_nm: FloatArray
    moved_mm: FloatArray
    turned_deg: FloatArray


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
        springs: down-force over the float of every tool on an arm, by part.
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
    springs: Mapping[str, tuple[DownForce, ...]]
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
        None if solved is None else _along(assembly, solved),
        () if solved is None else _hangers(solved),
        held_shanks(assembly),
        MappingProxyType(_springs(assembly)),
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


def _hangers(bar: BarResult) -> tuple[HangerForce, ...]:
    """Reactions of the hangers; the solved bar holds them in rising order."""
    found = (
        HangerForce(at, up, ahead, torque / 1000.0)
        for at, up, ahead, torque in zip(
            bar.turned.hangers.tolist(),
            bar.upright.reactions.tolist(),
            bar.level.reactions.tolist(),
            bar.turned.reactions.tolist(),
            strict=True,
        )
    )
    return tuple(reversed(tuple(found)))


def _along(assembly: Assembly, result: BarResult) -> AlongBar:
    half = assembly.scene.spec.toolbar.length / 2.0
    acting = {f.at_mm for f in (*weights(assembly), *pulls(assembly))}
    acting |= set(assembly.scene.spec.toolbar.hangers or ())
    even = np.linspace(-half, half, _STEPS)
    once = np.array(sorted({*even.tolist(), *acting}))
    at = np.repeat(once, 2)

    def both(sides: FloatArray) -> FloatArray:  # just before each place, then just after it
        return sides.T.reshape(-1)

    planes = (result.upright, result.level)
    return AlongBar(
        at,
        np.array([both(plane.shears(once)) for plane in planes]),
        np.array([both(plane.moments(once)) for plane in planes]) / 1000.0,
        both(result.turned.inside(once)) / 1000.0,
        np.array([np.repeat(plane.deflection(once), 2) for plane in planes]),
        np.repeat(np.degrees(result.turned.angles(once)), 2),
    )
