"""The bar on its hangers and struts: what it does under any forces. N, mm and MPa; bar's own axes.

The hangers hold the bar up, fore and aft, along and against turning, without end moments. A strut
is a pin-ended tie that gives elastically along its own line; its upper pin stands still to the
hangers. With C_ij what unit pull of strut j moves the lower pin of strut i along i's line, k_i =
E·A/L, and d_i what the loads alone move that pin, the pulls T follow from

    (diag(1/k) + C)·T = -d

(force method of elastic frames), so that all stays linear in the loads.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from meshes_generic.transform import FloatArray, inverse
from rigmodel.assembly.rig import Assembly, StrutPlace
from rigmodel.catalog.kinds import SquareTube
from rigmodel.loads.beam import Bending, PointLoad, Twist, bend, twist
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA, STEEL_G_MPA
from rigmodel.loads.section import Section, square_section


@dataclass(frozen=True, eq=False)
class BarForce:
    """A force on the bar.

    Attributes:
        owner: station, tool or strut it comes from.
        at_mm: place of its clamp, left of the bar's centre.
        force_n: force in the bar's axes, shape (3,).
        arm_mm: where it acts, from the bar's axis at the clamp, shape (3,).
    """

    owner: str
    at_mm: float
    force_n: FloatArray
    arm_mm: FloatArray

    @property
    def moment_nmm(self) -> FloatArray:
        """Moment about the bar's axis at the clamp, shape (3,), N mm."""
        return np.cross(self.arm_mm, self.force_n)


@dataclass(frozen=True, eq=False)
class BentBar:
    """The bar under some loads: bent in two planes, twisted and pushed along.

    Attributes:
        upright: bending in the upright plane.
        level: bending in the level plane.
        turned: torsion.
        pushed: forces along the bar and how far it gives, positive to the left; a bar that is
            pushed along follows the same equation as one that is twisted.
        pulls_n: pull of every strut, negative where it pushes, shape (struts,).
        of: the tool whose load alone it is under, or an empty string.
    """

    upright: Bending
    level: Bending
    turned: Twist
    pushed: Twist
    pulls_n: FloatArray
    of: str = ""

    def moved(self, at: FloatArray) -> FloatArray:
        """How far the bar's axis goes ahead, left and up at places along it, mm, shape (m, 3)."""
        planes = (self.level.deflection(at), self.pushed.angles(at), self.upright.deflection(at))
        return np.column_stack(planes)

    def turns(self, at: FloatArray) -> FloatArray:
        """Small turns of the bar about its axes ahead, left and up, radians, shape (m, 3)."""
        return np.column_stack(
            (self.upright.slope(at), self.turned.angles(at), -self.level.slope(at))
        )


@dataclass(frozen=True, eq=False)
class Tie:
    """A strut as the bar feels it.

    Attributes:
        name: its name.
        at_mm: where its clamp is, left of the bar's centre.
        arm_mm: its lower pin from the bar's axis there, shape (3,).
        along: unit vector from its lower pin to its upper one, shape (3,).
        length_mm: from pin to pin.
        corner_mm: most that a point of its tube is away from its line.
        section: its section.
    """

    name: str
    at_mm: float
    arm_mm: FloatArray
    along: FloatArray
    length_mm: float
    corner_mm: float
    section: Section

    @property
    def give(self) -> float:
        """How far it gives along its line, mm for each N."""
        return self.length_mm / (STEEL_E_MPA * self.section.area_mm2)

    def pulling(self, newtons: float) -> BarForce:
        """What it does to the bar when it pulls so much."""
        return BarForce(self.name, self.at_mm, newtons * self.along, self.arm_mm)

    def drawn(self, bent: BentBar) -> float:
        """How far a bent bar brings its lower pin along its line towards its upper one, mm."""
        at = np.array([self.at_mm])
        pin = bent.moved(at)[0] + np.cross(bent.turns(at)[0], self.arm_mm)
        return float(self.along @ pin)


