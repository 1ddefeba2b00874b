"""The bar's beam against closed forms and PyNiteFEA 3.2.0 (inch, lbf, psi).

Section: AISC HSS2x2x1/4 with I 0.747 in4, S 0.747 in3, C 1.41 in3, J 1.31 in4; E = 29e6 psi and
G = 11.2e6 psi. Figures are closed forms (M L²/EI and its kin), confirmed with PyNiteFEA.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.loads.beam import Bending, PointLoad, bend, cantilever_tip, twist

E, G = 29e6, 11.2e6
SECOND, MODULUS, C, J = 0.747, 0.747, 1.41, 1.31
EI = E * SECOND
ENDS = (0.0, 60.0)


def simple(*loads: tuple[float, float], spread: float = 0.0) -> Bending:
    return bend(ENDS, EI, ENDS, [PointLoad(at, -force) for at, force in loads], -spread)


def test_b1_load_at_the_middle() -> None:
    beam = simple((30.0, 200.0))
    middle = np.array([30.0])
    assert beam.deflection(middle)[0] == pytest.approx(-0.0415454923, rel=1e-8)
    assert beam.moments(middle)[0, 0] == pytest.approx(3000.0, rel=1e-9)
    assert beam.moments(middle)[0, 0] / MODULUS == pytest.approx(4016.06, abs=5e-3)


def test_b2_own_weight() -> None:
    beam = simple(spread=5.41 / 12.0)
    middle = np.array([30.0])
    assert beam.deflection(middle)[0] == pytest.approx(-0.00351189240, rel=1e-8)
    assert beam.moments(middle)[0, 0] == pytest.approx(202.875, rel=1e-9)
    assert beam.reactions == pytest.approx([13.525, 13.525], rel=1e-9)


def test_b3_hung_inside_its_ends() -> None:
    loads = [PointLoad(0.0, -100.0), PointLoad(60.0, -100.0)]
    beam = bend(ENDS, EI, (44.0, 16.0), loads)
    places = np.array([0.0, 30.0, 60.0])
    tip, middle = -0.0228469433, 0.0072381480
    assert beam.deflection(places) == pytest.approx([tip, middle, tip], rel=1e-8)
    assert beam.moments(np.array([16.0]))[0, 0] == pytest.approx(-1600.0, rel=1e-9)
    assert beam.reactions == pytest.approx([100.0, 100.0], rel=1e-9)


def test_b4_two_loads() -> None:
    beam = simple((15.0, 100.0), (45.0, 100.0))
    found = beam.deflection(np.array([30.0, 15.0]))
    assert found == pytest.approx([-0.0285625260, -0.0207727462], rel=1e-8)
    assert beam.moments(np.array([30.0]))[0, 0] == pytest.approx(1500.0, rel=1e-9)


def test_b5_cantilever() -> None:
    assert cantilever_tip(150.0, 12.0, EI) == pytest.approx(0.00398836726, rel=1e-8)


def test_b6_load_off_the_middle() -> None:
    beam = simple((20.0, 150.0))
    found = beam.deflection(np.array([20.0, 60.0 - 32.6599]))
    assert found == pytest.approx([-0.0246195510, -0.0268023724], rel=1e-8)
    assert beam.moments(np.array([20.0]))[0, 0] == pytest.approx(2000.0, rel=1e-9)


def test_b7_torsion() -> None:
    turned = twist((0.0, -1.0), G * J, np.array([30.0]), np.array([1200.0]))
    end = np.array([30.0])
    assert math.degrees(turned.angles(end)[0]) == pytest.approx(0.140583974, rel=1e-8)
    assert turned.inside(end)[0, 0] / C == pytest.approx(851.06, rel=1e-5)


def test_torsion_between_hangers_is_shared_by_the_nearer_lengths() -> None:
    # Closed form: T a b / (L G J) at the torque, T b / L to the hanger at distance a.
    turned = twist((0.0, 60.0), G * J, np.array([20.0]), np.array([1200.0]))
    assert turned.angles(np.array([20.0]))[0] == pytest.approx(1200.0 * 20 * 40 / 60 / (G * J))
    assert turned.reactions == pytest.approx([-800.0, -400.0])


loads = st.lists(
    st.tuples(st.floats(-950, 950), st.floats(-5000, 5000), st.floats(-1e6, 1e6)),
    min_size=1,
    max_size=8,
)
hangers = st.lists(st.integers(-18, 18), min_size=2, max_size=5, unique=True)


@settings(max_examples=60, deadline=None)
@given(loads, hangers, st.floats(-1.0, 1.0))
def test_forces_and_moments_add_up_to_nothing(
    given_loads: list[tuple[float, float, float]], places: list[int], spread: float
) -> None:
    held = [50.0 * place for place in places]
    acting = [PointLoad(*load) for load in given_loads]
    beam = bend((-1000.0, 1000.0), 5e10, held, acting, spread)
    at = np.sort(np.array(held))
    forces = [*beam.reactions, *(load.force for load in acting), spread * 2000.0]
    moments = [
        *(beam.reactions * at),
        *(load.force * load.at + load.couple for load in acting),
    ]
    size = sum(map(abs, forces)) + 1e-9
    assert abs(sum(forces)) <= 1e-9 * size
    lever = size * 1000.0 + sum(abs(load.couple) for load in acting)
    assert abs(sum(moments)) <= 1e-9 * lever
    assert np.abs(beam.moments(np.array([1000.0]))[1]) <= 1e-9 * lever
    torques = np.array([load.couple for load in acting])
    turned = twist(held, 1e10, np.array([load.at for load in acting]), torques)
    assert abs(turned.reactions.sum() + torques.sum()) <= 1e-9 * (np.abs(torques).sum() + 1e-9)


@pytest.mark.filterwarnings("ignore")
def test_a_bar_on_three_hangers_against_pynite() -> None:
    import Pynite as pynite  # noqa: N813, PLC0415 - its import warns

    model = pynite.FEModel3D()
    places = (-900.0, -600.0, -450.0, 0.0, 250.0, 500.0, 900.0)
    for place in places:
        model.add_node(f"N{place:g}", place, 0.0, 0.0)
    model.add_material("steel", 207e3, 79e3, 0.3, 7.85e-6)
    model.add_section("tube", 900.0, 3e5, 3e5, 5e5)
    for left, right in pairwise(places):
        model.add_member(f"M{left:g}", f"N{left:g}", f"N{right:g}", "steel", "tube")
    for place in (-450.0, 0.0, 500.0):
        model.def_support(f"N{place:g}", True, True, True, True, True, False)
    acting = [PointLoad(-900.0, -300.0), PointLoad(-600.0, -150.0, 2e4), PointLoad(250.0, -800.0)]
    acting.append(PointLoad(900.0, 120.0, -5e4))
    for load in acting:
        model.add_node_load(f"N{load.at:g}", "FY", load.force)
        model.add_node_load(f"N{load.at:g}", "MZ", load.couple)
    model.analyze(check_statics=False)
    beam = bend((-900.0, 900.0), 207e3 * 3e5, (-450.0, 0.0, 500.0), acting)
    case = "Combo 1"
    theirs = [model.nodes[f"N{place:g}"].DY[case] for place in places]
    assert beam.deflection(np.array(places)) == pytest.approx(theirs, rel=1e-7, abs=1e-9)
    held = [model.nodes[f"N{p:g}"].RxnFY[case] for p in (-450.0, 0.0, 500.0)]
    assert beam.reactions == pytest.approx(held, rel=1e-7)


@pytest.mark.parametrize("held", [(0.0,), (0.0, 0.0), (0.0, 70.0)])
def test_hangers_that_hold_nothing_are_refused(held: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="hanger"):
        bend(ENDS, EI, held, [])
