"""Solids: support, extents, mass and moving of unions of pieces."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from meshes_generic import Box, Cylinder, Frustum, Hull, Material, Piece, RoundedDisc, Solid
from meshes_generic.mass import MassProperties
from meshes_generic.transform import identity, roll_pitch_yaw, rotation_x, translation

SHAPES = (
    Box(30, 40, 50),
    Cylinder(7, 90),
    Frustum(15, 10, 6),
    RoundedDisc(85, 20),
    Hull.skewed_box((5, -3, 8), ((60, 0, 0), (-40, 100, 0), (0, 0, 6))),
)
angles = st.floats(-180, 180)
offsets = st.floats(-1000, 1000)
placements = st.builds(
    lambda x, y, z, r, p, w: translation(x, y, z) @ roll_pitch_yaw(r, p, w),
    *(offsets, offsets, offsets, angles, angles, angles),
)
pieces = st.builds(
    Piece,
    st.sampled_from(SHAPES),
    placements,
    st.sampled_from([Material.STEEL, Material.RUBBER, Material.POLYURETHANE]),
)
solids = st.lists(pieces, min_size=1, max_size=4).map(lambda found: Solid(tuple(found)))
RANDOM = np.random.default_rng(7).normal(size=(40, 3))
DIRECTIONS = RANDOM / np.linalg.norm(RANDOM, axis=1)[:, None]


def _same_mass(one, two):
    assert one.mass_kg == pytest.approx(two.mass_kg)
    assert_allclose(one.centroid_mm, two.centroid_mm, atol=1e-6)
    assert_allclose(
        one.inertia_kg_mm2, two.inertia_kg_mm2, atol=1e-9 * np.trace(two.inertia_kg_mm2)
    )


@settings(max_examples=50, deadline=None)
@given(solids)
def test_support_is_the_greatest_of_a_fine_mesh(solid):
    mesh = solid.mesh(240).vertices
    gap = solid.support(DIRECTIONS) - (DIRECTIONS @ mesh.T).max(axis=1)
    assert gap.min() >= -1e-9
    assert gap.max() <= 0.02
    for piece in solid.pieces:
        points = piece.support_points(DIRECTIONS)
        values = np.einsum("ij,ij->i", DIRECTIONS, points)
        assert_allclose(values, piece.support(DIRECTIONS), atol=1e-9)


@settings(max_examples=50, deadline=None)
@given(solids)
def test_extent_and_bounds_agree_with_support(solid):
    for direction in DIRECTIONS[:8]:
        low, high = solid.extent(direction)
        assert high == pytest.approx(solid.support(direction[None])[0], abs=1e-9)
        assert low == pytest.approx(-solid.support(-direction[None])[0], abs=1e-9)
    bounds = solid.bounds()
    assert bounds.shape == (2, 3)
    assert_allclose(bounds[1], solid.support(np.eye(3)), atol=1e-9)
    assert_allclose(bounds[0], -solid.support(-np.eye(3)), atol=1e-9)


@settings(max_examples=50, deadline=None)
@given(solids, placements, placements)
def test_moving_twice_is_moving_once_by_the_product(solid, first, second):
    twice, once = solid.moved(first).moved(second), solid.moved(second @ first)
    assert_allclose(twice.support(DIRECTIONS), once.support(DIRECTIONS), atol=1e-8)
    _same_mass(twice.mass_properties(), once.mass_properties())
    _same_mass(twice.mass_properties(), solid.mass_properties().moved(second @ first))


@settings(max_examples=50, deadline=None)
@given(solids)
def test_a_mirror_image_is_as_large_and_reaches_the_mirrored_way(solid):
    mirrored = solid.mirrored_y()
    flip = np.array((1.0, -1.0, 1.0))
    assert_allclose(mirrored.support(DIRECTIONS * flip), solid.support(DIRECTIONS), atol=1e-9)
    assert mirrored.volume_mm3 == pytest.approx(solid.volume_mm3)
    assert mirrored.volume_mm3 > 0
    _same_mass(mirrored.mass_properties(), solid.mass_properties().mirrored_y())
    _same_mass(mirrored.mirrored_y().mass_properties(), solid.mass_properties())


def test_a_stated_mass_moves_mirrors_and_joins():
    piece = Piece(Box(10, 10, 10), identity(), Material.STEEL)
    stated = MassProperties(3.0, np.array((0.0, 1.0, 0.0)), np.diag((1.0, 2.0, 3.0)))
    weighed = Solid((piece,), stated)
    assert weighed.moved(translation(5, 0, 0)).mass_properties().mass_kg == 3.0
    assert_allclose(weighed.mirrored_y().mass_properties().centroid_mm, (0, -1, 0))
    both = weighed.joined(Solid((piece,)).moved(translation(20, 0, 0)))
    assert both.mass_properties().mass_kg == pytest.approx(3.0 + 7.85e-3)
    assert len(both.pieces) == 2


def test_pieces_are_chosen_by_material():
    steel = Piece(Box(1, 1, 1), identity(), Material.STEEL)
    rubber = Piece(Cylinder(1, 1), translation(9, 0, 0), Material.RUBBER)
    solid = Solid((steel, rubber))
    soft = solid.of(Material.RUBBER)
    assert soft is not None
    assert soft.pieces == (rubber,)
    assert solid.of(Material.STEEL, Material.RUBBER) is solid
    assert solid.of(Material.SOIL) is None
    for body in (solid, Solid((steel,))):
        hard = body.without_flexible()
        assert hard is not None
        assert hard.pieces == (steel,)
    assert Solid((rubber,)).without_flexible() is None


@pytest.mark.parametrize("material", [Material.PLANT, Material.SOIL, Material.BODY])
def test_what_has_no_density_claims_no_mass(material):
    place = translation(1, 2, 3)
    mass = Solid((Piece(SHAPES[4], place, material),)).mass_properties()
    assert mass.mass_kg == 0.0
    assert not mass.inertia_kg_mm2.any()


def test_solids_cannot_be_changed_from_outside():
    place = translation(1, 2, 3)
    piece = Piece(Box(1, 1, 1), place, Material.STEEL)
    place[0, 3] = 100.0
    assert piece.placement[0, 3] == 1.0
    for kept in (piece.placement, piece.moved(rotation_x(10)).placement):
        with pytest.raises(ValueError, match="read-only"):
            kept[0, 3] = 5.0
    with pytest.raises(ValueError, match="at least one piece"):
        Solid(())
