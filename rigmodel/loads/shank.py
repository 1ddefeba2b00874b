"""Shanks as cantilevers below their holders, under draft or the force of a stone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.catalog.kinds import FlatShank, RigidHolder, RoundShank, SpringHolder
from rigmodel.loads.beam import cantilever_tip
from rigmodel.loads.constants import STEEL_E_MPA
from rigmodel.loads.section import Section, flat_section, round_section


@dataclass(frozen=True, eq=False)
class HeldShank:
    """A shank under its holder.

    Attributes:
        name: the shank.
        tool: the tool at its foot.
        free_mm: holder's lower edge to half the working depth.
        aside_mm: how far the force acts beside the shank's upper part.
        section: its section, bent fore and aft.
        yield_mpa: yield strength of its steel, or None.
    """

    name: str
    tool: str
    free_mm: float
    aside_mm: float
    section: Section
    yield_mpa: float | None

    def stress_mpa(self, force_n: float) -> float:
        """Greatest equivalent stress under a force against the travel at the tool, MPa."""
        bending = force_n * self.free_mm / self.section.modulus_mm3
        shear = force_n / self.section.shear_area_mm2
        shear += force_n * self.aside_mm / self.section.torsion_modulus_mm3
        return float(np.hypot(bending, np.sqrt(3.0) * shear))

    def give_mm(self, force_n: float) -> float:
        """How far the tool goes back under a force, mm, by bending alone."""
        stiffness = STEEL_E_MPA * self.section.second_moment_mm4
        return cantilever_tip(force_n, self.free_mm, stiffness)


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
    elif isinstance(entry, RoundShank):
        section = round_section(entry.diameter, entry.wall)
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
    low, high = shank.pieces[-1].placement[1, 3], tool.centre_mm
    free = slide - holder.height / 2.0 + drop
    return HeldShank(part.name, tool.part, free, abs(high - low), section, entry.yield_mpa)
