"""Reading threads and grades, and lengths that are never too short."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.catalog.threads import bolt_length, grades, thread, u_bolt_length
from rigmodel.shop.torque import DRY, torque, torques


@pytest.mark.parametrize(
    ("size", "diameter", "pitch"),
    [
        ("3/8-16", 9.525, 25.4 / 16),
        (" 1/2 - 13 UNC ", 12.7, 25.4 / 13),
        ("6/16-16", 9.525, 25.4 / 16),
        ("M10", 10.0, 1.5),
        ("m12", 12.0, 1.75),
        ("M10x1.25", 10.0, 1.25),
        ("M20x2.5", 20.0, 2.5),
    ],
)
def test_threads_are_read(size: str, diameter: float, pitch: float) -> None:
    of = thread(size)
    assert of is not None
    assert of.diameter_mm == pytest.approx(diameter)
    assert of.pitch_mm == pytest.approx(pitch)


@pytest.mark.parametrize("size", ["", "3/8", "3/0-16", "0/8-16", "M", "M20", "M10x0", "M8x9", "x"])
def test_other_texts_are_no_thread(size: str) -> None:
    assert thread(size) is None


@pytest.mark.parametrize("grade", ["5", "Grade 5", "GR. 5", "SAE J429 Grade 5", "grade5"])
def test_inch_grades_are_read(grade: str) -> None:
    of = thread("3/8-16")
    assert of is not None
    assert of.proof_mpa(grade) == pytest.approx(586.05, abs=0.01)


@pytest.mark.parametrize("grade", ["", "8.8", "L9", "A325", "55", "Grade"])
def test_unknown_grades_are_not_guessed(grade: str) -> None:
    of = thread("3/8-16")
    assert of is not None
    assert of.proof_mpa(grade) is None
    assert torque(of, grade, DRY) is None


def test_a_size_outside_the_tables_has_no_torque() -> None:
    """The proof strengths hold up to 3/4 in and M16 only."""
    for size, grade in (("1/1-8", "2"), ("7/8-9", "5"), ("M20x2.5", "8.8")):
        of = thread(size)
        assert of is not None
        assert torque(of, grade, DRY) is None


def test_k_must_be_above_0() -> None:
    of = thread("M10")
    assert of is not None
    with pytest.raises(ValueError, match="above 0"):
        torque(of, "8.8", 0.0)


def test_oiled_threads_take_less_torque() -> None:
    for size in ("3/8-16", "M12"):
        of = thread(size)
        assert of is not None
        found = torques(of)
        assert len(found) == len(grades(of))
        assert all(oiled.torque_nm == pytest.approx(0.75 * dry.torque_nm) for dry, oiled in found)


@given(least=st.floats(0.1, 495.0), metric=st.booleans())
def test_bolts_are_long_enough_and_no_shorter_one_is(least: float, metric: bool) -> None:
    sold = bolt_length(least, metric)
    assert sold is not None
    assert sold >= least - 1e-4
    shorter = bolt_length(sold - 0.05, metric)
    assert shorter is not None
    assert shorter <= sold + 1e-9
    assert u_bolt_length(least, metric) >= least - 1e-4


@given(sold=st.floats(0.1, 495.0), metric=st.booleans())
def test_a_sold_length_is_its_own_next_length(sold: float, metric: bool) -> None:
    first = bolt_length(sold, metric)
    assert first is not None
    assert bolt_length(first, metric) == pytest.approx(first)
