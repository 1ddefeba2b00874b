"""Pictures of parts: one of everything in the catalogue, whole, and of the part as it is."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from rigmodel.catalog.store import builtin_catalogue
from rigmodel.page.pictures import part_picture, unit_picture

CATALOGUE = builtin_catalogue()


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a picture, all of whose points lie inside it."""
    root = ET.fromstring(svg)
    _, _, wide, tall = map(float, root.attrib["viewBox"].split())
    paths = [e.attrib["d"] for e in root if e.tag.endswith("path")]
    assert paths
    for path in paths:
        numbers = [float(v) for v in re.findall(r"-?\d+\.\d+", path)]
        assert all(-0.1 <= x <= wide + 0.1 for x in numbers[::2])
        assert all(-0.1 <= y <= tall + 0.1 for y in numbers[1::2])
    return wide, tall


@pytest.mark.parametrize("item", CATALOGUE.parts)
def test_every_part_has_a_picture(item: str) -> None:
    assert max(size_of(part_picture(CATALOGUE, item))) == pytest.approx(100.0, abs=0.1)


@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_every_sub_assembly_has_a_picture(name: str) -> None:
    unit = CATALOGUE.assemblies[name]
    bar = CATALOGUE.parts[unit.mount].fits  # type: ignore[union-attr]
    assert max(size_of(unit_picture(CATALOGUE, unit, bar))) == pytest.approx(100.0, abs=0.1)


def test_a_part_of_one_s_own_under_a_known_name_is_drawn_as_it_is() -> None:
    wide = CATALOGUE.parts["blade-4"].model_copy(update={"width": 400.0})
    own = CATALOGUE.extended(parts={"blade-4": wide}, tyres={})
    assert part_picture(own, "blade-4") != part_picture(CATALOGUE, "blade-4")
    assert part_picture(CATALOGUE, "blade-4") == part_picture(CATALOGUE, "blade-4")
    with pytest.raises(KeyError):
        part_picture(CATALOGUE, "no-such-part")
