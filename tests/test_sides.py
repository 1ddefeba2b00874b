"""Left and right, ahead and behind are told in one way, whatever the output."""

from __future__ import annotations

import pytest

from rigmodel.sides import CENTRE_MM, ahead, ahead_of, at_side, side, sided, way
from rigmodel.units import Unit


@pytest.mark.parametrize(
    ("mm", "unit", "told"),
    [
        (571.5, Unit.IN, "22 1/2 in left"),
        (-571.5, Unit.IN, "22 1/2 in right"),
        (-40.0, Unit.MM, "40 mm right"),
        (CENTRE_MM, Unit.MM, "0.5 mm left"),
    ],
)
def test_a_place_has_its_length_and_its_side(mm: float, unit: Unit, told: str) -> None:
    assert side(mm, unit) == at_side(mm, unit) == told
    assert side(mm, unit, "the bar's centre") == f"{told} of the bar's centre"
    assert sided(mm, "as long as it is").startswith("as long as it is ")


@pytest.mark.parametrize("mm", [0.0, -0.0, 0.49, -0.49])
def test_the_centre_is_on_neither_side(mm: float) -> None:
    assert side(mm, Unit.IN) == "the centre"
    assert at_side(mm, Unit.IN) == "at the centre"
    assert side(mm, Unit.MM, "the bar's centre") == "the bar's centre"


def test_words_go_with_the_axes_of_iso_8855() -> None:
    assert (way(1.0), way(-1.0)) == ("left", "right")
    assert (ahead(1.0), ahead(-1.0)) == ("ahead", "behind")
    assert (ahead_of(1.0), ahead_of(-1.0)) == ("ahead of", "behind")
