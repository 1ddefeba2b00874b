"""How each number of the account was found: its formula, what went into it, and the source."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.loads import formulas
from rigmodel.loads.account import Account
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA
from rigmodel.loads.hung import bar_section
from rigmodel.loads.joint import LEGS
from rigmodel.loads.member import assumed
from rigmodel.loads.spring import arm_entry, at_work
from rigmodel.loads.trace_pull import pull_traces
from rigmodel.loads.trace_struts import strut_traces
from rigmodel.loads.traced import Traced
from rigmodel.sides import ahead_of, sided, way
from rigmodel.spec.resolve import Scene
from rigmodel.spec.written import in_part, in_scene, in_tractor

_SPRING = ("spring_rate_n_mm", "spring_preload_n", "spring_lever")


def trace(assembly: Assembly, found: Account) -> tuple[Traced, ...]:
    """The trace of every number that is known, in the order of the account."""
    return (
        *_mass(found),
        *_lift(assembly, found),
        *pull_traces(found),
        *_bar(assembly, found),
        *_struck(found),
        *strut_traces(found),
        *_shanks(assembly, found),
        *_members(assembly, found),
        *_springs(assembly, found),
        *_clamps(assembly, found),
    )


def _mass(found: Account) -> Iterator[Traced]:
    yield Traced(
        "mass of a part",
        "m = Σ ρ·V over its pieces",
        "V: exact volume of each piece; ρ: 7850 kg/m³ steel, 7200 cast iron, 1150 rubber and "
        "polyurethane",
        f"{len(found.parts)} parts, {found.rig_kg:.2f} kg together",
        "closed-form volumes; densities from memory",
    )
    x, y, z = found.balances[0].centre_mm.tolist()
    yield Traced(
        "centre of gravity",
        "r = Σ m·r / Σ m",
        "masses and centroids of all parts in the pose",
        f"at work {abs(x):.0f} mm {ahead_of(x)} the rear axle, {abs(y):.0f} {way(y)} of the "
        f"centre, {z:.0f} high",
        formulas.STATICS,
    )


def _lift(assembly: Assembly, found: Account) -> Iterator[Traced]:
    turning = [load for load in found.lift if load.moment_nm]
    if turning:
        most = max(turning, key=lambda load: load.moment_nm)
        yield Traced(
            "moment about the lift's pivot",
            "M = m·g·(x − x_pivot)",
            f"m = {most.mass_kg:.2f} kg; g = {GRAVITY} m/s²; x − x_pivot = {most.arm_mm:.1f} mm; "
            f"{most.pose} ({in_tractor(assembly.scene, 'lift')})",
            f"{most.moment_nm:.1f} N m",
            formulas.STATICS,
        )
    if found.lift:
        worst = max(found.lift, key=lambda load: load.at_bar_kg)
        yield Traced(
            "load of the lift, as a mass at the bar",
            formulas.LIFT,
            f"m = {worst.mass_kg:.2f} kg; "
            + (
                f"x − x_pivot = {worst.arm_mm:.1f} mm; x_bar − x_pivot = {worst.lever_mm:.1f} mm; "
                if worst.lever_mm
                else ""
            )
            + f"{worst.pose} ({in_tractor(assembly.scene, 'lift')})",
            f"{worst.at_bar_kg:.2f} kg",
            formulas.STATICS,
        )
    if found.axles is not None:
        scene, tractor = assembly.scene, assembly.scene.spec.tractor
        yield Traced(
            "front axle with the rig lifted",
            formulas.AXLE,
            f"W_front = {tractor.front.load_kg:g} kg "
            f"({in_scene(scene, 'tractor', 'front', 'load_kg')}), W_rear = "
            f"{tractor.rear.load_kg:g} kg ({in_scene(scene, 'tractor', 'rear', 'load_kg')}); m = "
            f"{found.rig_kg:.2f} kg; x = {found.balances[-1].centre_mm[0]:.1f} mm ahead of the "
            f"rear axle; wheelbase = {scene.tractor.wheelbase:.1f} mm "
            f"({in_tractor(scene, 'wheelbase')})",
            f"{found.axles.front_kg:.1f} kg, {100 * found.axles.front_share:.1f} % of the whole",
            formulas.STATICS + ", moments about the rear axle",
        )


def _bar(assembly: Assembly, found: Account) -> Iterator[Traced]:
    bar, scene, tube = found.bar, assembly.scene, assembly.scene.tube
    if bar is None:
        return
    section = bar_section(assembly)
    held = ", ".join(_place(hanger.at_mm) for hanger in found.hangers)
    held += f" of the bar's centre ({in_scene(scene, 'toolbar', 'hangers')})"
    yield Traced(
        "section of the bar",
        "A, I and W of a square tube with round corners, exact; J and its modulus by the wall's "
        "middle line",
        f"{tube.size:.2f} mm square, wall {tube.wall:.2f} mm ({_bar_from(scene)})",
        f"I = {section.second_moment_mm4:.0f} mm⁴, W = {section.modulus_mm3:.0f} mm³, J = "
        f"{section.torsion_mm4:.0f} mm⁴",
        "geometry; torsion by the rule of EN 10219-2 (from memory)",
    )
    yield Traced(
        "bending and sag of the bar",
        f"{formulas.SAG}; hangers hold it without end moments",
        f"E = {STEEL_E_MPA:.0f} MPa; hangers at {held}; weights, drafts at the high end of "
        "their range, side drafts",
        f"moves at most {abs(found.along.moved_mm[0]).max():.2f} mm upright, "
        f"{abs(found.along.moved_mm[1]).max():.2f} mm level"
        if found.along is not None
        else "",
        "elastic beam theory; E from a materials science textbook, appendix B, table B.2",
    )
    most = max(found.hangers, key=lambda hanger: abs(hanger.up_n) + abs(hanger.ahead_n))
    yield Traced(
        "forces of the hangers",
        "sum of forces and moments zero, deflection zero at every hanger",
        f"hangers at {held}",
        f"greatest {_place(most.at_mm)}: {most.up_n:.0f} N up, {most.ahead_n:.0f} N ahead, torque "
        f"{most.torque_nm:.0f} N m, positive front down",
        formulas.STATICS + " and elastic beam theory",
    )
    yield Traced(
        "stress in the bar",
        formulas.BAR_STRESS,
        f"{_place(bar.at_mm)} of its centre, where it is greatest: M_up = "
        f"{abs(bar.moments_nm[0]):.2f} N m, M_level = {abs(bar.moments_nm[1]):.2f} N m, T = "
        f"{abs(bar.moments_nm[2]):.2f} N m, N = {bar.axial_n:.1f} N, V = {bar.shear_n:.1f} N; W = "
        f"{section.modulus_mm3:.0f} mm³, W_t = {section.torsion_modulus_mm3:.0f} mm³, A = "
        f"{section.area_mm2:.1f} mm², A_v = {section.shear_area_mm2:.1f} mm²",
        f"{bar.stress_mpa:.1f} MPa",
        "beam theory and von Mises's criterion (from memory), on the safe side at the corners",
    )


def _struck(found: Account) -> Iterator[Traced]:
    struck, scene = found.struck, found.assembly.scene
    if struck is not None:
        up, level, torque = (abs(moment) for moment in struck.moments_nm)
        section = bar_section(found.assembly)
        yield Traced(
            "stress in the bar with a tool against a stone",
            formulas.BAR_STRESS,
            f"{struck.tool}: stone's force {scene.spec.soil.stone_n:g} N "
            f"({in_scene(scene, 'soil', 'stone_n')}) in place of its draft; {_place(struck.at_mm)} "
            f"of the bar's centre, where it is greatest: M_up = {up:.2f} N m, M_level = "
            f"{level:.2f} N m, T = {torque:.2f} N m, N = {struck.axial_n:.1f} N, V = "
            f"{struck.shear_n:.1f} N; W = {section.modulus_mm3:.0f} mm³, A = "
            f"{section.area_mm2:.1f} mm², W_t = {section.torsion_modulus_mm3:.0f} mm³, A_v = "
            f"{section.shear_area_mm2:.1f} mm² ({_bar_from(scene)})",
            f"{struck.stress_mpa:.1f} MPa",
            "what the stone changes is added, as the bar is elastic; beam theory and von Mises's "
            "criterion (from memory)",
        )


def _place(mm: float) -> str:
    return sided(mm, f"{abs(mm):.0f} mm")


def _shanks(assembly: Assembly, found: Account) -> Iterator[Traced]:
    loaded = [s for s in found.shanks if s.tool in found.drafts]
    if loaded:
        worst = max(loaded, key=lambda s: s.stress_mpa(*_on(found, s.tool)))
        pull, push = _on(found, worst.tool)
        yield Traced(
            "stress in a shank under draft",
            formulas.SHANK_STRESS,
            f"{worst.name}: D = {pull:.1f} N at the high end, S = {push:.1f} N, L = "
            f"{worst.free_mm:.1f} mm below the holder, a = {worst.aside_mm:.2f} mm aside, b = "
            f"{worst.off_mm:.2f} mm off; W = {worst.section.modulus_mm3:.0f} mm³, W' = "
            f"{worst.flat.modulus_mm3:.0f} mm³, A_v = {worst.section.shear_area_mm2:.1f} mm², "
            f"W_t = {worst.section.torsion_modulus_mm3:.0f} mm³ "
            f"({_part_from(assembly, worst.name)})",
            f"{worst.stress_mpa(pull, push):.1f} MPa",
            "beam theory, held fast by its holder",
        )


def _on(found: Account, tool: str) -> tuple[float, float]:
    """Draft at its high end and known side draft of a tool, N."""
    return found.back_n[tool], abs(found.side.tools.get(tool, 0.0))


def _members(assembly: Assembly, found: Account) -> Iterator[Traced]:
    if found.members:
        worst = max(found.members, key=lambda one: one.worst.stress_mpa)
        told = worst.worst
        (upright, level), (along, up, aside) = told.bending_nm, told.forces_n
        yield Traced(
            "stress in an arm or cross tube",
            f"F and M of all that hangs beyond the section; {formulas.ARM_STRESS}",
            f"{worst.name}, {told.place}: weights, drafts at the high end and side drafts, "
            f"{assumed(assembly)}; M_up = {abs(upright):.2f} N m, M_side = {abs(level):.2f} N m, "
            f"T = {abs(told.torque_nm):.2f} N m, N = {abs(along):.1f} N, V_up = {abs(up):.1f} N, "
            f"V_side = {abs(aside):.1f} N; W = {told.upright.modulus_mm3:.1f} mm³, W' = "
            f"{told.level.modulus_mm3:.1f} mm³, A = {told.upright.area_mm2:.1f} mm², W_t = "
            f"{told.upright.torsion_modulus_mm3:.1f} mm³, A_v = "
            f"{told.upright.shear_area_mm2:.1f} mm², A_v' = {told.level.shear_area_mm2:.1f} mm² "
            f"({_part_from(assembly, worst.name)})",
            f"{worst.worst.stress_mpa:.1f} MPa",
            "statics, beam theory and von Mises's criterion (from memory)",
        )


def _springs(assembly: Assembly, found: Account) -> Iterator[Traced]:
    tools = {tool.part: tool for tool in assembly.tools}
    for part, forces in found.springs.items():
        entry = arm_entry(assembly, tools[part])
        assert entry is not None  # it has a spring
        arm = tools[part].arm.removesuffix(".float")
        station = assembly.station[tools[part].station]
        scene, item = assembly.scene, assembly.mechanism.part(arm).item
        hole = scene.spec.stations[station.index].spring_hole
        told = ", ".join(f"{f.force_n:.0f} N at {f.angle:.1f}°" for f in forces)
        work = at_work(assembly, tools[part], forces)
        yield Traced(
            f"down-force of {part}",
            formulas.SPRING,
            f"at work, {work.angle:.1f}°: M_weight = {work.weight_nm:.2f} N m, S = "
            f"{work.spring_n:.1f} N, r = {work.reach_mm:.1f} mm; "
            f"rate = {entry.spring_rate_n_mm:g} N/mm, preload = {entry.preload_n(hole):g} N in "
            f"hole {hole}, h = {entry.spring_lever:.1f} mm "
            f"({', '.join(in_part(scene, item, field) for field in _SPRING)}; "
            f"{in_scene(scene, 'stations', station.index, 'spring_hole')})",
            f"at work {work.force_n:.1f} N; over the float {told}",
            formulas.STATICS + " about the arm's pivot; draft and soil left out",
        )
        return  # all arms alike are found in the same way


def _clamps(assembly: Assembly, found: Account) -> Iterator[Traced]:
    if found.clamps:
        clamp = max(found.clamps, key=lambda c: c.moment_nm / c.holds_nm)
        scene, bar = assembly.scene, assembly.scene.spec.toolbar
        spread = scene.spec.limits.preload_spread
        yield Traced(
            "moment that a clamp holds",
            f"F = T / (K·d), less its spread; {formulas.SLIP}; n = {LEGS}",
            f"{clamp.part}: M = {clamp.turning_nm:.1f} N m, S = {clamp.along_n:.1f} N; T = "
            f"{bar.clamp_torque_nm:g} N m ({in_scene(scene, 'toolbar', 'clamp_torque_nm')}), K = "
            f"{bar.clamp_nut_factor:g} ({in_scene(scene, 'toolbar', 'clamp_nut_factor')}), d = "
            f"{clamp.diameter_mm:.3f} mm ({_part_from(assembly, clamp.part)}), spread "
            f"±{spread:g} % ({in_scene(scene, 'limits', 'preload_spread')}), μ = "
            f"{bar.clamp_friction:g} ({in_scene(scene, 'toolbar', 'clamp_friction')}), b = "
            f"{scene.tube.size:.1f} mm ({_bar_from(scene)})",
            f"{clamp.holds_nm:.0f} N m against {clamp.moment_nm:.0f} N m",
            "T = K·D·F, the usual relation of torque and clamp load (from memory)",
        )


def _bar_from(scene: Scene) -> str:
    """Where the bar's section stands."""
    if scene.spec.toolbar.tube is None:
        return "; ".join(in_scene(scene, "toolbar", field) for field in ("size", "wall"))
    return f"{in_scene(scene, 'toolbar', 'tube')}; {in_part(scene, scene.spec.toolbar.tube)}"


def _part_from(assembly: Assembly, name: str) -> str:
    """Where the sizes of a part stand."""
    return in_part(assembly.scene, assembly.mechanism.part(name).item)
