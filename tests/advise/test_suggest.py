"""`suggest` from end to end: what it proposes passes `check`, and what it refuses is explained."""

from __future__ import annotations

import argparse
import json
import math
from functools import cache
from pathlib import Path

import pytest

from rigmodel.advise.suggest.answer import Answer, suggest, unbeaten
from rigmodel.advise.suggest.as_json import answer_json
from rigmodel.advise.suggest.command import add_arguments, answered
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.reading import load_field
from rigmodel.advise.suggest.request import read_overlap, read_parts_at_hand, request_for
from rigmodel.advise.suggest.scene_text import scene_text, write_rig
from rigmodel.advise.suggest.stagger import Staggers
from rigmodel.advise.suggest.text import answer_text
from rigmodel.advise.suggest.units import wheel_units
from rigmodel.advise.suggest.variants import Measures
from rigmodel.assembly.build import assemble
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.clearance.checks.wheel_clash import flat_stagger_mm
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.errors import InputError, RigmodelError
from rigmodel.files import FileError
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parent.parent.parent / "scenes"
DEMO = SCENES / "three-rows-belly.yaml"
INCH = 25.4
NARROW = """\
name: Rows too near for wheels
units: in
rows: {count: 2, spacing: 10, keep_out: 2 1/2}
tractor: {use: small-belly}
toolbar: {tube: tube-2x1-4, length: 72, height: 20}
"""


@cache
def answer_for(name: str, best: int = 1) -> Answer:
    return suggest(request_for(load_field(SCENES / f"{name}.yaml")[0]), best=best)


@pytest.mark.parametrize(
    "name",
    ["three-rows-belly", "rear-hitch-inches", "raised-bed-furrow", "two-wide-rows-paths-rear"],
)
def test_a_suggested_rig_passes_every_check_when_its_file_is_read(name: str) -> None:
    answer = answer_for(name)
    assert answer.rigs
    text = load_field(SCENES / f"{name}.yaml")[1]
    scene = scene_from_text(scene_text(text, name, answer.rigs[0]), "written", SCENES)
    findings = run(assemble(scene), Memo())
    assert not [f.message for f in findings if f.verdict is Verdict.FAIL]
    said = sorted((f.check, f.verdict.value) for f in answer.rigs[0].findings)
    assert sorted((f.check, f.verdict.value) for f in findings) == said


def test_the_demo_is_found_again_from_its_rows_alone() -> None:
    # The demo scene's own answer: 8 in wheels, the middle row 8 in back, blades of 10 in between.
    rig = answer_for("three-rows-belly").rigs[0]
    wheels, gaps, outside = rig.stations
    assert wheels.rank == pytest.approx((0.0, -8 * INCH))
    assert wheels.pair_gap == pytest.approx(1.5 * INCH)
    assert (gaps.at, outside.at) == ("gaps", "outside")
    assert rig.scores[Objective.MISSED] == 0.0
    assert rig.scores[Objective.RANKS] == 2.0


def test_a_scene_without_stations_gives_the_same_rig(tmp_path: Path) -> None:
    text = DEMO.read_text()
    path = tmp_path / "field.yaml"
    path.write_text(text[: text.index("stations:")])
    scene, _, had = load_field(path)
    assert not had
    found = suggest(request_for(scene)).rigs[0]
    assert found.stations == answer_for("three-rows-belly").rigs[0].stations


def test_a_bar_of_another_size_needs_no_stations_either(tmp_path: Path) -> None:
    path = tmp_path / "field.yaml"
    path.write_text(NARROW.replace("tube-2x1-4", "tube-50x5"))
    scene, _, had = load_field(path)
    assert scene.tube.size == 50.0
    assert not had


def test_the_best_come_first_and_differ() -> None:
    answer = answer_for("three-rows-belly", 3)
    scores = [rig.scores[Objective.PARTS] for rig in answer.rigs]
    assert len(scores) == 3
    assert scores == sorted(scores)
    forms = {tuple(option.form for option in rig.options) for rig in answer.rigs}
    assert len(forms) == 3


def test_no_rig_of_the_pareto_set_is_beaten() -> None:
    answer = answer_for("three-rows-belly", 3)
    kept = unbeaten(answer.rigs)
    assert kept
    for one in answer.rigs:
        beaten = any(
            all(other.scores[o] <= one.scores[o] for o in Objective)
            and any(other.scores[o] < one.scores[o] for o in Objective)
            for other in answer.rigs
        )
        assert not (beaten and one in kept)


