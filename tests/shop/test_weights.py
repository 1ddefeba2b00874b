"""Weights of stations and rig on the shop's list: they add up, in text and in the workbook."""

from __future__ import annotations

import io

import numpy as np
import pytest
from openpyxl import load_workbook

from rigmodel.assembly.rig import Assembly
from rigmodel.loads.account import account
from rigmodel.loads.words import balance_point
from rigmodel.shop.columns import units_of
from rigmodel.shop.files import parts_xlsx
from rigmodel.shop.listing import ShopList
from rigmodel.shop.text import list_text
from rigmodel.units import Unit


def test_stations_and_bar_weigh_what_the_parts_weigh(any_list: ShopList) -> None:
    loads = any_list.loads
    total = loads.bar_kg + sum(one.mass_kg for one in loads.hung)
    assert total == pytest.approx(any_list.parts.total_kg, rel=1e-9)
    for balance in loads.balances:
        assert balance.mass_kg == pytest.approx(total, rel=1e-9)


def test_the_rig_balances_at_the_mean_of_its_stations_and_bar(any_rig: Assembly) -> None:
    """First moments: the whole's is the sum of its parts' (statics)."""
    loads = account(any_rig)
    bar = any_rig.mechanism.part("bar")
    middle = bar.solid.mass_properties().moved(any_rig.work_frames[bar.frame]).centroid_mm
    left = loads.bar_kg * middle[1] + sum(s.mass_kg * s.left_mm for s in loads.hung)
    ahead = sum(s.mass_kg * s.ahead_mm for s in loads.hung)
    x, y, _ = loads.balances[0].centre_mm.tolist()
    assert y == pytest.approx(left / loads.rig_kg, abs=1e-6)
    assert x - middle[0] == pytest.approx(ahead / loads.rig_kg, abs=1e-6)


def test_the_text_tells_every_station_and_pose(any_list: ShopList) -> None:
    text = list_text(any_list, 200)
    units = units_of(any_list.unit)
    for one in any_list.loads.hung:
        assert f"{one.station}:" in text
    assert f"{units.kg(any_list.loads.rig_kg):.1f} {units.mass}" in text
    for balance in any_list.loads.balances:
        assert f"{balance.pose}: {balance_point(balance.centre_mm, any_list.unit)}" in text


def test_the_workbook_adds_up(any_list: ShopList) -> None:
    sheet = load_workbook(io.BytesIO(parts_xlsx(any_list)))["Weights"]
    masses = [float(str(row[1])) for row in sheet.iter_rows(min_row=2, values_only=True)]
    assert sum(masses[:-1]) == pytest.approx(masses[-1], abs=0.001 * len(masses))


@pytest.mark.parametrize(
    ("centre", "unit", "told"),
    [
        ((-1230.6, -4.8, 342.0), Unit.MM, "1231 mm behind the rear axle, 5 mm right of the"),
        ((1230.6, 0.3, 342.0), Unit.MM, "1231 mm ahead of the rear axle, on the centre line, 342"),
        ((0.0, 25.4, 254.0), Unit.IN, "0 in ahead of the rear axle, 1 in left of the centre"),
        ((0.0, 0.2, 254.0), Unit.IN, "on the centre line, 10 in over the soil"),
        ((-2000.0, -0.4, 500.0), Unit.M, "2 m behind the rear axle, on the centre line, 0.5 m"),
    ],
)
def test_a_centre_of_gravity_in_words(
    centre: tuple[float, float, float], unit: Unit, told: str
) -> None:
    assert told in balance_point(np.array(centre), unit)
