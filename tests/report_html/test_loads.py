"""Weights and forces in the report: every number, what is not known, and where each comes from."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.loads import words
from rigmodel.loads.account import account
from rigmodel.loads.constants import ENGINEER, GRAVITY
from rigmodel.loads.pull_words import pull_lines
from rigmodel.loads.trace import trace
from rigmodel.report.html.plot import Axis, plot

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
    drawing = next(
        s for s in one.page.of_class("loads") if "bar" in s.attributes["aria-label"][:16]
    )
    told = drawing.attributes["aria-label"]
    sag = words.deflection(float(abs(found.along.moved_mm[0]).max()), one.assembly.scene.unit)
    assert f"sag downwards at most {sag}" in told
    most = words.moment(float(abs(found.along.moment_nm[1]).max()), one.assembly.scene.unit)
    assert f"bending level at most {most}" in told


SCENES = ["thin-bar-sags", "three-rows-belly", "two-wide-rows-paths-rear", "weights-and-forces"]


@pytest.mark.parametrize("name", SCENES)
def test_the_side_view_tells_every_force_it_draws(rig: Callable[[str], Rig], name: str) -> None:
    one = rig(name)
    found, unit = account(one.assembly), one.assembly.scene.unit
    (drawing,) = one.page.of_class("sideways")
    told = drawing.attributes["aria-label"]
    assert f"weight {words.force(found.rig_kg * GRAVITY, unit)}" in told
    assert (f"draft {words.force(found.pull.high_n, unit)}" in told) if found.pull else (
        "draft" not in told
    )  # fmt: skip
    if found.hangers:
        up = words.force(sum(h.up_n for h in found.hangers), unit)
        assert f"up {up}" in drawing.text
    pivoting = one.assembly.scene.tractor.lift.kind != "parallel"
    assert ("lift's pivot" in drawing.text) == pivoting


@pytest.mark.parametrize("name", SCENES)
def test_every_drawing_has_a_name_and_stays_on_its_paper(
    rig: Callable[[str], Rig], name: str
) -> None:
    for drawing in rig(name).page.of_class("loads"):
        assert drawing.attributes["role"] == "img"
        assert len(drawing.attributes["aria-label"]) > 20
        _, _, wide, high = map(float, drawing.attributes["viewbox"].split())
        assert 100.0 < wide <= 1000.0
        assert 100.0 < high < 1100.0


def test_curves_of_lift_and_springs_are_there_where_they_are_known(
    rig: Callable[[str], Rig],
) -> None:
    for name in SCENES:
        one = rig(name)
        found = account(one.assembly)
        names = [e.attributes["aria-label"] for e in one.page.of_class("plot")]
        lifts = [n for n in names if "over the height of the bar" in n]
        turning = one.assembly.scene.tractor.lift.kind != "parallel"
        assert len(lifts) == (2 if turning else 1)
        springs = [n for n in names if n.startswith("Down-force")]
        assert len(springs) == len(found.spring_curves)


def test_every_part_tool_and_clamp_is_in_a_table(rig: Callable[[str], Rig]) -> None:
    one = rig("weights-and-forces")
    found, unit = account(one.assembly), one.assembly.scene.unit
    section = one.page.by_id("section-loads").text
    for part, body in found.parts.items():
        assert part in section
        assert words.mass(body.mass_kg, unit) in section
    for part, draft in found.drafts.items():
        assert f"{part}{words.force(draft.low_n, unit)}" in section
    for clamp in found.clamps:
        assert words.moment(clamp.holds_nm, unit) in section
    assert found.axles is not None
    assert words.mass(found.axles.front_kg, unit) in section
    lines = pull_lines(found)
    assert "Side draft" in [line.what for line in lines]
    for line in lines:
        assert f"{line.what}{line.value}{line.more}" in section


@pytest.mark.parametrize(
    ("name", "shown"), [("weights-and-forces", True), ("thin-bar-sags", False)]
)
def test_side_draft_is_drawn_where_it_is_stated(
    rig: Callable[[str], Rig], name: str, shown: bool
) -> None:
    section = rig(name).page.by_id("section-loads").text
    assert ("as stated" in section) == shown
    assert ("MPa)–not known" in section or "not given–not known" in section) != shown


@given(
    st.floats(-1e4, 1e4),
    st.floats(0.01, 1e4),
    st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=6),
)
def test_a_plot_shows_all_its_points(low: float, wide: float, ups: list[float]) -> None:
    across = [low + wide * k / (len(ups) - 1) for k in range(len(ups))]
    text = plot("a name", list(zip(across, ups, strict=True)), Axis("x"), Axis("y"))
    (curve,) = re.findall(r'class="curve" d="M([^"]+)"', text)
    places = [tuple(map(float, pair.split())) for pair in curve.split("L")]
    assert len(places) == len(ups)
    assert all(0.0 <= x <= 560.0 and 0.0 <= y <= 250.0 for x, y in places)
    assert text.count('class="tick"') <= 15
