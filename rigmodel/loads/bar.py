"""The toolbar as a beam on its hangers, under weight and draft. N, mm and MPa; bar's own axes.

The hangers hold the bar up, fore and aft and against turning, without end moments. Tools weigh on
the bar in full, as when lifted; the soil's own push up or down is not modelled. Draft acts at half
the working depth, or at the pivot of the arm a tool hangs on; side draft at half the working depth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from meshes_generic.transform import FloatArray, inverse
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.loads import draft, side
from rigmodel.loads.balance import station_masses
from rigmodel.loads.beam import Bending, PointLoad, Twist, bend, twist
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA, STEEL_G_MPA
from rigmodel.loads.section import Section, square_section

SAMPLES = 201  # the bar's own weight is looked at this often along it; point loads exactly
ASSUMED = (
    "hangers hold the bar up, fore and aft and against turning, without end moments; tools weigh "
    "in full; draft at its high end, side draft as stated; the soil's push up or down is not "
    "modelled; E = 207 GPa"
)


@dataclass(frozen=True, eq=False)
class BarForce:
    """A force on the bar.

    Attributes:
        owner: station or tool it comes from.
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
    """The bar under some loads: bent in two planes, and twisted.

    Attributes:
        upright: bending in the upright plane.
        level: bending in the level plane.
        turned: torsion.
    """

    upright: Bending
    level: Bending
    turned: Twist


@dataclass(frozen=True, eq=False)
class BarResult:
    """The bar, solved.

    Attributes:
        section: its section.
        upright: bending in the upright plane.
        level: bending in the level plane.
        turned: torsion.
        stress_mpa: greatest equivalent stress.
        at_mm: where it is, left of the bar's centre.
        moments_nm: upright bending, level bending and torque there, N m.
        dips_mm: how far each rigid tool rises (+) or sinks (-), by part.
    """

    section: Section
    upright: Bending
    level: Bending
    turned: Twist
    stress_mpa: float
    at_mm: float
    moments_nm: tuple[float, float, float]
    dips_mm: Mapping[str, float]


def missing(assembly: Assembly) -> str:
    """All that is wanting to solve the bar, or an empty string."""
    wanting = [draft.missing(assembly)]
    if assembly.scene.spec.toolbar.hangers is None:
        wanting.insert(0, "the bar's strength and sag: toolbar.hangers is not given")
    return "; ".join(filter(None, wanting))


def bar_section(assembly: Assembly) -> Section:
    """Section of the bar."""
    tube = assembly.scene.tube
    return square_section(tube.size, tube.wall, tube.corner_radius)


def weights(assembly: Assembly) -> list[BarForce]:
    """Weight of every station, at work."""
    back, down = _to_bar(assembly), _to_bar(assembly)[:3, :3] @ np.array((0.0, 0.0, -GRAVITY))
    found = []
    for name, body in station_masses(assembly).items():
        at = assembly.station[name].place_mm
        centre = back[:3, :3] @ body.centroid_mm + back[:3, 3]
        found.append(BarForce(name, at, body.mass_kg * down, centre - (0.0, at, 0.0)))
    return found


def pulls(assembly: Assembly) -> list[BarForce]:
    """Draft of every tool at the high end of its range."""
    back = _to_bar(assembly)
    of = draft.drafts(assembly)
    found = []
    for tool in assembly.tools:
        at = assembly.station[tool.station].place_mm
        point = back[:3, :3] @ _drawn_at(assembly, tool) + back[:3, 3]
        force = back[:3, :3] @ np.array((-of[tool.part].high_n, 0.0, 0.0))
        found.append(BarForce(tool.part, at, force, point - (0.0, at, 0.0)))
    return found


def pushes(assembly: Assembly) -> list[BarForce]:
    """Stated side draft of every tool that has some."""
    back, of = _to_bar(assembly), side.pushes(assembly)
    found = []
    for tool in assembly.tools:
        if tool.part in of:
            at = assembly.station[tool.station].place_mm
            point = back[:3, :3] @ side.acts_at(assembly, tool) + back[:3, 3]
            force = back[:3, :3] @ np.array((0.0, of[tool.part], 0.0))
            found.append(BarForce(tool.part, at, force, point - (0.0, at, 0.0)))
    return found


def _drawn_at(assembly: Assembly, tool: ToolPlace) -> FloatArray:
    """Where a tool's draft acts on what carries it, world axes, mm."""
    if tool.arm:
        frames = assembly.mechanism.frames
        index = next(i for i, f in enumerate(frames) if f.joint and f.joint.name == tool.arm)
        pivot = assembly.work_frames[index][:3, 3]
        return np.array((pivot[0], tool.centre_mm, pivot[2]))
    return side.acts_at(assembly, tool)


def _to_bar(assembly: Assembly) -> FloatArray:
    return inverse(assembly.work_frames[assembly.mechanism.part("bar").frame])


def solve_bar(assembly: Assembly) -> BarResult:
    """Solves the bar under its weight, its stations', draft and side draft.

    Call it only where `missing` finds nothing.
    """
    section = bar_section(assembly)
    forces = [*weights(assembly), *pulls(assembly), *pushes(assembly)]
    bent = _bent(assembly, forces, own_weight=1.0)
    points = _points(assembly, forces)
    worst = _worst(section, _inside(bent, points), points)
    dips = _dips(assembly, bent.upright, bent.turned)
    return BarResult(section, bent.upright, bent.level, bent.turned, *worst, dips)


@dataclass(frozen=True)
class StruckBar:
    """The bar with one tool against a stone.

    Attributes:
        tool: that tool's part.
        stress_mpa: greatest equivalent stress in the bar.
        at_mm: where it is, left of the bar's centre.
        moments_nm: upright bending, level bending and torque there, N m.
    """

    tool: str
    stress_mpa: float
    at_mm: float
    moments_nm: tuple[float, float, float]


