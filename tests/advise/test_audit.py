"""A built rig against its plan: every deviation with what it costs, and the rig as built."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from rigmodel.advise.as_built import built_as
from rigmodel.advise.audit import audit, audit_form, audit_json, audit_text
from rigmodel.advise.measured import SHOWS, Measured, planned_values, read_measured
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.runner import run
from rigmodel.errors import InputError
from rigmodel.shop.marks import marks
from rigmodel.spec.load import scene_from_text
from rigmodel.units import Unit

INCH = 25.4


@pytest.fixture(scope="module")
def plan() -> Assembly:
    """One row with a pair of finger wheels and a blade on each side."""
    return assemble(
        scene_from_text(
            "{name: a rig, units: in, rows: {count: 1, keep_out: 2 1/2}, "
            "tractor: {use: small-belly}, toolbar: {tube: tube-2x1-4, length: 72, height: 20}, "
            "stations: [{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}, "
            "{use: blade-spring, at: outside, depth: 1}]}"
        )
    )


@pytest.fixture
def read(plan: Assembly, tmp_path: Path) -> Callable[[str, str], tuple[Measured, ...]]:
    def reading(text: str, name: str = "measured.csv") -> tuple[Measured, ...]:
        path = tmp_path / name
        path.write_text(text)
        return read_measured(path, plan)

    return reading


def mark(plan: Assembly, station: str, by_in: float) -> Measured:
    return Measured(station, planned_values(plan)[station] + by_in * INCH, "mark")


def shows(plan: Assembly, station: str, by_in: float) -> Measured:
    name = station + SHOWS
    return Measured(name, planned_values(plan)[name] + by_in * INCH, "shows")


def as_planned(plan: Assembly) -> tuple[Measured, ...]:
    kinds = {".shows": "shows", "toolbar.": "spec", "tractor.": "spec"}
    found = []
    for name, value in planned_values(plan).items():
        kind = next((k for part, k in kinds.items() if part in name), "mark")
        unit = "deg" if name in ("toolbar.roll", "toolbar.pitch") else "mm"
        found.append(Measured(name, value, kind, unit))
    return tuple(found)


def test_a_rig_built_as_planned_is_the_plan(plan: Assembly) -> None:
    built, refused = built_as(plan, as_planned(plan))
    assert not refused
    assert np.allclose(built.work_frames, plan.work_frames, atol=1e-6)
    assert [f.message for f in run(built)] == [f.message for f in run(plan)]


def test_a_clamp_too_far_left_moves_its_tool_as_far(plan: Assembly) -> None:
    built, refused = built_as(plan, (mark(plan, "row1.left", 0.25),))
    assert not refused
    for tool, was in zip(built.tools, plan.tools, strict=True):
        moved = 0.25 * INCH if tool.station == "row1.left" else 0.0
        assert tool.centre_mm - was.centre_mm == pytest.approx(moved, abs=1e-6)


def test_a_shank_set_lower_runs_deeper_than_asked(plan: Assembly) -> None:
    """1/2 in less above the holder is 1/2 in more in the soil, and is told as that."""
    measured = shows(plan, "outside.left", -0.5)
    built, refused = built_as(plan, (measured,))
    assert not refused
    name = "outside.left.blade"
    low = built.at_work(built.mechanism.part(name)).bounds()[0, 2]
    was = plan.at_work(plan.mechanism.part(name)).bounds()[0, 2]
    assert low - was == pytest.approx(-0.5 * INCH, abs=1e-6)
    assert next(t for t in built.tools if t.part == name).depth_mm == pytest.approx(INCH)
    found = audit(plan, (measured,))
    (effect,) = [e for e in found.deviations[0].effects if e.check == "ground-contact"]
    assert effect.lost == pytest.approx(0.5 * INCH, abs=0.01)
    assert effect.verdict is Verdict.FAIL
    assert found.findings.verdict is Verdict.FAIL


def test_a_higher_bar_lifts_the_blades_and_lowers_the_arms(plan: Assembly) -> None:
    """Shanks stay where they were set, while a wheel on an arm still rides at its depth."""
    value = planned_values(plan)["toolbar.height"] + INCH / 8.0
    built, refused = built_as(plan, (Measured("toolbar.height", value, "spec"),))
    assert not refused

    def low(assembly: Assembly, name: str) -> float:
        return float(assembly.at_work(assembly.mechanism.part(name)).bounds()[0, 2])

    blade, wheel = "outside.left.blade", "row1.left.finger_wheel"
    assert low(built, blade) - low(plan, blade) == pytest.approx(INCH / 8.0, abs=1e-6)
    assert low(built, wheel) == pytest.approx(low(plan, wheel), abs=0.2)
    arm = next(t.arm for t in built.tools if t.part == wheel)
    assert built.mechanism.joints[arm].value < plan.mechanism.joints[arm].value


def test_each_deviation_is_told_with_its_own_consequence(plan: Assembly) -> None:
    measured = (mark(plan, "row1.left", 0.25), mark(plan, "outside.right", 0.01))
    found = audit(plan, measured)
    one, small = found.deviations
    assert one.counts
    assert not small.counts
    assert not small.effects
    # Moving one wheel of a pair by 1/4 in changes the pair's gap by 1/4 in.
    (gap,) = [e for e in one.effects if e.check == "pair-gap"]
    assert gap.lost == pytest.approx(0.25 * INCH, abs=1e-6)
    told = audit_text(found, Unit.IN)
    assert "row1.left: 1/4 in too far left" in told
    assert "pair-gap" in told
    assert "Not measured, taken as planned: " in told


def test_a_failing_rig_is_cured_by_going_back_to_the_sheet(plan: Assembly) -> None:
    assert Verdict.FAIL not in {f.verdict for f in run(plan)}
    found = audit(plan, (shows(plan, "outside.left", -0.5),))
    failing = [f for f in found.findings.findings if f.verdict is Verdict.FAIL]
    assert failing
    for finding in failing:
        assert finding.remedy is not None
        assert "outside.left.shows" in finding.remedy.says


def test_only_what_brings_a_check_back_is_set_back(plan: Assembly) -> None:
    """A wheel 1/4 in off spoils its pair's gap, a shank 1/2 in low its depth: each its own cure."""
    measured = (mark(plan, "row1.left", 0.25), shows(plan, "outside.left", -0.5))
    found = audit(plan, measured)
    cures = {
        f.check: f.remedy.says
        for f in found.findings.findings
        if f.verdict is Verdict.FAIL and f.remedy is not None
    }
    assert cures["pair-gap"] == "Set back to the setup sheet: row1.left"
    assert cures["ground-contact"] == "Set back to the setup sheet: outside.left.shows"


