"""The toolbar as a beam on its hangers, under weight and draft. N, mm and MPa; bar's own axes.

What holds the bar is in `hung`. Tools weigh on the bar in full, as when lifted; the soil's own push
up or down is not modelled. Draft acts at half the working depth, or at the pivot of the arm a tool
hangs on; side draft at half the working depth.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.loads import draft, side
from rigmodel.loads.balance import station_masses
from rigmodel.loads.beam import Bending, Twist
from rigmodel.loads.constants import GRAVITY
from rigmodel.loads.hung import BarForce, BentBar, HungBar, bar_section, to_bar
from rigmodel.loads.section import Section

SAMPLES = 201  # the bar's own weight is looked at this often along it; point loads exactly
ASSUMED = (
    "hangers hold the bar up, fore and aft, along and against turning, without end moments; tools "
    "weigh in full; draft at its high end, side draft as stated; the soil's push up or down is not "
    "modelled; E = 207 GPa"
)


@dataclass(frozen=True, eq=False)
class BarResult:
    """The bar, solved.

    Attributes:
        section: its section.
        bent: how it is bent, twisted and pushed along.
        stress_mpa: greatest equivalent stress.
        at_mm: where it is, left of the bar's centre.
        moments_nm: upright bending, level bending and torque there, N m.
        axial_n: size of the force along the bar there, N.
        shear_n: sizes of the shear of both planes there together, N.
        dips_mm: how far each rigid tool rises (+) or sinks (-), by part.
    """

    section: Section
    bent: BentBar
    stress_mpa: float
    at_mm: float
    moments_nm: tuple[float, float, float]
    axial_n: float
    shear_n: float
    dips_mm: Mapping[str, float]

    @property
    def upright(self) -> Bending:
        """Bending in the upright plane."""
        return self.bent.upright

    @property
    def level(self) -> Bending:
        """Bending in the level plane."""
        return self.bent.level

    @property
    def turned(self) -> Twist:
        """Torsion."""
        return self.bent.turned


def missing(assembly: Assembly) -> str:
    """All that is wanting to solve the bar, or an empty string."""
    wanting = [draft.missing(assembly)]
    if assembly.scene.spec.toolbar.hangers is None:
        wanting.insert(0, "the bar's strength and sag: toolbar.hangers is not given")
    return "; ".join(filter(None, wanting))


def weights(assembly: Assembly) -> list[BarForce]:
    """Weight of every station, at work; of every strut's clamp, and of half its tube at its pin."""
    back, down = to_bar(assembly), to_bar(assembly)[:3, :3] @ np.array((0.0, 0.0, -GRAVITY))
    found = []
    for strut in assembly.struts:
        part, place = assembly.mechanism.part, strut.clamp.centre_mm
        clamp = part(strut.clamp.part).solid.mass_properties()
        half = part(strut.name).solid.mass_properties().mass_kg / 2.0
        for kg, point in ((clamp.mass_kg, clamp.centroid_mm), (half, np.array(strut.foot_mm))):
            found.append(BarForce(strut.name, place, kg * down, point - (0.0, place, 0.0)))
    for name, body in station_masses(assembly).items():
        at = assembly.station[name].place_mm
        centre = back[:3, :3] @ body.centroid_mm + back[:3, 3]
        found.append(BarForce(name, at, body.mass_kg * down, centre - (0.0, at, 0.0)))
    return found


def pulls(assembly: Assembly) -> list[BarForce]:
    """Draft of every tool at the high end of its range, in the tools' order."""
    back = to_bar(assembly)
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
    back, of = to_bar(assembly), side.pushes(assembly)
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


def solve_bar(assembly: Assembly) -> BarResult:
    """Solves the bar under its weight, its stations', draft and side draft.

    Call it only where `missing` finds nothing.
    """
    section = bar_section(assembly)
    forces = [*weights(assembly), *pulls(assembly), *pushes(assembly)]
    bent = HungBar(assembly).bent(forces, own_weight=True)
    points = _points(assembly, forces)
    worst = _worst(section, _inside(bent, points), points)
    return BarResult(section, bent, *worst, dips(assembly, bent))


