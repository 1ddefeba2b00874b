"""Draft by ASABE D497.7, Table 1 (coefficients and ranges from memory)."""

from __future__ import annotations

import pytest

from rigmodel.loads.draft import C_SHANK, NO_TILL, RANGE, S_TINE, Draft, row_draft

LBF, MPH, INCH = 4.4482216152605, 1.609344, 2.54


# Three rows at 5 km/h and 2.5 cm, worked by hand from the formula.
@pytest.mark.parametrize(
    ("row", "texture", "newtons"),
    [
        (S_TINE, "fine", 1312.5),
        (S_TINE, "medium", 1115.625),
        (S_TINE, "coarse", 853.125),
        (C_SHANK, "fine", 2437.5),
    ],
)
def test_worked_rows(row: tuple[float, float], texture: str, newtons: float) -> None:
    assert 3.0 * row_draft(row, texture, 5.0, 25.0) == pytest.approx(newtons, rel=1e-12)


# The same table in US units (lbf for each row, mph, in) agrees to the figures it prints.
@pytest.mark.parametrize(
    ("row", "a", "b"), [(S_TINE, 80.0, 6.4), (C_SHANK, 148.0, 11.9), (NO_TILL, 248.0, 19.9)]
)
def test_the_tables_two_systems_of_units_agree(
    row: tuple[float, float], a: float, b: float
) -> None:
    assert row[0] * INCH / LBF == pytest.approx(a, rel=7e-3)
    assert row[1] * INCH * MPH / LBF == pytest.approx(b, rel=7e-3)


def test_the_range_is_each_way() -> None:
    draft = Draft(1000.0, RANGE[C_SHANK])
    assert (draft.low_n, draft.high_n) == pytest.approx((850.0, 1150.0))
    assert RANGE[NO_TILL] == 0.20