def test_where_one_alone_does_not_bring_it_back_the_fewest_do(plan: Assembly) -> None:
    """Both wheels of a pair 1/2 in off to the same row's side: 1 in; either alone leaves 1/2 in."""
    measured = (mark(plan, "row1.left", 0.5), mark(plan, "row1.right", -0.5))
    found = audit(plan, measured)
    (gap,) = [f for f in found.findings.findings if f.check == "pair-gap"]
    assert gap.remedy is not None
    assert gap.remedy.says == "Set back to the setup sheet: row1.left, row1.right"


def test_text_says_room_as_kept_or_beyond(plan: Assembly) -> None:
    told = " ".join(audit_text(audit(plan, (mark(plan, "row1.left", 0.5),)), Unit.IN).split())
    assert "of room and is 3/8 in beyond its limit: fail" in told  # 1/2 less the 1/8 of a tape
    assert " in left: " not in told


def test_the_rig_is_checked_with_all_deviations_at_once(plan: Assembly) -> None:
    """Two wheels of a pair 1/8 in apart each pass alone; together the gap is 1/4 in off."""
    measured = (mark(plan, "row1.left", 0.12), mark(plan, "row1.right", -0.12))
    found = audit(plan, measured)
    alone = [e.verdict for d in found.deviations for e in d.effects if e.check == "pair-gap"]
    assert Verdict.FAIL not in alone
    together = [f.verdict for f in found.findings.findings if f.check == "pair-gap"]
    assert Verdict.FAIL in together