def bar_section(assembly: Assembly) -> Section:
    """Section of the bar."""
    tube = assembly.scene.tube
    return square_section(tube.size, tube.wall, tube.corner_radius)


def to_bar(assembly: Assembly) -> FloatArray:
    """World axes to the bar's own at work, shape (4, 4)."""
    return inverse(assembly.work_frames[assembly.mechanism.part("bar").frame])


def tie_of(assembly: Assembly, strut: StrutPlace) -> Tie:
    """A strut as the bar feels it."""
    tube = assembly.scene.catalogue.parts[assembly.mechanism.part(strut.name).item]
    assert isinstance(tube, SquareTube)  # a strut is cut from one
    foot, top = np.array(strut.foot_mm), np.array(strut.top_mm)
    at = strut.clamp.centre_mm
    return Tie(
        strut.name,
        at,
        foot - (0.0, at, 0.0),
        (top - foot) / strut.length_mm,
        strut.length_mm,
        tube.size / math.sqrt(2.0),
        square_section(tube.size, tube.wall, tube.corner_radius),
    )


class HungBar:
    """The bar of an assembly on its hangers and struts; it must have two hangers or more.

    Args:
        assembly: the rig.
    """

    def __init__(self, assembly: Assembly) -> None:
        bar, self._section = assembly.scene.spec.toolbar, bar_section(assembly)
        self._half, self._hangers = bar.length / 2.0, bar.hangers or ()
        mass = assembly.mechanism.part("bar").solid.mass_properties().mass_kg
        gravity = to_bar(assembly)[:3, :3] @ np.array((0.0, 0.0, -GRAVITY))
        self._own = gravity * mass / bar.length
        self._ties = tuple(tie_of(assembly, strut) for strut in assembly.struts)
        units = [self._on_hangers([tie.pulling(1.0)]) for tie in self._ties]
        drawn = [[tie.drawn(unit) for unit in units] for tie in self._ties]
        self._gives = np.diag([tie.give for tie in self._ties]) + np.array(drawn or np.zeros(0))

    def bent(self, forces: Sequence[BarForce], own_weight: bool) -> BentBar:
        """The bar under some forces, and under its own weight if wanted."""
        free = self._on_hangers(forces, own_weight)
        if not self._ties:
            return free
        drawn = np.array([tie.drawn(free) for tie in self._ties])
        pulls: FloatArray = -np.asarray(np.linalg.solve(self._gives, drawn), dtype=np.float64)
        held = [tie.pulling(pull) for tie, pull in zip(self._ties, pulls.tolist(), strict=True)]
        return replace(self._on_hangers([*forces, *held], own_weight), pulls_n=pulls)

    def _on_hangers(self, forces: Sequence[BarForce], own_weight: bool = False) -> BentBar:
        section, ends = self._section, (-self._half, self._half)
        stiffness = STEEL_E_MPA * section.second_moment_mm4
        own = self._own if own_weight else np.zeros(3)
        moments = np.array([f.moment_nmm for f in forces]).reshape(-1, 3)
        # A couple about x tips the left end up; one about z takes it back.
        upright, level = (
            bend(
                ends,
                stiffness,
                self._hangers,
                [
                    PointLoad(f.at_mm, float(f.force_n[axis]), float(couple))
                    for f, couple in zip(forces, couples, strict=True)
                ],
                float(own[axis]),
            )
            for axis, couples in ((2, moments[:, 0]), (0, -moments[:, 2]))
        )
        at = np.array([f.at_mm for f in forces], dtype=np.float64)
        turned = twist(self._hangers, STEEL_G_MPA * section.torsion_mm4, at, moments[:, 1])
        along = np.array([f.force_n[1] for f in forces], dtype=np.float64)
        pushed = twist(self._hangers, STEEL_E_MPA * section.area_mm2, at, along)
        return BentBar(upright, level, turned, pushed, np.zeros(len(self._ties)))
