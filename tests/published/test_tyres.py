"""Tyre sizes against published figures."""

from __future__ import annotations

import pytest

from rigmodel.catalog.store import builtin_catalogue
from rigmodel.catalog.tyre_size import metric_size

IN = 25.4
CATALOGUE = builtin_catalogue()

# Diameters by D = d + 2 H (UN Regulation 106, paragraph 6.1.2, from memory), worked by hand.
METRIC = [
    ("280/70R16", 280.0, 798.4),
    ("240/70R16", 240.0, 742.4),
    ("320/70R24", 320.0, 1057.6),
    ("380/70R24", 380.0, 1141.6),
]


@pytest.mark.parametrize(("designation", "width", "diameter"), METRIC)
def test_metric_designations(designation: str, width: float, diameter: float) -> None:
    size = metric_size(designation)
    assert size is not None
    assert size.width_mm == width
    assert size.diameter_mm == pytest.approx(diameter, abs=1e-9)
    assert size == CATALOGUE.tyre_size(designation)


def test_sidewall_of_a_380_70r24() -> None:
    """266 mm: otrusa.com/ag-tires-basic-tractor-tires-size/."""
    size = metric_size("380/70R24")
    assert size is not None
    assert (size.diameter_mm - 24 * IN) / 2.0 == pytest.approx(266.0)


def test_a_280_70r16_is_798_mm_in_tables() -> None:
    """798 mm: tyre tables, from memory."""
    size = metric_size("280/70R16")
    assert size is not None
    assert round(size.diameter_mm) == 798


@pytest.mark.parametrize("text", ["280/70R16", " 280/70r16 ", "280/70 R 16", "280/70-16"])
def test_forms_of_one_designation(text: str) -> None:
    assert metric_size(text) == metric_size("280/70R16")


@pytest.mark.parametrize(
    "text", ["", "9.5-24", "280/70", "280R16", "R16", "280/70R", "/70R16", "280/70R16 x", "tall"]
)
def test_other_texts_are_no_metric_designation(text: str) -> None:
    assert metric_size(text) is None


# Overall diameters in inches as published, with how far the built-in row may be from them.
PUBLISHED = [
    ("11.2-24", 43.4, 0.0, "product data quoted at tractorfriends.org"),
    ("14.9R28", 53.8, 0.0, "dnv-containers.com agricultural page"),
    ("14.9R30", 55.8, 0.0, "dnv-containers.com agricultural page"),
    ("16.9R28", 56.5, 0.0, "dnv-containers.com agricultural page"),
    ("18.4R26", 57.1, 0.0, "dnv-containers.com agricultural page"),
    # The chart rounds to whole inches.
    ("6.00-16", 28.0, 0.5, "tractorloancalculator.com chart"),
    ("7.50-16", 31.0, 0.5, "tractorloancalculator.com chart"),
    ("9.5-24", 41.0, 0.5, "tractorloancalculator.com chart"),
    ("11.2-24", 43.0, 0.5, "tractorloancalculator.com chart"),
    # Ranges and single values recalled from tyre data books.
    ("9.5-24", 41.55, 0.25, "from memory"),
    ("8.3-24", 39.5, 0.0, "from memory"),
    ("12.4-24", 45.7, 0.0, "from memory"),
    ("8-16", 29.7, 0.0, "from memory"),
    ("7-14", 26.5, 0.0, "from memory"),
    ("4.00-19", 27.0, 0.0, "from memory"),
    ("5.00-15", 25.45, 0.15, "from memory"),
]


@pytest.mark.parametrize(("designation", "diameter", "within", "source"), PUBLISHED)
def test_rows_agree_with_what_is_published(
    designation: str, diameter: float, within: float, source: str
) -> None:
    tyre = CATALOGUE.tyres[designation]
    assert abs(tyre.diameter / IN - diameter) <= within + 1e-9
    if within == 0.0:
        assert tyre.source.startswith(source)


def test_a_full_height_cross_ply() -> None:
    """Twice the section and the rim: 3.00-4 is 10 in (paperzz.com/doc/9151991/technical-guide)."""
    tyre = CATALOGUE.tyres["3.00-4"]
    assert tyre.diameter == pytest.approx((2 * 3.00 + 4) * IN)
    assert "paperzz.com/doc/9151991/technical-guide" in tyre.source


@pytest.mark.parametrize("designation", CATALOGUE.tyres)
def test_a_rows_width_is_the_first_number_of_its_designation(designation: str) -> None:
    tyre = CATALOGUE.tyres[designation]
    number = designation.partition("R" if "R" in designation else "-")
    assert tyre.width == pytest.approx(float(number[0]) * IN)
    assert tyre.diameter > float(number[2]) * IN
    assert tyre.source