@pytest.mark.parametrize(
    "measured",
    [
        Measured("outside.left.shows", 2000.0, "shows"),
        Measured("outside.left.shows", -900.0, "shows"),
    ],
)
def test_what_cannot_be_applied_is_said(plan: Assembly, measured: Measured) -> None:
    found = audit(plan, (measured,))
    (refusal,) = found.not_applied
    assert refusal.name == measured.name
    assert f"Could not be applied: {measured.name}" in audit_text(found, Unit.IN)


def test_a_clamp_between_the_holes_of_a_bar_cannot_be_applied() -> None:
    plan = assemble(
        scene_from_text(
            "{name: holes, units: in, rows: {count: 1, keep_out: 2 1/2}, "
            "tractor: {use: small-belly}, "
            "toolbar: {tube: tube-2x1-4, hole_pitch: 2, length: 72, height: 20}, "
            "stations: [{use: blade-rigid, at: [0], depth: 1}]}"
        )
    )
    _, refused = built_as(plan, (mark(plan, "place1", 0.5),))
    assert "holes lie 2 in apart" in refused[0].why
    moved, none = built_as(plan, (mark(plan, "place1", 2.0),))
    assert not none
    assert moved.station["place1"].place_mm == pytest.approx(
        plan.station["place1"].place_mm + 2.0 * INCH
    )


def test_marks_are_named_by_station_or_by_the_sheets_number(
    plan: Assembly, read: Callable[..., tuple[Measured, ...]]
) -> None:
    first = marks(plan)[0].station
    (one,) = read(f"name,measured\n{first},12 1/4 left\n")
    (two,) = read("mark,value\n1,12.25\n")
    (three,) = read(f"{first}: -12 1/4\n", "measured.yaml")
    (four,) = read("name;measured\nmark 1;12 1/4 in right\n")
    assert one == two == Measured(first, 12.25 * INCH, "mark")
    assert three == four == Measured(first, -12.25 * INCH, "mark")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name,measured\nrow1.lef,3\n", "did you mean 'row1.left'"),
        ("name,measured\nrow1.left,3\nrow1.left,4\n", "given twice"),
        ("name,measured\nrow1.left,-3 left\n", "both a minus and a side"),
        ("name,measured\nrow1.left,three\n", "measured.csv:2"),
        ("one,two\nrow1.left,3\n", "head of a table"),
        ("name,measured\n0,3\n", "not on this rig"),
        ("name,measured\ntractor.front.tyre,3\n", "not on this rig"),
        ("", "head of a table"),
        ("name,measured\nrow1.left,3\x00\n", "plain text"),
        ("name,measured\nrow1.left,412,5\n", "measured.csv:2: there are more values"),
        ("mark,name,measured\n3,,12\n", "'12' has no name beside it"),
        ("name,measured\n", "nothing is filled in"),
    ],
)
def test_what_does_not_read_is_told_with_its_line(
    read: Callable[..., tuple[Measured, ...]], text: str, says: str
) -> None:
    with pytest.raises(InputError) as caught:
        read(text)
    assert says in str(caught.value)


def test_a_missing_file_is_told(plan: Assembly, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_measured(tmp_path / "none.csv", plan)


def test_the_form_filled_in_as_planned_reads_back_as_the_plan(
    plan: Assembly, read: Callable[..., tuple[Measured, ...]]
) -> None:
    rows = list(csv.DictReader(io.StringIO(audit_form(plan))))
    text = "name,measured\n" + "".join(f"{row['name']},{row['plan']}\n" for row in rows)
    expected = planned_values(plan)
    found = read(text)
    assert {one.name for one in found} == set(expected)
    for one in found:
        assert one.value == pytest.approx(expected[one.name], abs=INCH / 32.0 + 1e-6)
    with pytest.raises(InputError, match="nothing is filled in"):
        read(audit_form(plan))


def test_json_says_the_same(plan: Assembly) -> None:
    found = audit(plan, (mark(plan, "row1.left", 0.25),))
    told = json.loads(audit_json(found))
    assert told["deviations"][0]["by"] == pytest.approx(0.25 * INCH)
    assert told["as_built"]["verdict"] == found.findings.verdict.value