def test_only_the_parts_at_hand_are_used_where_nothing_may_be_bought() -> None:
    rig = answer_for("three-rows-belly").rigs[0]
    stock: dict[str, int] = {}
    for option in rig.options:
        for part, count in option.parts.items():
            stock[part] = stock.get(part, 0) + count
    scene = load_scene(DEMO)
    found = suggest(request_for(scene, stock, may_buy=False)).rigs
    assert found
    assert not found[0].bought
    fewer = {**stock, "finger-wheel-8": 5}
    bought = suggest(request_for(scene, fewer), Objective.BOUGHT).rigs[0]
    assert bought.bought == {"finger-wheel-8": 1}


def test_the_3d_check_agrees_with_the_flat_stagger_of_level_wheels() -> None:
    # flat_stagger_mm is held against its published table in tests/published. A rank goes in whole
    # inches, and a wheel is no larger than its flat disc, so the next whole inch must do.
    request = request_for(load_scene(DEMO))
    staggers = Staggers(request, Measures())
    unit = next(u for u in wheel_units(request, every_part=False) if u.tool == "finger-wheel-8")
    wheel = request.catalogue.parts[unit.tool]
    assert isinstance(wheel, FingerWheel)
    limit = request.scene.spec.limits.wheel_clearance
    flat = flat_stagger_mm(wheel.diameter, 15 * INCH, 1.5 * INCH, limit)
    least = staggers.least(unit)
    assert flat <= least <= flat + 2 * INCH
    assert not staggers.clears(unit, 0.0)
    assert not staggers.clears(unit, flat - INCH)


@pytest.mark.parametrize("spacing", ["10", "12", "14 1/2"])
def test_a_stagger_is_given_up_only_where_none_would_clear(tmp_path: Path, spacing: str) -> None:
    path = tmp_path / "narrow.yaml"
    path.write_text(NARROW.replace("spacing: 10", f"spacing: {spacing}"))
    request = request_for(load_field(path)[0])
    staggers = Staggers(request, Measures())
    units = {unit.tool: unit for unit in wheel_units(request, every_part=True)}
    for unit in units.values():  # one of each size of wheel, with the last arm and stem
        every = (k * INCH for k in range(1, 25))
        hint = staggers.hint(unit)
        least = staggers.least(unit)
        if math.isinf(least):
            tried = [s for s in every if math.isinf(hint) or s >= hint - INCH]
            assert not any(staggers.clears(unit, s) for s in tried[::3])
        else:
            assert staggers.clears(unit, least)


def test_rows_too_near_for_wheels_are_explained(tmp_path: Path) -> None:
    path = tmp_path / "narrow.yaml"
    path.write_text(NARROW)
    answer = suggest(request_for(load_field(path)[0]))
    assert not answer.rigs
    said = answer_text(answer)
    assert "wheels of 12 in: They cannot work on rows 10 in apart at any stagger" in " ".join(
        said.split()
    )
    turns = [turn for found in answer.relaxations for turn in found.turns]
    spacing = next(turn for turn in turns if "rows.spacing" in turn.what)
    wider = NARROW.replace("spacing: 10", f"spacing: {spacing.least}")
    path.write_text(wider)
    assert suggest(request_for(load_field(path)[0])).rigs


def options_for(*words: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("scene", type=Path)
    parser.add_argument("--catalogue", type=Path, action="append", default=[])
    add_arguments(parser)
    return parser.parse_args([str(DEMO), *words])


def test_the_command_writes_a_scene_whole_and_never_over_another(tmp_path: Path) -> None:
    target = tmp_path / "rig.yaml"
    said, note, found = answered(options_for("--json", "--write", str(target)), 100, lambda _: None)
    assert found
    assert "replaced" in note
    assert str(target) in note
    told = json.loads(said)
    assert told["rigs"][0]["verdict"] in ("pass", "advise")
    assert told["units"] == {"length": "mm", "mass": "kg"}
    before = target.read_bytes()
    with pytest.raises(FileError, match="--force"):
        answered(options_for("--write", str(target)), 100, lambda _: None)
    assert target.read_bytes() == before
    assert b"Verdict" not in before  # what the demo's header says of its own stations is gone


def test_a_rig_that_does_not_pass_where_it_is_written_is_not_written(tmp_path: Path) -> None:
    rig = answer_for("three-rows-belly").rigs[0]
    text = DEMO.read_text().replace("spacing: 15", "spacing: 13")
    with pytest.raises(RigmodelError, match="does not pass"):
        write_rig(tmp_path / "rig.yaml", text, "demo", rig)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("blade-100: 3", "did you mean"),
        ("blade-10: many", "whole number"),
        ("blade-10: {count: 3}", "whole number"),
        ("blade-10: -1", "whole number"),
        ("blade-10: 1.5", "whole number"),
    ],
)
def test_a_wrong_stock_list_is_told_by_line(tmp_path: Path, line: str, words: str) -> None:
    path = tmp_path / "stock.yaml"
    path.write_text(f"# mine\n{line}\n")
    with pytest.raises(InputError, match=words) as caught:
        read_parts_at_hand(path, builtin_catalogue())
    assert caught.value.faults[0].line == 2


