"""Weights, forces and strength of whole rigs, by statics worked beside each expectation."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import not_checked
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.remedy import with_remedies
from rigmodel.clearance.runner import run
from rigmodel.clearance.trial import Bench
from rigmodel.errors import InputError
from rigmodel.loads import draft
from rigmodel.loads.account import account
from rigmodel.loads.balance import (
    axle_loads,
    lift_loads,
    lifted_pose,
    part_masses,
    rig_mass,
    station_masses,
)
from rigmodel.loads.bar import missing, pulls, pushes, solve_bar, struck_bar, weights
from rigmodel.loads.constants import GRAVITY
from rigmodel.loads.draft import Pull
from rigmodel.loads.joint import bolt_load, clamp_loads, held_clamps, slip_moment
from rigmodel.loads.shank import held_shanks
from rigmodel.loads.spring import arm_entry, at_work, down_forces
from rigmodel.spec.load import scene_from_text

Rig = Callable[..., Assembly]
BAR = "tube: tube-2x1-4, length: 72, height: 20"
SECTIONS = {
    "name": "a rig",
    "units": "in",
    "rows": "{count: 2, spacing: 24, keep_out: 2 1/2}",
    "soil": "{texture: medium, stone_n: 1000}",
    "tractor": "{use: compact-rear, speed_kmh: 6}",
    "toolbar": f"{{{BAR}, hangers: [15, -15], yield_mpa: 300}}",
    "stations": "[{use: blade-rigid, at: [-20, 0, 20], depth: 1}]",
}
LOAD_CHECKS = (
    "load-lift", "load-axle", "load-bar", "load-shank", "load-arm", "load-joint", "load-spring",
)  # fmt: skip


@pytest.fixture
def rig() -> Rig:
    def build(**sections: str) -> Assembly:
        lines = {**SECTIONS, **sections}
        return assemble(scene_from_text("\n".join(f"{k}: {v}" for k, v in lines.items())))

    return build


def found(assembly: Assembly, check: str) -> tuple[Finding, ...]:
    return run(assembly, None, (check,))


def pull_of(assembly: Assembly) -> Pull:
    pull = account(assembly).pull
    assert pull is not None
    return pull


def left_out(assembly: Assembly) -> dict[str, str]:
    told: dict[str, str] = {}
    for one in not_checked(assembly):
        if one.check in LOAD_CHECKS:
            told[one.check] = f"{told.get(one.check, '')}; {one.reason}"
    return told


def test_the_rig_is_the_sum_of_its_stations_and_bar(rig: Rig) -> None:
    assembly = rig()
    whole, bar = rig_mass(assembly), part_masses(assembly)["bar"]
    stations = station_masses(assembly).values()
    assert whole.mass_kg == pytest.approx(bar.mass_kg + sum(s.mass_kg for s in stations))
    moment = bar.mass_kg * bar.centroid_mm + sum(s.mass_kg * s.centroid_mm for s in stations)
    assert whole.centroid_mm == pytest.approx(moment / whole.mass_kg)


def test_lifting_moves_the_mass_and_keeps_its_size_and_inertia(rig: Rig) -> None:
    assembly = rig()
    low, high = (rig_mass(assembly, lifted_pose(assembly, s)) for s in (0.0, 1.0))
    assert high.mass_kg == pytest.approx(low.mass_kg)
    assert high.centroid_mm[2] > low.centroid_mm[2] + 100.0
    ours, theirs = (np.linalg.eigvalsh(b.inertia_kg_mm2) for b in (low, high))
    assert ours == pytest.approx(theirs)  # a rigid rig only turns


def test_a_parallel_lift_carries_the_weight(rig: Rig) -> None:
    assembly = rig(tractor="{use: small-belly, lift: {kind: parallel, capacity_kg: 1000}}")
    loads = lift_loads(assembly)
    assert loads is not None
    assert all(load.at_bar_kg == pytest.approx(rig_mass(assembly).mass_kg) for load in loads)


def test_a_pivoting_lift_carries_the_moment_over_its_lever(rig: Rig) -> None:
    assembly = rig()
    loads = lift_loads(assembly)
    assert loads is not None
    names = [frame.name for frame in assembly.mechanism.frames]
    pose = lifted_pose(assembly, 1.0)
    worlds = assembly.mechanism.frame_poses(pose)
    pivot, bar = (float(worlds[names.index(n)][0, 3]) for n in ("lift", "bar"))
    body = rig_mass(assembly, pose)
    arm = abs(float(body.centroid_mm[0]) - pivot)
    assert loads[-1].moment_nm == pytest.approx(body.mass_kg * GRAVITY * arm / 1000.0)
    assert loads[-1].at_bar_kg == pytest.approx(body.mass_kg * arm / abs(bar - pivot))


@pytest.mark.parametrize(("capacity", "verdict"), [(5.0, Verdict.FAIL), (500.0, Verdict.PASS)])
def test_load_lift(rig: Rig, capacity: float, verdict: Verdict) -> None:
    assembly = rig(tractor=f"{{use: compact-rear, lift: {{capacity_kg: {capacity}}}}}")
    (finding,) = found(assembly, "load-lift")
    assert (finding.verdict, finding.unit, finding.limit) == (verdict, "kg", capacity)
    assert "licensed engineer" in finding.message


def test_axle_loads_by_moments() -> None:
    # 300 kg 1 m behind the rear axle of a 2 m wheelbase: 150 kg off the front, 450 kg on the rear.
    loads = axle_loads(600.0, 900.0, 2000.0, 300.0, -1000.0)
    assert (loads.front_kg, loads.rear_kg) == pytest.approx((450.0, 1350.0))
    assert loads.front_share == pytest.approx(0.25)


@pytest.mark.parametrize("mount", ["compact-rear", "front-mount", "small-belly"])
def test_axle_loads_keep_sum_and_moment(rig: Rig, mount: str) -> None:
    assembly = rig(tractor=f"{{use: {mount}, front: {{load_kg: 500}}, rear: {{load_kg: 700}}}}")
    body = rig_mass(assembly, lifted_pose(assembly, 1.0))
    base, x = assembly.scene.tractor.wheelbase, float(body.centroid_mm[0])
    loads = axle_loads(500.0, 700.0, base, body.mass_kg, x)
    assert loads.front_kg + loads.rear_kg == pytest.approx(1200.0 + body.mass_kg, rel=1e-12)
    assert loads.front_kg * base == pytest.approx(500.0 * base + body.mass_kg * x, rel=1e-12)
    (finding,) = found(assembly, "load-axle")
    assert finding.value == pytest.approx(100.0 * loads.front_share)


def test_a_light_front_axle_fails_and_ballast_cures_it(rig: Rig) -> None:
    assembly = rig(tractor="{use: compact-rear, front: {load_kg: 160}, rear: {load_kg: 700}}")
    findings = found(assembly, "load-axle")
    (cured,) = with_remedies(assembly, findings, Bench())
    assert cured.verdict is Verdict.FAIL
    assert cured.remedy is not None
    assert cured.remedy.changes[0].unit == "kg"
    assert " kg" in cured.remedy.says
    assert "°" not in cured.remedy.says


def test_hoes_of_one_depth_share_the_rows_draft(rig: Rig) -> None:
    assembly = rig()
    one = draft.row_draft(draft.C_SHANK, "medium", 6.0, 25.4)
    assert sum(d.middle_n for d in draft.drafts(assembly).values()) == pytest.approx(2.0 * one)
    pulled = pull_of(assembly)
    assert pulled.power_kw == pytest.approx(2.0 * one * 6.0 / 3600.0)


def test_yaw_is_the_draft_times_its_lever(rig: Rig) -> None:
    even = rig(stations="[{use: point-rigid, at: [-20, 20], depth: 1, draft_n: 100}]")
    odd = rig(stations="[{use: point-rigid, at: [20], depth: 1, draft_n: 100}]")
    (tool,) = odd.tools
    assert pull_of(odd).yaw_nm == pytest.approx(100.0 * tool.centre_mm / 1000.0)
    assert pull_of(odd).line_mm == pytest.approx(tool.centre_mm)
    assert abs(pull_of(even).line_mm) < 40.0  # both points lie on the left of their shanks


def test_forces_and_moments_on_the_bar_add_up_to_nothing(rig: Rig) -> None:
    assembly = rig(
        toolbar=f"{{{BAR}, hangers: [20, 3, -15], yield_mpa: 300, roll: 2, pitch: 3}}",
        stations="[{use: blade-rigid, at: [-20, 0, 20], depth: 1, side_n: 70}]",
    )
    result = solve_bar(assembly)
    forces = [*weights(assembly), *pulls(assembly), *pushes(assembly)]
    length, at = 72.0 * 25.4, np.array((-15.0, 3.0, 20.0)) * 25.4
    for beam, axis, about, sign in ((result.upright, 2, 0, 1.0), (result.level, 0, 2, -1.0)):
        applied = [float(f.force_n[axis]) for f in forces]
        total = sum(applied) + beam.spread * length + beam.reactions.sum()
        assert abs(total) <= 1e-9 * np.abs(applied).sum()
        places = [f.arm_mm + np.array((0.0, f.at_mm, 0.0)) for f in forces]
        moments = [
            sign * np.cross(r, f.force_n)[about] for r, f in zip(places, forces, strict=True)
        ]
        turn = sum(moments) + beam.reactions @ at
        assert abs(turn) <= 1e-9 * np.abs(moments).sum()
    along = result.bent.pushed
    assert abs(along.torques.sum() + along.reactions.sum()) <= 1e-9 * np.abs(along.torques).sum()
    torque = sum(float(f.moment_nmm[1]) for f in forces) + result.turned.reactions.sum()
    assert abs(torque) <= 1e-9 * sum(abs(float(f.moment_nmm[1])) for f in forces)


def test_one_tool_in_the_middle_bends_the_bar_as_in_the_books(rig: Rig) -> None:
    # F L / 4 in the level plane under a pull F in the middle of hangers L apart.
    pull, span = 1000.0, 60.0 * 25.4
    assembly = rig(
        stations="[{use: point-rigid, at: [0], depth: 1, draft_n: 1000}]",
        toolbar=f"{{{BAR}, hangers: [30, -30], yield_mpa: 300}}",
    )
    result = solve_bar(assembly)
    (tool,) = assembly.tools
    station = assembly.station[tool.station]
    aside = tool.centre_mm - station.place_mm
    smooth = result.level.moments(np.array([station.place_mm]))
    middle = abs(smooth).mean()  # the couple F·aside makes the two sides differ
    assert middle == pytest.approx(pull * span / 4.0, rel=0.05)
    assert abs(smooth[1, 0] - smooth[0, 0]) == pytest.approx(pull * abs(aside), rel=1e-9)


def test_a_thicker_wall_is_stressed_less_and_weighs_more(rig: Rig) -> None:
    thin, thick = (
        rig(toolbar=f"{{tube: {tube}, length: 72, height: 20, hangers: [15, -15]}}")
        for tube in ("tube-2x1-8", "tube-2x1-4")
    )
    assert solve_bar(thick).stress_mpa < solve_bar(thin).stress_mpa
    assert rig_mass(thick).mass_kg > rig_mass(thin).mass_kg


def test_a_weak_bar_fails(rig: Rig) -> None:
    told = found(rig(toolbar=f"{{{BAR}, hangers: [4, -4], yield_mpa: 20}}"), "load-bar")
    assert [f.parts for f in told] == [("bar",), ("bar", "a stone's force")]
    for stress in told:
        assert (stress.verdict, stress.unit, stress.limit) == (Verdict.FAIL, "MPa", 10.0)


def test_the_bar_with_a_tool_against_a_stone_is_one_with_that_draft(rig: Rig) -> None:
    """Superposition against the whole solved anew, for each of the tools in turn."""

    def pulled(*drafts: float) -> Assembly:
        return rig(
            stations="[" + ", ".join(
                f"{{use: blade-rigid, at: [{at}], depth: 1, draft_n: {n}, side_n: 60, name: t{at}}}"
                for at, n in zip((-20, 0, 20), drafts, strict=True)
            ).replace("t-", "m") + "]",
            toolbar=f"{{{BAR}, hangers: [15, -15], yield_mpa: 300, roll: 2}}",
        )  # fmt: skip

    own = (300.0, 0.0, 250.0)
    hit = [tuple(1500.0 if i == k else n for i, n in enumerate(own)) for k in range(3)]
    anew = [solve_bar(pulled(*drafts)) for drafts in hit]
    worst = max(anew, key=lambda bar: bar.stress_mpa)
    struck = struck_bar(pulled(*own), 1500.0)
    assert struck.stress_mpa == pytest.approx(worst.stress_mpa, rel=1e-9)
    assert struck.at_mm == pytest.approx(worst.at_mm)
    assert struck.moments_nm == pytest.approx(worst.moments_nm, rel=1e-6, abs=1e-6)


def test_without_a_stone_s_force_the_bar_is_said_not_to_be_checked_for_one(rig: Rig) -> None:
    assert "bar with a tool hit by a stone" in left_out(rig(soil="{texture: medium}"))["load-bar"]
    assert "stone" not in left_out(rig())["load-bar"]


def test_a_shank_is_a_cantilever_below_its_holder(rig: Rig) -> None:
    assembly = rig()
    for shank in held_shanks(assembly):
        part = assembly.scene.catalogue.parts[assembly.mechanism.part(shank.name).item]
        depth, across = part.width, part.thickness  # type: ignore[union-attr]
        bending = 1000.0 * shank.free_mm * 6.0 / (across * depth**2)
        assert shank.stress_mpa(1000.0) >= bending
        second = across * depth**3 / 12.0
        give = 1000.0 * shank.free_mm**3 / (3.0 * 207e3 * second)
        assert shank.give_mm(1000.0) == pytest.approx(give)
        assert 0.0 < shank.free_mm < 20.0 * 25.4


def test_shanks_are_held_to_their_own_steel(rig: Rig) -> None:
    assembly = rig()
    item = assembly.mechanism.part(held_shanks(assembly)[0].name).item
    kind = assembly.scene.catalogue.parts[item]
    own = f"{{kind: flat-shank, width: {kind.width} mm, thickness: {kind.thickness} mm, "  # type: ignore[union-attr]
    own += f"length: {kind.length} mm, yield_mpa: 20}}"  # type: ignore[union-attr]
    weak = rig(
        parts=f"{{{item}-own: {own}}}",
        stations=SECTIONS["stations"].replace(
            "depth: 1", f"depth: 1, swap: {{blade_shank: {item}-own}}"
        ),
    )
    pulled, stone = found(weak, "load-shank")
    assert pulled.verdict is stone.verdict is Verdict.FAIL
    assert "load-shank" not in left_out(weak)


def test_bolts_hold_by_friction(rig: Rig) -> None:
    # T = K D F: 40 N m on a 10 mm bolt at K 0.2 gives 20 kN; 8 x 20 kN x 0.2 x 25 mm = 800 N m.
    assert bolt_load(40.0, 0.2, 10.0) == pytest.approx(20_000.0)
    assert slip_moment(20_000.0, 0.2, 50.0) == pytest.approx(800.0)
    tight, loose = (
        rig(toolbar=f"{{{BAR}, clamp_torque_nm: {torque}, clamp_friction: 0.15}}")
        for torque in (60, 0.5)
    )
    assert found(tight, "load-joint")[0].verdict is Verdict.PASS
    assert found(loose, "load-joint")[0].verdict is Verdict.FAIL
    loads = clamp_loads(tight)
    for tool in tight.tools:  # draft times the depth of its line below the bar, less the weight's
        lever = 20.0 * 25.4 + tool.depth_mm / 2.0
        pulled = draft.drafts(tight)[tool.part].high_n * lever / 1000.0
        assert loads[tool.station][0] == pytest.approx(pulled, rel=0.1)


def test_a_springs_down_force_by_moments_about_the_pivot(rig: Rig) -> None:
    plain = rig(stations="[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]")
    tool = plain.tools[0]
    entry = arm_entry(plain, tool)
    assert entry is not None
    sprung = entry.model_copy(
        update={"spring_rate_n_mm": 5.0, "spring_preload_n": 200.0, "spring_lever": 40.0}
    )
    slack = sprung.model_copy(update={"spring_rate_n_mm": 0.0, "spring_preload_n": 0.0})
    joint = plain.mechanism.joints[tool.arm]
    for with_it, without in zip(
        down_forces(plain, tool, sprung), down_forces(plain, tool, slack), strict=True
    ):
        force = 200.0 + 5.0 * 40.0 * math.radians(with_it.angle - entry.work_angle)
        gained = (with_it.force_n - without.force_n) / (max(0.0, force) * 40.0)
        assert 1.0 / gained == pytest.approx(entry.length, rel=0.6)  # the tool's reach
        assert without.force_n > 0.0  # its weight alone
        assert joint.low <= with_it.angle <= joint.high


def test_what_is_not_given_is_not_checked_and_says_what_is_missing(rig: Rig) -> None:
    bare = rig(
        tractor="{use: compact-rear}",
        soil="{}",
        toolbar=f"{{{BAR}}}",
        stations="[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]",
    )
    reasons = left_out(bare)
    assert set(LOAD_CHECKS) - {"load-shank"} <= set(reasons)
    assert not [f for f in run(bare) if f.check.startswith("load-")]
    assert "capacity_kg" in reasons["load-lift"]
    assert "load_kg" in reasons["load-axle"]
    assert "hangers" in reasons["load-bar"]
    assert "clamp_torque_nm" in reasons["load-joint"]
    assert "spring_rate_n_mm" in reasons["load-spring"]


@pytest.mark.parametrize(
    ("sections", "word"),
    [
        ({"soil": "{}"}, "soil.texture"),
        ({"tractor": "{use: compact-rear}"}, "tractor.speed_kmh"),
        (
            {"stations": "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]"},
            "draft_n",
        ),
    ],
)
def test_draft_is_never_guessed(rig: Rig, sections: dict[str, str], word: str) -> None:
    assert word in missing(rig(**sections))


def clamped(rig: Rig, more: str) -> tuple[Finding, ...]:
    return found(rig(toolbar=f"{{{BAR}, clamp_friction: 0.15, {more}}}"), "load-joint")


def test_a_clamp_may_not_slip_at_the_least_of_its_bolts_load(rig: Rig) -> None:
    exact, spread = (
        held_clamps(
            rig(
                toolbar=f"{{{BAR}, clamp_friction: 0.15, clamp_torque_nm: 40}}",
                limits=f"{{preload_spread: {share}}}",
            )
        )
        for share in (0, 35)
    )
    for one, other in zip(exact, spread, strict=True):
        assert one.least_n == one.preload_n == one.most_n == other.preload_n
        assert other.holds_nm == pytest.approx(0.65 * one.holds_nm)
        assert (other.least_n, other.most_n) == pytest.approx(
            (0.65 * one.preload_n, 1.35 * one.preload_n)
        )


def test_bolts_are_held_against_the_proof_load_of_their_grade(rig: Rig) -> None:
    """3/8-16 grade 5: 4940 lbf at 0.75 of proof.

    Table of SAE J429 clamp loads, engineersedge.com, torque_vs_tension_bolts_13355; at K 0.20 that
    is 30.9 lbf ft (0.2 x 0.375 x 4940 / 12).
    """
    told = clamped(rig, "clamp_torque_nm: 20, clamp_grade: Grade 5")
    slip, stretched = told
    assert slip.unit == "N m"
    assert stretched.limit == pytest.approx(4940 / 0.75 * 4.4482216, rel=1e-3)
    assert stretched.verdict is Verdict.PASS
    table = 30.88 * 1.3558179
    at_most = (1.0 / 0.75) / 1.35  # of the table's torque: the spread is 35 per cent
    for torque, verdict in ((0.99 * at_most, Verdict.PASS), (1.02 * at_most, Verdict.FAIL)):
        told = clamped(rig, f"clamp_torque_nm: {torque * table}, clamp_grade: Grade 5")
        assert told[1].verdict is verdict


def test_without_a_grade_bolts_are_not_checked(rig: Rig) -> None:
    bar = f"{BAR}, clamp_friction: 0.15, clamp_torque_nm: 40"
    assert len(found(rig(toolbar=f"{{{bar}}}"), "load-joint")) == 1
    assert "toolbar.clamp_grade is not given" in left_out(rig(toolbar=f"{{{bar}}}"))["load-joint"]
    unknown = left_out(rig(toolbar=f"{{{bar}, clamp_grade: very hard}}"))["load-joint"]
    assert "'very hard'" in unknown


def sprung(rig: Rig, station: str = "", **arm: float) -> Assembly:
    """A pair of wheels on arms whose spring may hang in one of six holes, 10 mm apart."""
    plain = rig(stations="[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}]")
    entry = arm_entry(plain, plain.tools[0])
    assert entry is not None
    sizes = {
        "spring_rate_n_mm": 5.0,
        "spring_preload_n": 100.0,
        "spring_lever": "40 mm",
        "spring_holes": 6,
        "spring_hole_pitch": "10 mm",
        **arm,
    }
    told = {name: f"{getattr(entry, name):.6f} mm" for name in (
        "length", "depth", "width", "bracket_width", "bracket_height", "bracket_thickness",
        "pivot_back", "pivot_drop", "pin_diameter", "spring_diameter",
        "spring_length")}  # fmt: skip
    told |= {n: str(getattr(entry, n)) for n in ("down_stop", "up_stop", "work_angle")}
    told |= {name: str(value) for name, value in sizes.items()}
    own = ", ".join(f"{name}: {value}" for name, value in told.items())
    return rig(
        parts=f"{{my-arm: {{kind: trailing-arm, {own}}}}}",
        stations="[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, "
        f"swap: {{finger_wheel_arm: my-arm}}{station}}}]",
    )


def pressed(assembly: Assembly) -> float:
    """Down-force at work of the first tool, N."""
    tool = assembly.tools[0]
    entry = arm_entry(assembly, tool)
    assert entry is not None
    return at_work(assembly, tool, down_forces(assembly, tool, entry)).force_n


def test_each_hole_presses_by_rate_times_pitch_more(rig: Rig) -> None:
    forces = [pressed(sprung(rig, f", spring_hole: {hole}")) for hole in range(1, 7)]
    steps = np.diff(forces)
    assert steps == pytest.approx(steps[0])
    tool = sprung(rig).tools[0]
    entry = arm_entry(sprung(rig), tool)
    assert entry is not None
    reach = 5.0 * 10.0 * 40.0 / float(steps[0])  # by moments: dF r = rate x pitch x lever
    assert reach == pytest.approx(entry.length * math.cos(math.radians(entry.work_angle)), rel=0.6)


def test_the_hole_for_a_wanted_force_is_the_remedy(rig: Rig) -> None:
    softest = pressed(sprung(rig))
    step = pressed(sprung(rig, ", spring_hole: 2")) - softest
    wanted = softest + 2.5 * step
    assembly = sprung(rig, f", press_n: {wanted:.3f}")
    findings = [f for f in found(assembly, "load-spring") if f.verdict is Verdict.FAIL]
    (told,) = with_remedies(assembly, findings, Bench())
    assert told.value == pytest.approx(softest)
    assert told.remedy is not None
    assert [(c.path, c.value) for c in told.remedy.changes] == [(("stations", 0, "spring_hole"), 4)]
    enough = found(sprung(rig, f", press_n: {wanted:.3f}, spring_hole: 4"), "load-spring")
    assert all(f.verdict is Verdict.PASS for f in enough)


def test_a_hole_that_is_not_there_is_refused(rig: Rig) -> None:
    with pytest.raises(InputError, match="there is no hole 7: its arm's spring has 6"):
        sprung(rig, ", spring_hole: 7")
    with pytest.raises(InputError, match="no arm with a spring"):
        rig(stations="[{use: blade-rigid, at: gaps, depth: 1, spring_hole: 2}]")


def test_bounce_is_said_not_to_be_checked_wherever_there_is_an_arm(rig: Rig) -> None:
    assert "bounce and resonance" in left_out(sprung(rig))["load-spring"]
    assert "load-spring" not in left_out(rig(stations="[{use: blade-rigid, at: gaps, depth: 1}]"))


def test_what_holds_the_bar_is_said_not_to_be_checked_wherever_it_hangs(rig: Rig) -> None:
    assert "strength of the hangers" in left_out(rig())["load-bar"]
    bare = left_out(rig(toolbar=f"{{{BAR}, yield_mpa: 300}}"))["load-bar"]
    assert "toolbar.hangers is not given" in bare
    assert "strength of the hangers" not in bare
