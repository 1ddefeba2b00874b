"""How each number of the account was found: its formula, what went into it, and the source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.loads import draft, formulas
from rigmodel.loads.account import Account
from rigmodel.loads.bar import bar_section
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA
from rigmodel.loads.draft import Pull
from rigmodel.loads.joint import LEGS
from rigmodel.loads.member import assumed
from rigmodel.loads.spring import arm_entry
from rigmodel.sides import ahead_of, way

_STATICS = "statics"


@dataclass(frozen=True)
class Traced:
    """One number and where it comes from. SI units throughout: kg, N, mm, MPa, N m.

    Attributes:
        what: the number's name.
        formula: how it is found.
        inputs: the numbers that went in, each with the place where it stands.
        result: what came out.
        source: where the formula, or a coefficient in it, comes from.
    """

    what: str
    formula: str
    inputs: str
    result: str
    source: str


def trace(assembly: Assembly, found: Account) -> tuple[Traced, ...]:
    """The trace of every number that is known, in the order of the account."""
    return (
        *_mass(found),
        *_lift(assembly, found),
        *_draft(assembly, found),
        *_bar(assembly, found),
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
        _STATICS,
    )


def _lift(assembly: Assembly, found: Account) -> Iterator[Traced]:
    turning = [load for load in found.lift if load.moment_nm]
    if turning:
        most = max(turning, key=lambda load: load.moment_nm)
        yield Traced(
            "moment about the lift's pivot",
            "M = m·g·(x − x_pivot)",
            f"m = {most.mass_kg:.2f} kg; g = {GRAVITY} m/s²; x − x_pivot = {most.arm_mm:.1f} mm; "
            f"{most.pose}",
            f"{most.moment_nm:.1f} N m",
            _STATICS,
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
            + worst.pose,
            f"{worst.at_bar_kg:.2f} kg",
            _STATICS,
        )
    if found.axles is not None:
        tractor = assembly.scene.spec.tractor
        yield Traced(
            "front axle with the rig lifted",
            formulas.AXLE,
            f"W_front = {tractor.front.load_kg:g} kg (tractor.front.load_kg); m = "
            f"{found.rig_kg:.2f} kg; x = {found.balances[-1].centre_mm[0]:.1f} mm ahead of the "
            f"rear axle; wheelbase = {assembly.scene.tractor.wheelbase:.1f} mm (tractor)",
            f"{found.axles.front_kg:.1f} kg, {100 * found.axles.front_share:.1f} % of the whole",
            _STATICS + ", moments about the rear axle",
        )


def _draft(assembly: Assembly, found: Account) -> Iterator[Traced]:
    pull, spec = found.pull, assembly.scene.spec
    if pull is None:
        return
    reckoned = [d for d in found.drafts.values() if d.range_share > 0.0]
    if reckoned and spec.soil.texture is not None:
        a, b = draft.C_SHANK
        yield Traced(
            "draft of the hoes",
            "D = F·(A + B·S)·T for each row, shared among the hoes by their width",
            f"F = {draft.TEXTURE[spec.soil.texture]:g} (soil.texture {spec.soil.texture}); A = "
            f"{a:g}, B = {b:g}; S = {spec.tractor.speed_kmh:g} km/h (tractor.speed_kmh); T: each "
            f"tool's depth in cm; {len(assembly.rows)} rows",
            f"{sum(d.middle_n for d in reckoned):.0f} N, ±{100 * reckoned[0].range_share:.0f} %",
            draft.SOURCE,
        )
    if len(reckoned) < len(found.drafts):
        stated = [d.middle_n for d in found.drafts.values() if d.range_share == 0.0]
        yield Traced(
            "draft of other tools",
            "as stated",
            "draft_n of their stations",
            f"{sum(stated):.0f} N",
            "set in the scene",
        )
    yield from _side(found, pull)
    if pull.power_kw is not None:
        yield Traced(
            "drawbar power",
            "P = D·S / 3600",
            f"D = {pull.draft_n:.0f} N; S = {spec.tractor.speed_kmh:g} km/h (tractor.speed_kmh)",
            f"{pull.power_kw:.2f} kW",
            "force times speed",
        )


def _side(found: Account, pull: Pull) -> Iterator[Traced]:
    pushed = [part for part in found.side.stated if found.side.tools[part]]
    if pushed and pull.side_n is not None:
        one = pushed[0]
        more = f" and {len(pushed) - 1} more" if len(pushed) > 1 else ""
        yield Traced(
            "side draft",
            formulas.SIDE,
            f"{one}{more}: {abs(found.side.tools[one]):g} N each to its side (side_n of their "
            "stations); tools that are their own mirror image: 0",
            f"{abs(pull.side_n):.1f} N{_to_side(pull.side_n)}",
            "set in the scene; " + _STATICS,
        )
    told = f"; Σ S·x = {pull.side_yaw_nm:.1f} N m" if pull.side_yaw_nm is not None else ""
    yield Traced(
        "yaw moment",
        formulas.YAW if told else formulas.YAW_OF_DRAFT,
        f"D: each tool's draft, y: its middle left of the tractor's centre; Σ D·y = "
        f"{pull.yaw_nm:.1f} N m"
        + (f"; S: its side draft to the left, x: ahead of the rear axle{told}" if told else ""),
        f"{pull.yaw_nm if pull.turning_nm is None else pull.turning_nm:.1f} N m, positive to the "
        "left" + ("" if told else "; side draft is not known"),
        _STATICS + ", about the upright line through the rear axle's middle",
    )
    if pull.front_n is not None and pull.rear_n is not None and abs(pull.front_n) >= 0.05:
        yield Traced(
            "pushes on the tyres that hold the course",
            formulas.COURSE,
            f"M = {pull.turning_nm:.1f} N m; S = {pull.side_n:.1f} N; wheelbase = "
            f"{pull.wheelbase_mm:.1f} mm (tractor)",
            f"front {pull.front_n:.1f} N, rear {pull.rear_n:.1f} N, positive to the left",
            _STATICS,
        )


def _to_side(newtons: float) -> str:
    return f" to the {way(newtons)}" if abs(newtons) >= 0.05 else ""


def _bar(assembly: Assembly, found: Account) -> Iterator[Traced]:
    bar, tube = found.bar, assembly.scene.tube
    if bar is None:
        return
    section = bar_section(assembly)
    yield Traced(
        "section of the bar",
        "A, I and W of a square tube with round corners, exact; J and its modulus by the wall's "
        "middle line",
        f"{tube.size:.2f} mm square, wall {tube.wall:.2f} mm ({_bar_from(assembly)})",
        f"I = {section.second_moment_mm4:.0f} mm⁴, W = {section.modulus_mm3:.0f} mm³, J = "
        f"{section.torsion_mm4:.0f} mm⁴",
        "geometry; torsion by the rule of EN 10219-2 (from memory)",
    )
    yield Traced(
        "bending and sag of the bar",
        f"{formulas.SAG}; hangers hold it without end moments",
        f"E = {STEEL_E_MPA:.0f} MPa; hangers at "
        f"{', '.join(f'{hanger.at_mm:.0f}' for hanger in found.hangers)} mm (toolbar.hangers); "
        "weights, and drafts at the high end of their range",
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
        f"hangers at {', '.join(f'{hanger.at_mm:.0f}' for hanger in found.hangers)} mm left of the "
        "bar's centre (toolbar.hangers)",
        f"greatest {most.at_mm:.0f} mm left: {most.up_n:.0f} N up, {most.ahead_n:.0f} N ahead, "
        f"torque {most.torque_nm:.0f} N m",
        _STATICS + " and elastic beam theory",
    )
    yield Traced(
        "stress in the bar",
        formulas.BAR_STRESS,
        f"where it is greatest: M {bar.moments_nm[0]:.0f} and {bar.moments_nm[1]:.0f} N m, T "
        f"{bar.moments_nm[2]:.0f} N m",
        f"{bar.stress_mpa:.1f} MPa",
        "beam theory and von Mises's criterion (from memory), on the safe side at the corners",
    )


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
        upright, level = worst.worst.bending_nm
        yield Traced(
            "stress in an arm or cross tube",
            f"F and M of all that hangs beyond the section; {formulas.ARM_STRESS}",
            f"{worst.name}, {worst.worst.place}: weights, drafts at the high end, "
            f"{assumed(assembly)}; M {upright:.1f} and {level:.1f} N m, "
            f"T {worst.worst.torque_nm:.1f} N m",
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
        hole = assembly.scene.spec.stations[station.index].spring_hole
        told = ", ".join(f"{f.force_n:.0f} N at {f.angle:.1f}°" for f in forces)
        yield Traced(
            f"down-force of {part}",
            formulas.SPRING,
            f"rate = {entry.spring_rate_n_mm:g} N/mm, preload = {entry.preload_n(hole):g} N in "
            f"hole {hole}, h = {entry.spring_lever:.1f} mm ({_part_from(assembly, arm)})",
            told,
            _STATICS + " about the arm's pivot; draft and soil left out",
        )
        return  # all arms alike are found in the same way


def _clamps(assembly: Assembly, found: Account) -> Iterator[Traced]:
    if found.clamps:
        clamp = max(found.clamps, key=lambda c: c.moment_nm / c.holds_nm)
        bar = assembly.scene.spec.toolbar
        spread = assembly.scene.spec.limits.preload_spread
        yield Traced(
            "moment that a clamp holds",
            f"F = T / (K·d), less its spread; {formulas.SLIP}; n = {LEGS}",
            f"{clamp.part}: M = {clamp.turning_nm:.1f} N m, S = {clamp.along_n:.1f} N; T = "
            f"{bar.clamp_torque_nm:g} N m (toolbar.clamp_torque_nm), K = "
            f"{bar.clamp_nut_factor:g}, d = {clamp.diameter_mm:.3f} mm "
            f"({_part_from(assembly, clamp.part)}), spread ±{spread:g} % (limits.preload_spread), "
            f"μ = {bar.clamp_friction:g} (toolbar.clamp_friction), b = "
            f"{assembly.scene.tube.size:.1f} mm",
            f"{clamp.holds_nm:.0f} N m against {clamp.moment_nm:.0f} N m",
            "T = K·D·F, the usual relation of torque and clamp load (from memory)",
        )


def _bar_from(assembly: Assembly) -> str:
    tube = assembly.scene.spec.toolbar.tube
    return f"toolbar.tube: {tube}" if tube else "toolbar.size and toolbar.wall"


def _part_from(assembly: Assembly, name: str) -> str:
    """Where the sizes of a part stand."""
    item = assembly.mechanism.part(name).item
    return (
        f"parts.{item} of the scene" if item in assembly.scene.spec.parts else f"catalogue: {item}"
    )
