"""The account of a rig's weights and forces: all that is known of them, worked out once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
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
    strut_masses,
)
from rigmodel.loads.bar import (
    BarResult,
    StruckBar,
    bar_cases,
    missing,
    solve_bar,
    stone_cases,
    struck_bar,
)
from rigmodel.loads.draft import Draft, Pull
from rigmodel.loads.hung import BentBar
from rigmodel.loads.joint import HeldClamp, HeldFoot
from rigmodel.loads.member import Member, Stressed, members, stressed
from rigmodel.loads.sag import PartSags, part_sags
from rigmodel.loads.shank import HeldShank, held_shanks
from rigmodel.loads.side import SideDraft, side_draft
from rigmodel.loads.spring import DownForce, arm_entry, down_forces, known
from rigmodel.loads.strut import HeldStrut, held_struts

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


@dataclass(frozen=True)
class StationWeight:
    """What a station weighs, and where it hangs at work.

    Attributes:
        station: its name.
        mass_kg: mass of all its parts.
        ahead_mm: its centre of gravity ahead of the bar's middle; minus is behind.
        left_mm: left of the tractor's centre.
    """

    station: str
    mass_kg: float
    ahead_mm: float
    left_mm: float


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


class Account:
    """Weights and forces of a rig, each worked out when it is first asked for, and then kept.

    What is None or empty could not be known; `unknown` says why.

    Args:
        assembly: the rig.
    """

    def __init__(self, assembly: Assembly) -> None:
        self.assembly = assembly

    @cached_property
    def parts(self) -> Mapping[str, MassProperties]:
        """Mass, centroid and inertia of every part at work, world axes."""
        return part_masses(self.assembly)

    @cached_property
    def stations(self) -> Mapping[str, MassProperties]:
        """The same of every station."""
        of = {s.name: combine(map(self.parts.__getitem__, s.parts)) for s in self.assembly.stations}
        return MappingProxyType(of)

    @cached_property
    def hung(self) -> tuple[StationWeight, ...]:
        """What every station and every strut weighs, and where it hangs, in the scene's order."""
        middle = self.parts["bar"].centroid_mm
        return tuple(
            StationWeight(
                name,
                body.mass_kg,
                float(body.centroid_mm[0] - middle[0]),
                float(body.centroid_mm[1]),
            )
            for name, body in {**self.stations, **strut_masses(self.assembly)}.items()
        )

    @property
    def bar_kg(self) -> float:
        """Mass of the bar itself."""
        return self.parts["bar"].mass_kg

    @property
    def rig_kg(self) -> float:
        """Mass of the bar and all that it carries."""
        return self.balances[0].mass_kg

    @cached_property
    def balances(self) -> tuple[Balance, ...]:
        """The rig at work, and lifted lowest, halfway and highest."""
        return balances(self.assembly)

    @cached_property
    def lift(self) -> tuple[LiftLoad, ...]:
        """Load of the lift from lowest to highest, in `LIFT_STEPS` even steps."""
        shares = [step / LIFT_STEPS for step in range(LIFT_STEPS + 1)]
        return lift_loads(self.assembly, shares) or ()

    @cached_property
    def axles(self) -> AxleLoads | None:
        """Axle loads fully lifted, the rig on."""
        return _axles(self.assembly, self.balances[-1])

    @cached_property
    def no_draft(self) -> str:
        """Why the draft is not known, or an empty string."""
        return draft.missing(self.assembly)

    @cached_property
    def drafts(self) -> Mapping[str, Draft]:
        """Pull on every tool, by part."""
        return MappingProxyType({}) if self.no_draft else draft.drafts(self.assembly)

    @cached_property
    def back_n(self) -> Mapping[str, float]:
        """The same at the high end of its range, N."""
        return MappingProxyType({part: one.high_n for part, one in self.drafts.items()})

    @cached_property
    def side(self) -> SideDraft:
        """Push of the soil to the side on every tool, as far as it is known."""
        return side_draft(self.assembly)

    @cached_property
    def pull(self) -> Pull | None:
        """The whole rig's."""
        return None if self.no_draft else draft.pull(self.assembly, self.drafts, self.side)

    @cached_property
    def bar(self) -> BarResult | None:
        """The bar, solved."""
        return None if missing(self.assembly) else solve_bar(self.assembly)

    @cached_property
    def struck(self) -> StruckBar | None:
        """The bar with the one tool against a stone that stresses it most."""
        stone = self.assembly.scene.spec.soil.stone_n
        return None if self.bar is None or stone is None else struck_bar(self.assembly, stone)

    @cached_property
    def bar_cases(self) -> tuple[BentBar, ...]:
        """The bar under all weight, then under each load of each tool alone; empty if not known."""
        return () if missing(self.assembly) else bar_cases(self.assembly)

    @cached_property
    def struts(self) -> tuple[HeldStrut, ...]:
        """Every strut under weight, draft and a stone, in the scene's order; empty if not known."""
        if not self.bar_cases or not self.assembly.struts:
            return ()
        stone = self.assembly.scene.spec.soil.stone_n
        stones = () if stone is None else stone_cases(self.assembly, stone)
        return held_struts(self.assembly, self.bar_cases, stones)

    @cached_property
    def sags(self) -> PartSags | None:
        """How the loaded bar moves the parts."""
        return None if self.bar is None else part_sags(self.assembly, self.bar_cases)

    @cached_property
    def along(self) -> AlongBar | None:
        """What the bar does along its length."""
        return None if self.bar is None else along_bar(self.assembly, self.bar)

    @cached_property
    def hangers(self) -> tuple[HangerForce, ...]:
        """What holds the bar, from left to right."""
        return () if self.bar is None else hanger_forces(self.bar)

    @cached_property
    def shanks(self) -> tuple[HeldShank, ...]:
        """Every shank in a holder."""
        return held_shanks(self.assembly)

    @cached_property
    def carrying(self) -> tuple[Member, ...]:
        """Every arm and cross tube that carries a tool."""
        return members(self.assembly)

    @cached_property
    def members(self) -> tuple[LoadedMember, ...]:
        """The same under weight, draft and side draft."""
        if self.no_draft:
            return ()
        return tuple(
            LoadedMember(
                m.name,
                m.what,
                stressed(self.assembly, m, self.back_n, self.side.tools),
                m.yield_mpa,
            )
            for m in self.carrying
        )

    @cached_property
    def springs(self) -> Mapping[str, tuple[DownForce, ...]]:
        """Down-force at the stops and at work of every tool on an arm, by part."""
        return MappingProxyType(_springs(self.assembly))

    @cached_property
    def spring_curves(self) -> tuple[SpringCurve, ...]:
        """The same over the whole float, tools that press alike together."""
        return tuple(_curves(self.assembly, self.springs))

    @cached_property
    def clamps(self) -> tuple[HeldClamp, ...]:
        """What every clamp holds."""
        return () if joint.missing(self.assembly) else joint.held_clamps(self.assembly)

    @cached_property
    def feet(self) -> tuple[HeldFoot, ...]:
        """What the clamp of every strut's foot holds; empty where that is not known."""
        if not self.struts or joint.missing(self.assembly):
            return ()
        return joint.held_feet(self.assembly, self.struts)

    @cached_property
    def unknown(self) -> tuple[str, ...]:
        """What could not be known, and what to give for it."""
        return _unknown(self)


def account(assembly: Assembly) -> Account:
    """Everything that is known of a rig's weights and forces."""
    return Account(assembly)


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


def _unknown(found: Account) -> tuple[str, ...]:
    assembly = found.assembly
    tractor = assembly.scene.spec.tractor
    wanting = (missing(assembly), joint.missing(assembly))
    told = [text for texts in wanting for text in texts.split("; ") if text]
    told += filter(None, (found.side.missing,))
    told += [
        f"axle loads: tractor.{axle}.load_kg is not given"
        for axle in ("front", "rear")
        if getattr(tractor, axle).load_kg is None
    ]
    if tractor.lift.capacity_kg is None:
        told.append("what the lift can raise: tractor.lift.capacity_kg is not given")
    if not found.lift:
        told.append("the lift's load: the bar passes over or under the lift's pivot")
    bare = [t for t in assembly.tools if (e := arm_entry(assembly, t)) is not None and not known(e)]
    if bare:
        told.append("down-force of the arms: their springs are not stated in the catalogue")
    told.append("forces of the soil up or down: not modelled")
    return tuple(dict.fromkeys(told))
