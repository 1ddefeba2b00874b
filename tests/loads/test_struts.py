"""Struts carry what statics and elastic theory say, against PyNiteFEA and handbook cases."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.bar_cures import more_struts
from rigmodel.clearance.check import check
from rigmodel.clearance.checks import load_bar, load_joint
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.scope import Scope
from rigmodel.clearance.trial import changed_scene, chosen
from rigmodel.errors import InputError
from rigmodel.loads.account import account
from rigmodel.loads.bar import bar_cases, pulls, solve_bar, stone_cases, weights
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA, STEEL_G_MPA
from rigmodel.loads.hung import HungBar, bar_section, tie_of
from rigmodel.loads.joint import held_feet
from rigmodel.loads.strut import buckling, held_struts
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
INCH = 25.4
SCENE = """
name: A bar with struts
units: {units}
rows: {{count: 2, spacing: {row}, keep_out: {keep}}}
soil: {{texture: medium}}
tractor: {{use: compact-rear, speed_kmh: 6}}
toolbar: {{tube: tube-2x1-8, length: {length}, height: {height}, hangers: [{hangers}],
  struts: [{struts}]}}
stations: [{{use: blade-rigid, at: [{at}], depth: {depth}}}]
"""
Struts = Callable[..., Assembly]


def strut(at: float, top: float, height: float, ahead: float = 0.0, **more: str) -> str:
    values = {"at": at, "top": top, "height": height, "ahead": ahead, "tube": "tube-1-1-2x1-8",
              "clamp": "strut-clamp-2", **more}  # fmt: skip
    return "{" + ", ".join(f"{name}: {value}" for name, value in values.items()) + "}"


def braced(*struts: str, hangers: str = "20, -20", at: str = "-45, -20, 20, 50") -> Assembly:
    text = SCENE.format(
        units="in", row=24, keep=2.5, length=120, height=20, depth=1,
        hangers=hangers, at=at, struts=", ".join(struts),
    )  # fmt: skip
    return assemble(scene_from_text(text))


LEANING = (strut(41, 18, 22, 5), strut(-35, -12, 16, -3), strut(6, -20, 12))


@pytest.mark.filterwarnings("ignore")
def test_a_bar_on_leaning_struts_against_pynite() -> None:
    import Pynite as pynite  # noqa: N813, PLC0415 - its import warns

    assembly = braced(*LEANING)
    bent = HungBar(assembly).bent([*weights(assembly), *pulls(assembly)], own_weight=False)
    ties = [tie_of(assembly, place) for place in assembly.struts]
    forces = [*weights(assembly), *pulls(assembly)]
    hangers = [20 * INCH, -20 * INCH]
    ends = [-60 * INCH, 60 * INCH]
    places = sorted({*ends, *hangers, *(t.at_mm for t in ties), *(f.at_mm for f in forces)})
    section, model = bar_section(assembly), pynite.FEModel3D()
    model.add_material("steel", STEEL_E_MPA, STEEL_G_MPA, 0.3, 7.85e-6)
    model.add_material("rigid", STEEL_E_MPA * 1e6, STEEL_G_MPA * 1e6, 0.3, 7.85e-6)
    second = section.second_moment_mm4
    model.add_section("bar", section.area_mm2, second, second, section.torsion_mm4)
    model.add_section("lug", 1e3, 1e5, 1e5, 2e5)
    for k, place in enumerate(places):
        model.add_node(f"N{k}", 0.0, place, 0.0)
    for k in range(len(places) - 1):
        model.add_member(f"B{k}", f"N{k}", f"N{k + 1}", "steel", "bar")
    for place in hangers:  # DX, DY, DZ and the turn about the bar
        model.def_support(f"N{places.index(place)}", True, True, True, False, True, False)
    for k, tie in enumerate(ties):
        foot = np.array((0.0, tie.at_mm, 0.0)) + tie.arm_mm
        top = foot + tie.length_mm * tie.along
        model.add_node(f"F{k}", *foot.tolist())
        model.add_node(f"T{k}", *top.tolist())
        model.def_support(f"T{k}", *[True] * 6)
        model.add_member(f"L{k}", f"N{places.index(tie.at_mm)}", f"F{k}", "rigid", "lug")
        model.add_section(f"S{k}", tie.section.area_mm2, 1e4, 1e4, 1e4)
        model.add_member(f"S{k}", f"F{k}", f"T{k}", "steel", f"S{k}")
        ball = [False, False, False, False, True, True]
        model.def_releases(f"S{k}", *[*ball[:3], True, True, True], *ball)
    for force in forces:
        node = f"N{places.index(force.at_mm)}"
        for way, value in zip(("FX", "FY", "FZ"), force.force_n.tolist(), strict=True):
            model.add_node_load(node, way, value)
        for way, value in zip(("MX", "MY", "MZ"), force.moment_nmm.tolist(), strict=True):
            model.add_node_load(node, way, value)
    model.analyze(check_statics=False)
    case = "Combo 1"
    nodes = [model.nodes[f"N{k}"] for k in range(len(places))]
    theirs = np.array([(n.DX[case], n.DY[case], n.DZ[case]) for n in nodes])
    turned = np.array([(n.RX[case], n.RY[case], n.RZ[case]) for n in nodes])
    ours = np.array(places)
    assert bent.moved(ours) == pytest.approx(theirs, rel=1e-4, abs=1e-4)
    assert bent.turns(ours) == pytest.approx(turned, rel=1e-4, abs=1e-7)
    held = [-model.members[f"S{k}"].axial(0.0, case) for k in range(len(ties))]  # theirs push is +
    assert bent.pulls_n == pytest.approx(held, rel=1e-4)


def test_a_bar_propped_in_its_middle_is_the_handbook_case() -> None:
    """An elastic prop under even load, by superposing two AISC cases (table 3-23, from memory).

    5 w L⁴ / 384 EI without it, less R L³ / 48 EI under its force, is what it gives: R / k.
    """
    assembly = braced(strut(0, 0, 20), hangers="60, -60")
    bent = HungBar(assembly).bent([], own_weight=True)
    (tie,) = [tie_of(assembly, place) for place in assembly.struts]
    length = 120 * INCH
    weight = assembly.mechanism.part("bar").solid.mass_properties().mass_kg * GRAVITY / length
    rigid = STEEL_E_MPA * bar_section(assembly).second_moment_mm4
    stiff = STEEL_E_MPA * tie.section.area_mm2 / tie.length_mm
    sag = 5.0 * weight * length**4 / (384.0 * rigid)
    expected = sag / (length**3 / (48.0 * rigid) + 1.0 / stiff)
    assert bent.pulls_n == pytest.approx([expected], rel=1e-9)
    # Two even spans on stiff supports: the middle one carries 5/4 of one span's load.
    assert bent.pulls_n == pytest.approx([1.25 * weight * length / 2.0], rel=2e-3)


def test_struts_pull_as_all_loads_one_by_one() -> None:
    """The ground of every bound on sag."""
    assembly = braced(*LEANING)
    cases = bar_cases(assembly)
    whole = solve_bar(assembly).bent
    assert sum(case.pulls_n for case in cases) == pytest.approx(whole.pulls_n, rel=1e-9)
    for held, pull in zip(held_struts(assembly, cases), whole.pulls_n, strict=True):
        assert held.pull_n == pytest.approx(pull, rel=1e-9)
        assert -held.most_push_n - 1e-9 <= pull <= held.most_pull_n + 1e-9


_RIG = braced(*LEANING)
_CASES = (bar_cases(_RIG), held_struts(_RIG, bar_cases(_RIG)))
_STONES = stone_cases(_RIG, 3000.0)
_STRUCK = (_STONES, held_struts(_RIG, _CASES[0], _STONES))


@given(st.integers(0, 2**32 - 1))
def test_no_choice_of_tools_strains_a_strut_more_than_is_told(seed: int) -> None:
    cases, told = _CASES[0], _CASES[1]
    shares = np.round(np.random.default_rng(seed).random(len(cases)))
    pulled = sum(share * case.pulls_n for share, case in zip(shares, cases, strict=True))
    for pull, held in zip(pulled, told, strict=True):
        assert -held.most_push_n - 1e-9 <= pull <= held.most_pull_n + 1e-9


@given(st.integers(0, 2**32 - 1), st.integers(0, len(_RIG.tools) - 1))
def test_no_stone_strains_a_strut_more_than_is_told(seed: int, struck: int) -> None:
    """A stone at one tool in place of its draft, the others in the soil or out of it."""
    cases, told, stones = _CASES[0], _STRUCK[1], _STRUCK[0]
    shares = np.round(np.random.default_rng(seed).random(len(cases)))
    shares[1 + struck] = 0.0
    pulled = sum(share * case.pulls_n for share, case in zip(shares, cases, strict=True))
    for pull, held in zip(pulled + stones[struck].pulls_n, told, strict=True):
        assert -held.most_push_n - 1e-9 <= pull <= held.most_pull_n + 1e-9


def test_some_stone_strains_a_strut_as_much_as_is_told() -> None:
    cases, (stones, told) = _CASES[0], _STRUCK
    for k, held in enumerate(told):
        each = np.array([case.pulls_n[k] for case in cases])
        most = []
        for i, stone in enumerate(stones):
            rest = np.delete(each, 1 + i)
            most.append(rest[rest > 0.0].sum() + max(stone.pulls_n[k], each[1 + i], 0.0))
        assert held.most_pull_n == pytest.approx(max(most), rel=1e-9)


def test_a_mirrored_rig_has_mirrored_struts() -> None:
    one = braced(strut(41, 18, 22, 5), strut(-30, -8, 16), at="-45, 20", hangers="22, -15")
    two = braced(strut(-41, -18, 22, 5), strut(30, 8, 16), at="45, -20", hangers="15, -22")
    found = [solve_bar(each).bent for each in (one, two)]
    # A blade lies left of its shank on both, so only weight and draft at the clamps mirror.
    assert found[0].pulls_n == pytest.approx(found[1].pulls_n, rel=0.05)
    units = [HungBar(each).bent([], own_weight=True) for each in (one, two)]
    assert units[0].pulls_n == pytest.approx(units[1].pulls_n, rel=1e-9)
    at = np.linspace(-1400.0, 1400.0, 29)
    mirrored = units[1].moved(-at) * (1.0, -1.0, 1.0)
    assert units[0].moved(at) == pytest.approx(mirrored, rel=1e-9, abs=1e-12)


def test_millimetres_make_no_difference() -> None:
    text = SCENE.format(
        units="mm", row=24 * INCH, keep=2.5 * INCH, length=120 * INCH, height=20 * INCH,
        depth=INCH, hangers=f"{20 * INCH}, {-20 * INCH}",
        at=", ".join(str(v * INCH) for v in (-45, -20, 20, 50)),
        struts=", ".join(
            strut(*(v * INCH for v in values))
            for values in ((41, 18, 22, 5), (-35, -12, 16, -3), (6, -20, 12))
        ),
    )  # fmt: skip
    metric, inches = assemble(scene_from_text(text)), braced(*LEANING)
    assert solve_bar(metric).bent.pulls_n == pytest.approx(solve_bar(inches).bent.pulls_n, rel=1e-6)


def test_euler_against_the_eigenvalue_of_a_pinned_bar() -> None:
    """-E·I·y'' = N·y in small steps: the least N is what Euler says."""
    second, length, steps = 5e4, 1200.0, 400
    step = length / steps
    rows = 2.0 * np.eye(steps - 1) - np.eye(steps - 1, k=1) - np.eye(steps - 1, k=-1)
    least = float(np.linalg.eigvalsh(rows)[0]) * STEEL_E_MPA * second / step**2
    assert buckling(400.0, second, length, None) == pytest.approx(least, rel=1e-4)


def test_a_stocky_strut_yields_before_it_buckles() -> None:
    """Johnson's parabola touches Euler's curve at half the yield strength, and ends at yield."""
    area, second, strength = 400.0, 5e4, 300.0
    meets = math.sqrt(math.pi**2 * STEEL_E_MPA * second / (area * strength / 2.0))
    for length in (meets * 1.001, meets * 0.999):
        euler = buckling(area, second, length, None)
        assert buckling(area, second, length, strength) == pytest.approx(euler, rel=1e-5)
    assert buckling(area, second, 1.0, strength) == pytest.approx(area * strength, rel=1e-4)
    assert buckling(area, second, meets / 2.0, strength) < buckling(area, second, meets / 2.0, None)


def test_strut_that_is_too_weak_is_caught_and_a_stronger_tube_cures_it() -> None:
    weak = braced(strut(50, -50, 8, yield_mpa="250"), strut(-50, 50, 8), at="-55, 55")
    found = {f.parts: f for f in load_bar.findings(Scope(weak)) if f.parts[0] != "bar"}
    assert {f[1] for f in found} == {"stress", "buckling"}
    for finding in found.values():
        assert finding.cures
        assert "whichever tools are in the soil" in finding.message
    assert "toolbar.struts[2].yield_mpa is not given" in load_bar.left_out(account(weak))


def test_friction_of_a_foots_clamp_is_that_of_its_legs_less_what_lifts_it() -> None:
    """F = T / (K·d) in four legs, less its spread; each presses on two faces (statics)."""
    text = SCENE.format(
        units="in", row=24, keep=2.5, length=120, height=20, depth=1, hangers="20, -20",
        at="-45, 50", struts=strut(45, 20, 25),
    )  # fmt: skip
    grip = "toolbar: {clamp_torque_nm: 30, clamp_friction: 0.15, "
    text = text.replace("toolbar: {", grip)
    rig = assemble(scene_from_text(text))
    (held,) = held_struts(rig, bar_cases(rig))
    (foot,) = held_feet(rig, [held])
    leg = 30.0 * 1000.0 / (0.2 * 9.525) * 0.65
    rise, run = 25 * INCH - rig.struts[0].foot_mm[2], 25 * INCH
    assert foot.along_n == pytest.approx(held.most_n * run / math.hypot(rise, run))
    lifts = held.most_n * rise / math.hypot(rise, run)
    assert foot.holds_n == pytest.approx((8.0 * leg - lifts) * 0.15)
    (told,) = [f for f in load_joint.findings(Scope(rig)) if f.parts[-1] == "along the bar"]
    assert told.value == pytest.approx(foot.along_n)
    assert told.verdict is Verdict.PASS


def test_struts_are_parts_of_the_rig() -> None:
    with_them, without = braced(strut(41, 18, 22)), braced()
    names = {part.name for part in with_them.rig_parts()} - {p.name for p in without.rig_parts()}
    assert names == {"strut1", "strut1.clamp"}
    tube = with_them.mechanism.part("strut1").solid
    (place,) = with_them.struts
    pins = math.dist((0.0, 41 * INCH, place.foot_mm[2]), (0.0, 18 * INCH, 22 * INCH))
    assert place.length_mm == pytest.approx(pins)
    assert place.foot_mm[2] == pytest.approx((1.0 + 3 / 8 + 1 + 3 / 8) * INCH)
    middle = tube.mass_properties().centroid_mm
    assert middle == pytest.approx((np.array(place.foot_mm) + place.top_mm) / 2.0)


def test_the_thin_bar_holds_up_on_struts_and_passes_everything() -> None:
    thin = assemble(load_scene(SCENES / "thin-bar-sags.yaml"))
    half = thin.scene.spec.toolbar.length / 2.0
    ends = np.array([-half, half])
    passing = 0
    for cure in more_struts(thin):
        scene = changed_scene(thin.scene, chosen(cure, cure.values[0]))
        assert scene is not None
        held = assemble(scene)
        assert np.abs(solve_bar(held).upright.deflection(ends)).max() < 3.0
        passing += check(held).verdict is not Verdict.FAIL if passing == 0 else 0
    assert passing


def test_a_bar_with_no_clamp_for_a_strut_is_offered_none() -> None:
    thin = assemble(load_scene(SCENES / "thin-bar-sags.yaml"))
    text = (SCENES / "thin-bar-sags.yaml").read_text()
    bare = assemble(scene_from_text(text.replace("  hangers: [16 3/8, -16 3/8]\n", "")))
    assert not list(more_struts(bare))
    assert list(more_struts(thin))


@pytest.mark.parametrize(
    ("change", "place", "says", "instead"),
    [
        ({"tube": "tube-1-1-2x1-9"}, "tube", "no square tube called", "tube-1-1-2x1-8"),
        ({"tube": "blade-8"}, "tube", "no square tube called", "one of"),
        ({"clamp": "strut-clamp-3"}, "clamp", "goes round a 3 in bar", "strut-clamp-2"),
        ({"clamp": "bar-clamp-2"}, "clamp", "no strut clamp called", "strut-clamp-2"),
        ({"height": "2"}, "height", "does not rise from its clamp", "or more"),
        ({"at": "61"}, "toolbar", "beyond the bar's end", ""),
        ({"height": "-3"}, "height", "more than 0", ""),
    ],
)
def test_a_strut_that_does_not_go_together_is_said_with_its_place(
    change: dict[str, str], place: str, says: str, instead: str
) -> None:
    values = {"at": 41.0, "top": 18.0, "height": 22.0, **change}
    with pytest.raises(InputError) as told:
        braced(strut(**values))  # type: ignore[arg-type]
    text = str(told.value)
    assert place in text
    assert says in text
    assert instead in text
    assert text.startswith(("scene:7: ", "scene:8: "))
