"""Mass properties and materials: closed forms, the parallel axis theorem, and laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from meshes_generic import Box, Material, combine, density_kg_m3, is_flexible
from meshes_generic.mass import MassProperties
from meshes_generic.transform import mirror_y, roll_pitch_yaw, translation
from meshes_generic.tube import square_tube, square_tube_section

sizes = st.floats(0.5, 500)


def test_every_material_has_a_density_and_only_soft_ones_bend():
    for material in Material:
        assert density_kg_m3(material) >= 0.0
    assert {m for m in Material if is_flexible(m)} == {
        Material.RUBBER,
        Material.POLYURETHANE,
        Material.PLANT,
    }
    assert [density_kg_m3(m) for m in (Material.PLANT, Material.SOIL, Material.BODY)] == [0, 0, 0]


def test_a_litre_of_steel_weighs_7_85_kg():
    assert Box(100, 100, 100).mass_properties(7850).mass_kg == pytest.approx(7.85)


def test_two_halves_make_the_whole():
    half = Box(1, 2, 3).mass_properties(1e9)
    whole = combine(half.moved(translation(x, 0, 0)) for x in (-0.5, 0.5))
    expected = Box(2, 2, 3).mass_properties(1e9)
    assert whole.mass_kg == pytest.approx(expected.mass_kg)
    assert_allclose(whole.inertia_kg_mm2, expected.inertia_kg_mm2)


def test_a_hole_takes_away():
    hole = Box(1, 1, 5).mass_properties(1e9).moved(translation(3, 0, 0))
    plate = Box(10, 10, 5).mass_properties(1e9)
    rest = combine((plate, hole.scaled(-1.0)))
    again = combine((rest, hole))
    assert rest.mass_kg == pytest.approx(495)
    assert_allclose(rest.centroid_mm, (-15 / 495, 0, 0), atol=1e-12)
    assert_allclose(again.inertia_kg_mm2, plate.inertia_kg_mm2)


def test_nothing_to_combine_is_refused_and_massless_bodies_keep_a_place():
    with pytest.raises(ValueError, match="at least one"):
        combine(())
    nothing = MassProperties(0.0, np.array((1.0, 2.0, 3.0)), np.zeros((3, 3)))
    assert combine((nothing, nothing)).mass_kg == 0.0
    assert_allclose(combine((nothing, nothing)).centroid_mm, (1, 2, 3))


@settings(max_examples=40, deadline=None)
@given(sizes, sizes, sizes, st.floats(-180, 180), st.floats(-80, 80), st.floats(-180, 180))
def test_moving_keeps_principal_moments_and_mirroring_commutes(x, y, z, roll, pitch, yaw):
    box = Box(x, y, z).mass_properties(7850)
    place = translation(x, -y, z) @ roll_pitch_yaw(roll, pitch, yaw)
    moved = box.moved(place)
    scale = float(np.trace(box.inertia_kg_mm2))
    assert_allclose(
        np.linalg.eigvalsh(moved.inertia_kg_mm2),
        np.linalg.eigvalsh(box.inertia_kg_mm2),
        atol=1e-12 * scale,
    )
    mirrored = box.mirrored_y().moved(mirror_y(place))
    assert_allclose(moved.mirrored_y().centroid_mm, mirrored.centroid_mm, atol=1e-9)
    assert_allclose(moved.mirrored_y().inertia_kg_mm2, mirrored.inertia_kg_mm2, atol=1e-12 * scale)


def test_square_tube_inertia_matches_the_published_closed_form():
    # Hollow square section of unit mass, b outer, bi inner, length L: (b2 + bi2)/6 about its own
    # axis, (b2 + bi2)/12 + L2/12 across it. Source: common tables of moments of inertia; the
    # figures follow by hand: 6.25/6 and 6.25/12 + 300.
    mass = square_tube(2, 0.25, 60, corner_radius=0).mass_properties()
    assert mass.inertia_kg_mm2[1, 1] / mass.mass_kg == pytest.approx(1.04166667)
    assert mass.inertia_kg_mm2[0, 0] / mass.mass_kg == pytest.approx(300.520833)
    assert mass.inertia_kg_mm2[2, 2] / mass.mass_kg == pytest.approx(300.520833)


@pytest.mark.parametrize(("size", "wall", "radius"), [(60, 5, None), (60, 5, 3), (80, 50, 10)])
def test_rounded_section_agrees_with_adding_up_thin_strips(size, wall, radius):
    section = square_tube_section(size, wall, radius)
    outer = 2 * wall if radius is None else radius
    inner, inner_radius = max(size - 2 * wall, 0), max(outer - wall, 0)

    def chord(side, r, z):
        corner = np.clip(np.abs(z) - (side / 2 - r), 0, r)
        width = side - 2 * (r - np.sqrt(r * r - corner**2))
        return np.where(np.abs(z) < side / 2, width, 0.0)

    edges = np.linspace(-size / 2, size / 2, 480_001)
    z, step = (edges[1:] + edges[:-1]) / 2, edges[1] - edges[0]
    strips = (chord(size, outer, z) - chord(inner, inner_radius, z)) * step
    assert section.area_mm2 == pytest.approx(strips.sum(), rel=1e-6)
    assert section.second_moment_mm4 == pytest.approx((strips * z * z).sum(), rel=1e-6)


@pytest.mark.parametrize("wall", [30, 31, 500])
def test_a_wall_of_half_the_size_makes_a_solid_bar(wall):
    assert square_tube_section(60, wall).area_mm2 == 3600
    assert square_tube_section(60, wall).second_moment_mm4 == pytest.approx(60**4 / 12)


@pytest.mark.parametrize(
    ("size", "wall", "radius", "named"),
    [
        (0, 5, None, "size"),
        (-1, 5, None, "size"),
        (math.nan, 5, None, "size"),
        (60, 0, None, "wall"),
        (60, math.inf, None, "wall"),
        (60, 5, -1, "corner_radius"),
        (60, 5, 31, "corner_radius"),
        (60, 5, math.nan, "corner_radius"),
    ],
)
def test_impossible_sections_are_refused_by_name(size, wall, radius, named):
    with pytest.raises(ValueError, match=named):
        square_tube_section(size, wall, radius)
