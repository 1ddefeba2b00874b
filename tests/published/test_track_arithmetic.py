"""Track, tyre and row arithmetic, blade pitch, bar level and the flat-wheel stagger.

The track and row figures are plain arithmetic on wheel tracks of 48 and 60 in, the range given for
small tractors in "Teaching Organic Farming & Gardening", unit 1.2 supplement 4, which also gives
12 in as the widest tyre in bed systems.
"""

from __future__ import annotations

import math

import pytest

from rigmodel.clearance.checks.bar_level import allowed_tilt
from rigmodel.clearance.checks.tyre_fit import between_tyres_mm, over_tyres_mm, row_to_tyre_mm
from rigmodel.clearance.checks.wheel_clash import flat_stagger_mm
from rigmodel.spec.scene import Rows

INCH = 25.4


@pytest.mark.parametrize(
    ("track", "tyre", "row_to_tyre", "between"),
    [(60, 12, 9, 48), (60, 16, 7, 44), (48, 12, 3, 36), (48, 16, 1, 32)],
)
def test_room_beside_three_rows_fifteen_inches_apart(
    track: float, tyre: float, row_to_tyre: float, between: float
) -> None:
    assert between_tyres_mm(track, tyre) == between
    assert row_to_tyre_mm(15, track, tyre) == row_to_tyre
    assert row_to_tyre_mm(-15, track, tyre) == row_to_tyre


def test_width_over_tyres_of_a_sixty_inch_track() -> None:
    assert over_tyres_mm(60, 12) == 72


@pytest.mark.parametrize(
    ("track", "count", "spacing", "gap"),
    [
        (48, 2, 30, 18),
        (48, 3, 15, 18),
        (60, 3, 15, 30),
        (60, 2, 30, 30),
        (60, 4, 10, 30),
        (60, 4, 12, 24),
        (60, 3, 18, 24),
        (60, 2, 24, 36),
        (72, 4, 12, 36),
        (72, 3, 18, 36),
        (80, 2, 30, 50),
    ],
)
def test_gap_to_the_next_beds_row(track: float, count: int, spacing: float, gap: float) -> None:
    # track - (n - 1) s; the row of four 10 in apart on a 60 in track (30 in) is printed in the
    # source named above.
    rows = Rows(count=count, spacing=spacing, keep_out=50)
    places = rows.places
    assert track - (places[0] - places[-1]) == gap
    assert row_to_tyre_mm(places[0], track, 12.0) == gap / 2 - 6


def test_two_rows_stand_half_a_spacing_each_side_of_the_middle() -> None:
    # common practice, no source
    assert Rows(count=2, spacing=24, keep_out=2).places == (12.0, -12.0)


@pytest.mark.parametrize(("diameter", "stagger"), [(8, 5.80), (10, 9.62), (12, 12.30), (14, 14.50)])
def test_stagger_of_flat_wheels_fifteen_inches_apart(diameter: float, stagger: float) -> None:
    # Closed form: sqrt((D + c)^2 - (S - g - D)^2) with S = 15, g = 0.79, c = 0.5 in.
    found = flat_stagger_mm(diameter, 15.0, 0.79, 0.5)
    assert found == pytest.approx(stagger, abs=0.005)


@pytest.mark.parametrize(
    ("spacing", "diameter", "stagger"),
    [
        (10, 10, math.inf),
        (10, 12, math.inf),
        (10, 14, math.inf),
        (12, 8, 7.87),
        (12, 10, 10.43),
        (12, 12, math.inf),
        (12, 14, math.inf),
        (18, 8, 0.0),
        (18, 10, 7.63),
        (18, 12, 11.36),
        (18, 14, 14.14),
        (24, 8, 0.0),
        (24, 10, 0.0),
        (24, 12, 5.53),
        (24, 14, 11.20),
        (30, 8, 0.0),
        (30, 10, 0.0),
        (30, 12, 0.0),
        (30, 14, 0.0),
    ],
)
def test_stagger_of_flat_wheels_on_other_spacings(
    spacing: float, diameter: float, stagger: float
) -> None:
    # The same closed form; in line exactly where 2 D + g + c <= S.
    found = flat_stagger_mm(diameter, spacing, 0.79, 0.5)
    assert found == pytest.approx(stagger, abs=0.005)
    assert (found == 0.0) == (2 * diameter + 0.79 + 0.5 <= spacing)


def test_bar_out_of_level_by_an_inch() -> None:
    # asin(1 / 60): a bar 60 in long whose ends differ by 1 in.
    assert allowed_tilt(1.0, 60.0) == pytest.approx(0.955, abs=0.001)
    assert round(allowed_tilt(0.5, 30.0), 2) == 0.95


@pytest.mark.parametrize(("chord", "drop"), [(4.0, 0.35), (6.0, 0.52)])
def test_pitched_chord_drops(chord: float, drop: float) -> None:
    # chord · sin 5°
    assert chord * math.sin(math.radians(5.0)) == pytest.approx(drop, abs=0.005)
