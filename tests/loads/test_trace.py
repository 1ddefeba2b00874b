"""What is printed beside a number is enough to work it out again, by the formula beside it."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import account
from rigmodel.loads.trace import Traced, trace
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
    assert "toolbar.tube: tube-2x1-4" in traced["section of the bar"].inputs
    assert "parts.known-shank of the scene" in traced["stress in a shank under draft"].inputs
    assert "catalogue: bar-clamp-2" in traced["moment that a clamp holds"].inputs
    (spring,) = (one for what, one in traced.items() if what.startswith("down-force"))
    assert "parts.sprung-arm of the scene" in spring.inputs
    assert "in hole 2" in spring.inputs
