"""Weights and forces in the report: every number, what is not known, and where each comes from."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from rigmodel.loads import words
from rigmodel.loads.account import account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.trace import trace

if TYPE_CHECKING:
    from tests.report_html.conftest import Rig


@pytest.mark.parametrize("name", ["thin-bar-sags", "three-rows-belly", "two-wide-rows-paths-rear"])
def test_all_of_the_account_is_told(rig: Callable[[str], Rig], name: str) -> None:
    one = rig(name)
    found = account(one.assembly)
    section = one.page.by_id("section-loads").text
    unit = one.assembly.scene.unit
    assert words.mass(found.rig_kg, unit) in section
    assert ENGINEER in section
    for station, body in found.stations.items():
        assert station in section
        assert words.mass(body.mass_kg, unit) in section
    for text in found.unknown:
        assert text in section
    for traced in trace(one.assembly, found):
        for cell in (traced.what, traced.formula, traced.inputs, traced.result, traced.source):
            assert cell in section
    assert (found.pull is not None) == ("Drawbar power" in section)
    assert (found.along is not None) == ("The bar under weight and draft" in section)


def test_the_load_drawing_says_in_words_what_it_shows(rig: Callable[[str], Rig]) -> None:
    one = rig("thin-bar-sags")
    found = account(one.assembly)
    assert found.along is not None
    drawing = next(s for s in one.page.named("svg") if "loads" in s.attributes.get("class", ""))
    told = drawing.attributes["aria-label"]
    sag = one.assembly.scene.say(float(abs(found.along.moved_mm[0]).max()))
    assert f"sag downwards at most {sag}" in told
    most = words.moment(float(abs(found.along.moment_nm[1]).max()), one.assembly.scene.unit)
    assert f"bending level at most {most}" in told
