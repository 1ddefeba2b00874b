"""Shanks as cantilevers below their holders, under draft and side draft, or a stone's force."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.catalog.kinds import FlatShank, RigidHolder, RoundShank, SpringHolder
from rigmodel.loads.beam import cantilever_tip
from rigmodel.loads.constants import STEEL_E_MPA
from rigmodel.loads.section import Section, flat_section, round_section
from rigmodel.loads.side import acts_at


@dataclass(frozen=True, eq=False)
class HeldShank:
    """A shank under its holder.

    Attributes:
        name: the shank.
        tool: the tool at its foot.
        free_mm: holder's lower edge to half the working depth.
        aside_mm: how far the force acts beside the shank's upper part.
        off_mm: how far it acts ahead of it or behind.
        section: its section, bent fore and aft.
        flat: the same, bent sideways: a flat bar's weak way.
        yield_mpa: yield strength of its steel, or None.
    """

    name: str
    tool: str
    free_mm: float
    aside_mm: float
    off_mm: float
    section: Section
    flat: Section
    yield_mpa: float | None

    def stress_mpa(self, back_n: float, aside_n: float = 0.0) -> float:
        """Greatest equivalent stress, MPa.

        Both ways of bending are added as at a corner, and the torque of both forces, so that draft
        at the low end of its range is covered too.

        Args:
            back_n: force against the travel at the tool.
            aside_n: force to either side there.
        """
        aside_n = abs(aside_n)
        direct = back_n * self.free_mm / self.section.modulus_mm3
        direct += aside_n * self.free_mm / self.flat.modulus_mm3
        shear = math.hypot(back_n, aside_n) / self.section.shear_area_mm2
        torque = back_n * self.aside_mm + aside_n * self.off_mm
        shear += torque / self.section.torsion_modulus_mm3
        return math.hypot(direct, math.sqrt(3.0) * shear)

    def give_mm(self, force_n: float) -> float:
        """How far the tool goes back under a force, mm, by bending alone."""
        return self._gives(self.section, force_n)

    def give_aside_mm(self, force_n: float) -> float:
        """How far it goes to the side under a force that way, mm, by bending alone."""
        return self._gives(self.flat, abs(force_n))

    def _gives(self, section: Section, force_n: float) -> float:
        return cantilever_tip(force_n, self.free_mm, STEEL_E_MPA * section.second_moment_mm4)


def held_shanks(assembly: Assembly) -> tuple[HeldShank, ...]:
    """Every shank that slides in a holder and carries a tool."""
    found = (_held(assembly, tool) for tool in assembly.tools if tool.slide)
    return tuple(shank for shank in found if shank is not None)


def unstated(assembly: Assembly) -> str:
    """Name of a shank whose steel's yield strength is not stated, or an empty string."""
    parts, mechanism = assembly.scene.catalogue.parts, assembly.mechanism
    for tool in assembly.tools:
        name = tool.slide.removesuffix(".slide")
        entry = parts.get(mechanism.part(name).item) if name else None
        if isinstance(entry, FlatShank | RoundShank) and entry.yield_mpa is None:
            return name
    return ""


def _held(assembly: Assembly, tool: ToolPlace) -> HeldShank | None:
    parts, mechanism = assembly.scene.catalogue.parts, assembly.mechanism
    part = mechanism.part(tool.slide.removesuffix(".slide"))
    entry = parts[part.item]
    if isinstance(entry, FlatShank):
        section = flat_section(entry.width, entry.thickness)
        flat = flat_section(entry.thickness, entry.width)
    elif isinstance(entry, RoundShank):
        section = flat = round_section(entry.diameter, entry.wall)
    else:
        return None
    holders = [parts.get(mechanism.part(n).item) for n in part.bolted_to if n != tool.part]
    holder = next((h for h in holders if isinstance(h, RigidHolder | SpringHolder)), None)
    if holder is None:
        return None
    slide = assembly.adjustment[tool.slide].value
    shank = assembly.at_work(part)
    foot = shank.extent((0.0, 0.0, 1.0))[0]
    drop = max(0.0, foot - (tool.soil_mm - tool.depth_mm / 2.0))
    top = shank.pieces[-1].placement[:3, 3]
    off, aside, _ = np.abs(acts_at(assembly, tool) - top).tolist()
    free = slide - holder.height / 2.0 + drop
    return HeldShank(part.name, tool.part, free, aside, off, section, flat, entry.yield_mpa)
