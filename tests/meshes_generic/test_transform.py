"""Rigid placements: closed forms and group laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from meshes_generic.transform import (
    apply,
    frozen,
    identity,
    inverse,
    mirror_y,
    roll_pitch_yaw,
    rotation,
    rotation_x,
    rotation_y,
    rotation_z,
    translation,
)

angles = st.floats(-720, 720)
lengths = st.floats(-1e4, 1e4)
placements = st.builds(
    lambda x, y, z, r, p, w: translation(x, y, z) @ roll_pitch_yaw(r, p, w),
    *(lengths, lengths, lengths, angles, angles, angles),
)
MIRROR = np.diag((1.0, -1.0, 1.0, 1.0))


@pytest.mark.parametrize(
    ("turn", "moved", "to"),
    [
        (rotation_x, (0, 1, 0), (0, 0, 1)),
        (rotation_y, (0, 0, 1), (1, 0, 0)),
        (rotation_z, (1, 0, 0), (0, 1, 0)),
    ],
)
def test_a_quarter_turn_is_right_handed_and_exact(turn, moved, to):
    assert (apply(turn(90.0), np.array([moved], float)) == np.array([to], float)).all()


@pytest.mark.parametrize("quarters", range(-9, 10))
def test_quarter_turns_hold_only_whole_numbers(quarters):
    assert set(np.unique(rotation_z(90.0 * quarters))) <= {-1.0, 0.0, 1.0}


@settings(max_examples=50, deadline=None)
@given(st.tuples(*[st.floats(-5, 5)] * 3).filter(lambda a: np.hypot(*a[:2]) > 1e-3), angles)
def test_rotation_agrees_with_scipy(axis, degrees):
    unit = np.array(axis) / np.linalg.norm(axis)
    expected = Rotation.from_rotvec(np.radians(degrees) * unit).as_matrix()
    assert_allclose(rotation(axis, degrees)[:3, :3], expected, atol=1e-12)


def test_roll_pitch_yaw_turns_about_fixed_axes_in_that_order():
    expected = Rotation.from_euler("xyz", (10, 20, 30), degrees=True).as_matrix()
    assert_allclose(roll_pitch_yaw(10, 20, 30)[:3, :3], expected, atol=1e-15)


@pytest.mark.parametrize("axis", [(0, 0, 0), (np.nan, 0, 1), (np.inf, 0, 0)])
def test_an_axis_without_direction_is_refused(axis):
    with pytest.raises(ValueError, match="axis"):
        rotation(axis, 10)


@settings(max_examples=50, deadline=None)
@given(placements)
def test_inverse_undoes(placement):
    assert_allclose(inverse(placement) @ placement, identity(), atol=1e-8)
    assert_allclose(placement @ inverse(placement), identity(), atol=1e-8)


@settings(max_examples=50, deadline=None)
@given(placements, placements)
def test_mirroring_is_conjugation_and_keeps_products(first, second):
    assert_allclose(mirror_y(first), MIRROR @ first @ MIRROR, atol=0)
    assert_allclose(mirror_y(first @ second), mirror_y(first) @ mirror_y(second), atol=1e-8)
    assert np.linalg.det(mirror_y(first)[:3, :3]) == pytest.approx(1.0)


def test_frozen_copies_what_others_may_still_change():
    source = np.zeros(3)
    kept = frozen(source)
    source[0] = 1.0
    assert kept[0] == 0.0
    assert not kept.flags.writeable
    assert frozen(kept) is kept
