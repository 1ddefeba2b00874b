"""What is printed beside a number is enough to work it out again, by the formula beside it."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.store import DATA
from rigmodel.loads.account import account
from rigmodel.loads.trace import trace
from rigmodel.loads.traced import Traced
from rigmodel.spec.load import load_scene

SCENE = Path(__file__).parents[2] / "scenes" / "weights-and-forces.yaml"
NUMBER = r"-?\d+(?:\.\d+)?"


@pytest.fixture(scope="module")
def stated() -> Assembly:
    return assemble(load_scene(SCENE))


@pytest.fixture(scope="module")
def traced(stated: Assembly) -> dict[str, Traced]:
    return {one.what: one for one in trace(stated, account(stated))}


def inputs(one: Traced) -> dict[str, float]:
    """Every ``name = number`` among what went in."""
    found = re.findall(rf"([\w−']+(?: − \w+)?) = ({NUMBER})", one.inputs)
    return {name: float(number) for name, number in found}


def result(one: Traced) -> float:
    found = re.search(NUMBER, one.result)
    assert found is not None
    return float(found[0])


def test_the_lift_s_moment(traced: dict[str, Traced]) -> None:
    one = traced["moment about the lift's pivot"]
    given = inputs(one)
    moment = given["m"] * given["g"] * abs(given["x − x_pivot"]) / 1000.0
    assert result(one) == pytest.approx(moment, rel=1e-3)


def test_the_lift_s_load(traced: dict[str, Traced]) -> None:
    one = traced["load of the lift, as a mass at the bar"]
    given = inputs(one)
    load = given["m"] * given["x − x_pivot"] / given["x_bar − x_pivot"]
    assert result(one) == pytest.approx(load, rel=1e-3)


def test_the_front_axle(traced: dict[str, Traced]) -> None:
    one = traced["front axle with the rig lifted"]
    given = inputs(one)
    front = given["W_front"] + given["m"] * given["x"] / given["wheelbase"]
    assert result(one) == pytest.approx(front, abs=0.1)


def test_drawbar_power(traced: dict[str, Traced]) -> None:
    one = traced["drawbar power"]
    given = inputs(one)
    assert result(one) == pytest.approx(given["D"] * given["S"] / 3600.0, abs=0.01)


@pytest.mark.parametrize(
    "what", ["stress in the bar", "stress in the bar with a tool against a stone"]
)
def test_the_bar_s_stress(traced: dict[str, Traced], what: str) -> None:
    one = traced[what]
    given = inputs(one)
    bending = 1000.0 * (given["M_up"] + given["M_level"]) / given["W"] + given["N"] / given["A"]
    shear = 1000.0 * given["T"] / given["W_t"] + given["V"] / given["A_v"]
    assert result(one) == pytest.approx(math.hypot(bending, math.sqrt(3.0) * shear), abs=0.06)


def test_a_strut_s_stress_and_what_it_buckles_under() -> None:
    braced = assemble(load_scene(SCENE.with_name("struts-hold-a-thin-bar.yaml")))
    told = {one.what: one for one in trace(braced, account(braced))}
    stress = told["stress in a strut"]
    given = inputs(stress)
    own = float(re.findall(rf"m·g·l/8 = ({NUMBER})", stress.inputs)[0])
    assert result(stress) == pytest.approx(
        given["N"] / given["A"] + 1000.0 * own / given["W"], abs=0.01
    )
    given = inputs(told["push under which a strut buckles"])
    euler = math.pi**2 * given["E"] * given["I"] / given["L"] ** 2
    johnson = given["A"] * given["S"] * (1.0 - given["S"] * given["A"] / (4.0 * euler))
    wanted = johnson if euler / given["A"] > given["S"] / 2.0 else euler
    assert result(told["push under which a strut buckles"]) == pytest.approx(wanted, rel=1e-3)
    assert "toolbar.struts[2], struts-hold-a-thin-bar.yaml:" in told["pull of a strut"].inputs
    assert "catalogue: tube-1-1-2x1-8, tubes.yaml:" in told["pull of a strut"].inputs


def test_an_arm_s_or_a_tube_s_stress(traced: dict[str, Traced]) -> None:
    one = traced["stress in an arm or cross tube"]
    given = inputs(one)
    direct = 1000.0 * (given["M_up"] / given["W"] + given["M_side"] / given["W'"])
    direct += given["N"] / given["A"]
    shear = 1000.0 * given["T"] / given["W_t"]
    shear += given["V_up"] / given["A_v"] + given["V_side"] / given["A_v'"]
    assert result(one) == pytest.approx(math.hypot(direct, math.sqrt(3.0) * shear), abs=0.06)


def test_a_tool_s_down_force(traced: dict[str, Traced]) -> None:
    (one,) = (one for what, one in traced.items() if what.startswith("down-force"))
    given = inputs(one)
    force = (1000.0 * given["M_weight"] + given["S"] * given["h"]) / given["r"]
    assert result(one) == pytest.approx(force, abs=0.1)
    assert given["S"] == pytest.approx(given["preload"])  # at the work angle


def test_a_shank_s_stress(traced: dict[str, Traced]) -> None:
    one = traced["stress in a shank under draft"]
    given = inputs(one)
    back, aside = given["D"], given["S"]
    bending = back * given["L"] / given["W"] + aside * given["L"] / given["W'"]
    shear = math.hypot(back, aside) / given["A_v"]
    shear += (back * given["a"] + aside * given["b"]) / given["W_t"]
    assert result(one) == pytest.approx(math.hypot(bending, math.sqrt(3.0) * shear), rel=0.005)


def test_what_a_clamp_holds(traced: dict[str, Traced]) -> None:
    one = traced["moment that a clamp holds"]
    given = inputs(one)
    spread = float(re.findall(r"±(\d+)", one.inputs)[0]) / 100.0
    load = given["T"] * 1000.0 / (given["K"] * given["d"]) * (1.0 - spread)
    assert result(one) == pytest.approx(8.0 * load * given["μ"] * given["b"] / 2000.0, rel=0.01)
    asked = float(re.findall(NUMBER, one.result)[1])
    both = math.hypot(given["M"], given["S"] * given["b"] / 2000.0)
    assert asked == pytest.approx(both, abs=0.5)


def test_the_source_of_a_part_s_sizes_is_named(traced: dict[str, Traced]) -> None:
    assert "toolbar.tube, weights-and-forces.yaml:" in traced["section of the bar"].inputs
    assert "catalogue: tube-2x1-4, tubes.yaml:" in traced["section of the bar"].inputs
    assert "parts.known-shank, weights-and-" in traced["stress in a shank under draft"].inputs
    assert "catalogue: bar-clamp-2, clamps.yaml:" in traced["moment that a clamp holds"].inputs
    (spring,) = (one for what, one in traced.items() if what.startswith("down-force"))
    assert "parts.sprung-arm.spring_rate_n_mm, weights-and-forces.yaml:" in spring.inputs
    assert "in hole 2" in spring.inputs


def test_the_line_told_is_that_where_the_value_stands(traced: dict[str, Traced]) -> None:
    """Every ``name, file:line`` is looked up in the file by hand."""
    told = {
        found
        for one in traced.values()
        for found in re.findall(r"([\w.\[\]-]+), ([\w-]+\.yaml):(\d+)", one.inputs)
    }
    assert len(told) > 15
    files = {path.name: path for path in (*DATA.glob("*.yaml"), SCENE)}
    for name, file, line in told:
        text = files[file].read_text(encoding="utf-8").splitlines()[int(line) - 1]
        key = name.rpartition(".")[2]
        assert re.search(rf"(?:^|[ {{,]){re.escape(key)}:", text), (name, file, line, text)


def test_a_default_is_called_one(traced: dict[str, Traced]) -> None:
    clamp = traced["moment that a clamp holds"].inputs
    assert "limits.preload_spread, default" in clamp
    assert "toolbar.clamp_nut_factor, default" in clamp


def test_a_scene_without_a_file_has_names_alone() -> None:
    whole = load_scene(SCENE)
    bare = assemble(replace(whole, source=None))
    told = " ".join(one.inputs for one in trace(bare, account(bare)))
    assert "toolbar.clamp_torque_nm" in told
    assert "weights-and-forces.yaml" not in told