def test_a_good_stock_list_is_read(tmp_path: Path) -> None:
    path = tmp_path / "stock.yaml"
    path.write_text("blade-10: 3\nclip: 0\n")
    assert read_parts_at_hand(path, builtin_catalogue()) == {"blade-10": 3, "clip": 0}


def test_numbers_out_of_range_are_refused() -> None:
    scene = load_scene(DEMO)
    with pytest.raises(RigmodelError, match="1 to 10"):
        suggest(request_for(scene), best=0)
    with pytest.raises(RigmodelError, match="overlap"):
        request_for(scene, overlap=read_overlap("12 in", scene))
    with pytest.raises(RigmodelError, match="overlap"):
        read_overlap("wide", scene)


def test_the_answer_is_the_same_twice() -> None:
    again = suggest(request_for(load_field(DEMO)[0]))
    assert answer_json(again) == answer_json(answer_for("three-rows-belly"))


def test_steel_over_a_row_is_laid_to_its_tool_and_not_to_every_tool(tmp_path: Path) -> None:
    # 16 in between: one of the first choices stands over a row, which others need not do.
    path = tmp_path / "wide.yaml"
    path.write_text(NARROW.replace("count: 2, spacing: 10", "count: 3, spacing: 16"))
    answer = suggest(request_for(load_field(path)[0]))
    assert not any("whatever the tools" in obstacle.what for obstacle in answer.obstacles)


def test_a_bar_too_long_for_the_tyres_is_told_before_any_tools(tmp_path: Path) -> None:
    path = tmp_path / "long.yaml"
    path.write_text(NARROW.replace("small-belly", "compact-rear"))
    answer = suggest(request_for(load_field(path)[0]))
    assert [obstacle.what for obstacle in answer.obstacles] == ["tyre-fit, whatever the tools"]
    assert (answer.looked, answer.checks) == ((), 0)
    assert "No tools were tried" in answer_text(answer)
    # Rows 10 in apart take no wheels either, so that no single change is enough.
    pairs = [sorted(turn.least for turn in found.turns) for found in answer.relaxations]
    assert ["71 in", "none, hoes only"] in pairs


def text_for(folder: Path, field: str, stock: str, *words: str) -> str:
    """What the command says of a field and a shelf of parts."""
    (folder / "field.yaml").write_text(field)
    (folder / "shelf.yaml").write_text(stock)
    parser = argparse.ArgumentParser()
    parser.add_argument("scene", type=Path)
    parser.add_argument("--catalogue", type=Path, action="append", default=[])
    add_arguments(parser)
    given = [str(folder / "field.yaml"), "--parts", str(folder / "shelf.yaml"), *words]
    said, _, _ = answered(parser.parse_args(given), 200, lambda _: None)
    return said


WIDE = NARROW.replace("spacing: 10", "spacing: 15")


def test_a_shelf_is_used_before_anything_is_bought(tmp_path: Path) -> None:
    # Without a list the rig with the fewest parts has 9 in blades outside.
    said = text_for(tmp_path, WIDE, "blade-10: 5\nfinger-wheel-8: 4\n")
    bought = said[said.index("To buy:") :]
    assert "finger-wheel" not in bought
    assert "blade-" not in bought.splitlines()[0]


def test_wheels_at_hand_that_are_too_large_are_left_on_the_shelf(tmp_path: Path) -> None:
    said = text_for(tmp_path, WIDE, "finger-wheel-14: 4\n")
    assert "8 in finger wheels" in said
    assert "4 × finger-wheel-8" in " ".join(said.split())
    kept = text_for(tmp_path, WIDE, "finger-wheel-14: 4\n", "--no-buying")
    assert "No rig was found" in kept


def test_a_shelf_without_hoes_says_so(tmp_path: Path) -> None:
    said = text_for(tmp_path, WIDE, "blade-10: 0\nfinger-wheel-8: 4\n", "--no-buying")
    assert "no hoe at hand fits" in said
    assert "room for their clamps" not in said
    assert "one step less" not in next(x for x in said.splitlines() if "parts to buy" in x)