@dataclass(frozen=True)
class StruckBar:
    """The bar with one tool against a stone.

    Attributes:
        tool: that tool's part.
        stress_mpa: greatest equivalent stress in the bar.
        at_mm: where it is, left of the bar's centre.
        moments_nm: upright bending, level bending and torque there, N m.
        axial_n: size of the force along the bar there, N.
        shear_n: sizes of the shear of both planes there together, N.
    """

    tool: str
    stress_mpa: float
    at_mm: float
    moments_nm: tuple[float, float, float]
    axial_n: float
    shear_n: float


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
    points, hung = _points(assembly, forces), HungBar(assembly)
    before = _inside(hung.bent(forces, own_weight=True), points)
    found = []
    for one, stone in zip(pulled, _stones(assembly, stone_n), strict=True):
        more = replace(one, force_n=stone.force_n - one.force_n)
        change = _inside(hung.bent([more], own_weight=False), points)
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
    hung = HungBar(assembly)
    acting = (*pulls(assembly), *pushes(assembly))
    weight = hung.bent(weights(assembly), own_weight=True)
    return (weight, *_each_alone(hung, acting))


def stone_cases(assembly: Assembly, stone_n: float) -> tuple[BentBar, ...]:
    """The bar under a stone's force alone, at each tool in the tools' order.

    Args:
        assembly: the rig.
        stone_n: force back on the tool that hits a stone, N.
    """
    return _each_alone(HungBar(assembly), _stones(assembly, stone_n))


def _stones(assembly: Assembly, stone_n: float) -> list[BarForce]:
    """A stone's force back on every tool where its draft acts, in the tools' order."""
    back = -stone_n * assembly.work_frames[assembly.mechanism.part("bar").frame][0, :3]
    return [replace(one, force_n=back) for one in pulls(assembly)]


def _each_alone(hung: HungBar, forces: Iterable[BarForce]) -> tuple[BentBar, ...]:
    """The bar without its weight under each of some forces alone."""
    return tuple(replace(hung.bent([one], own_weight=False), of=one.owner) for one in forces)


def _inside(bent: BentBar, points: FloatArray) -> FloatArray:
    """What a bent bar bears just before and just after places along it, shape (6, 2, m).

    Bending upright and level and torque, N mm, then shear upright and level and the force along the
    bar, N.
    """
    planes = (bent.upright, bent.level)
    moments = [plane.moments(points) for plane in planes]
    shears = [plane.shears(points) for plane in planes]
    return np.array([*moments, bent.turned.inside(points), *shears, bent.pushed.inside(points)])


def _worst(
    section: Section, inside: FloatArray, points: FloatArray
) -> tuple[float, float, tuple[float, float, float], float, float]:
    """Greatest equivalent stress, its place, and the moments, axial force and shear there.

    The bending of both planes and what pushes along the bar are added as at a sharp corner, and
    the shear of both planes to that of the torque, though they are greatest in different places:
    safe side.
    """
    up, across, torque, *shears, axial = np.abs(inside)
    sheared = sum(shears)
    direct = (up + across) / section.modulus_mm3 + axial / section.area_mm2
    shear = torque / section.torsion_modulus_mm3 + sheared / section.shear_area_mm2
    stress = np.sqrt(direct**2 + 3.0 * shear**2)
    here = np.unravel_index(int(stress.argmax()), stress.shape)
    moments = tuple(float(m[here]) / 1000.0 for m in inside[:3])
    return (
        float(stress[here]),
        float(points[here[1]]),
        (moments[0], moments[1], moments[2]),
        float(axial[here]),
        float(sheared[here]),
    )


def dips(assembly: Assembly, bent: BentBar) -> dict[str, float]:
    """Rise of every rigid tool as the bar bends and turns, mm, by part.

    Tools on arms find their own height.
    """
    back = to_bar(assembly)
    found = {}
    for tool in assembly.tools:
        if tool.arm:
            continue
        at = assembly.station[tool.station].place_mm
        x, y, _ = back[:3, :3] @ _drawn_at(assembly, tool) + back[:3, 3]
        here = np.array([at])
        tipped, turned, _ = bent.turns(here)[0]
        rise = float(bent.upright.deflection(here)[0] + tipped * (y - at) - turned * x)
        found[tool.part] = rise
    return found


def dip_ranges(assembly: Assembly, cases: Sequence[BentBar]) -> Mapping[str, tuple[float, float]]:
    """Least and greatest rise of every rigid tool that is in the soil itself, mm, by part.

    Any of the others may be in the soil or out of it, or pull less: what each does is a share
    between 0 and 1 of what it does alone (see `bar_cases`). All weight acts in full.

    Args:
        assembly: the rig.
        cases: its bar under each load alone.
    """
    alone = [(case.of, dips(assembly, case)) for case in cases]
    found = {}
    for part in alone[0][1]:
        own = sum(rises[part] for owner, rises in alone if owner in ("", part))
        others = [rises[part] for owner, rises in alone if owner not in ("", part)]
        found[part] = (
            own + sum(min(0.0, other) for other in others),
            own + sum(max(0.0, other) for other in others),
        )
    return found