def struck_bar(assembly: Assembly, stone_n: float) -> StruckBar:
    """The bar with a stone at the tool where that stresses it most.

    All other tools are in the soil, and the stone's force acts in place of the tool's own draft: as
    the bar is elastic, what it changes is added. Call it only where `missing` finds nothing.

    Args:
        assembly: the rig.
        stone_n: force back on the tool that hits a stone, N.
    """
    section, pulled = bar_section(assembly), pulls(assembly)
    forces = [*weights(assembly), *pulled, *pushes(assembly)]
    points = _points(assembly, forces)
    before = _inside(_bent(assembly, forces, own_weight=1.0), points)
    ahead = assembly.work_frames[assembly.mechanism.part("bar").frame][0, :3]
    found = []
    for one in pulled:
        more = replace(one, force_n=-stone_n * ahead - one.force_n)
        change = _inside(_bent(assembly, [more], own_weight=0.0), points)
        found.append(StruckBar(one.owner, *_worst(section, before + change, points)))
    return max(found, key=lambda struck: struck.stress_mpa)


def _points(assembly: Assembly, forces: list[BarForce]) -> FloatArray:
    """Places that the bar is looked at in: where something acts, and even ones between."""
    bar = assembly.scene.spec.toolbar
    at = np.array([f.at_mm for f in forces], dtype=np.float64)
    ends = np.linspace(-bar.length / 2.0, bar.length / 2.0, SAMPLES)
    return np.sort(np.concatenate([at, np.array(bar.hangers or ()), ends]))


def bar_cases(assembly: Assembly) -> tuple[BentBar, ...]:
    """The bar under all weight, then under each tool's draft alone, then each one's side draft.

    As the bar is elastic, any state of it with some of the tools in the soil is a sum of these,
    each taken by some share. Call it only where `missing` finds nothing.
    """
    weight = _bent(assembly, weights(assembly), own_weight=1.0)
    acting = (*pulls(assembly), *pushes(assembly))
    return (weight, *(_bent(assembly, [one], own_weight=0.0) for one in acting))


def _bent(assembly: Assembly, forces: list[BarForce], own_weight: float) -> BentBar:
    """The bar under some forces and a share of its own weight."""
    bar, section = assembly.scene.spec.toolbar, bar_section(assembly)
    hangers, half = bar.hangers or (), bar.length / 2.0
    own = assembly.mechanism.part("bar").solid.mass_properties().mass_kg * own_weight
    gravity = _to_bar(assembly)[:3, :3] @ np.array((0.0, 0.0, -GRAVITY)) * own / bar.length
    stiffness = STEEL_E_MPA * section.second_moment_mm4
    upright, level = (
        bend((-half, half), stiffness, hangers, _across(forces, axis), float(gravity[axis]))
        for axis in (2, 0)
    )
    at = np.array([f.at_mm for f in forces], dtype=np.float64)
    torques = np.array([f.moment_nmm[1] for f in forces], dtype=np.float64)
    turned = twist(hangers, STEEL_G_MPA * section.torsion_mm4, at, torques)
    return BentBar(upright, level, turned)


def _across(forces: list[BarForce], axis: int) -> list[PointLoad]:
    """Loads in one plane of bending, along x (0) or z (2).

    A force off the bar's axis at its clamp turns the bar there as well: a couple about x tips its
    left end up, one about z takes that back.
    """
    about, sign = (0, 1.0) if axis == 2 else (2, -1.0)
    return [
        PointLoad(f.at_mm, float(f.force_n[axis]), sign * float(f.moment_nmm[about]))
        for f in forces
    ]


def _inside(bent: BentBar, points: FloatArray) -> FloatArray:
    """What a bent bar bears just before and just after places along it, shape (5, 2, m).

    Bending upright and level and torque, N mm, then shear upright and level, N.
    """
    planes = (bent.upright, bent.level)
    moments = [plane.moments(points) for plane in planes]
    shears = [plane.shears(points) for plane in planes]
    return np.array([*moments, bent.turned.inside(points), *shears])


def _worst(
    section: Section, inside: FloatArray, points: FloatArray
) -> tuple[float, float, tuple[float, float, float]]:
    """Greatest equivalent stress, its place and the moments there.

    The bending of both planes is added as at a sharp corner, and the shear of both planes to that
    of the torque, though they are greatest in different places: safe side.
    """
    up, across, torque, *sheared = np.abs(inside)
    bending = (up + across) / section.modulus_mm3
    shear = torque / section.torsion_modulus_mm3 + sum(sheared) / section.shear_area_mm2
    stress = np.sqrt(bending**2 + 3.0 * shear**2)
    side, place = np.unravel_index(int(stress.argmax()), stress.shape)
    moments = tuple(float(m[side, place]) / 1000.0 for m in inside[:3])
    return float(stress[side, place]), float(points[place]), (moments[0], moments[1], moments[2])


def _dips(assembly: Assembly, upright: Bending, turned: Twist) -> dict[str, float]:
    """Rise of every rigid tool as the bar bends and turns; tools on arms find their own height."""
    back = _to_bar(assembly)
    found = {}
    for tool in assembly.tools:
        if tool.arm:
            continue
        at = assembly.station[tool.station].place_mm
        x, y, _ = back[:3, :3] @ _drawn_at(assembly, tool) + back[:3, 3]
        here = np.array([at])
        rise = upright.deflection(here) + upright.slope(here) * (y - at) - turned.angles(here) * x
        found[tool.part] = float(rise[0])
    return found
