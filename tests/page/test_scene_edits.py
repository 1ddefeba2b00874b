"""A remedy is written into the scene's text so that it reads back as what was checked."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.clearance.bar_cures import bar_cures
from rigmodel.clearance.finding import Choice
from rigmodel.clearance.trial import changed_scene, chosen
from rigmodel.page.scene_edits import write_changes
from rigmodel.spec.load import scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
BAR = ("thin-bar-sags.yaml", "struts-hold-a-thin-bar.yaml")


@pytest.mark.parametrize("name", BAR)
@pytest.mark.parametrize("units", ["in", "mm"])
def test_every_cure_of_a_bar_reads_back_as_it_was_tried(name: str, units: str) -> None:
    text = (SCENES / name).read_text()
    if units == "mm":  # only what is added is in mm then: all else has its unit
        text = "\n".join(_with_inches(line) for line in text.splitlines()) + "\n"
    scene = scene_from_text(text)
    cures = [cure for cure in bar_cures(assemble(scene)) if isinstance(cure, Choice)]
    assert {cure.path[1] for cure in cures} >= {"tube", "struts", "hangers"}
    for cure in cures:
        for value in cure.values[:2]:
            changes = chosen(cure, value)
            tried, read = (
                changed_scene(scene, changes),
                scene_from_text(write_changes(text, changes)),
            )
            assert tried is not None
            one, two = assemble(tried), assemble(read)
            assert [p.foot_mm for p in two.struts] == [
                pytest.approx(p.foot_mm, abs=1e-5) for p in one.struts
            ]
            assert read.spec.toolbar.hangers == pytest.approx(tried.spec.toolbar.hangers, abs=1e-5)
            assert read.spec.toolbar.tube == tried.spec.toolbar.tube
            assert [p.item for p in two.rig_parts()] == [p.item for p in one.rig_parts()]


def _with_inches(line: str) -> str:
    """Every bare number of a demo scene with its unit, and the scene in mm."""
    words = line.split("#", maxsplit=1)[0]
    if words.startswith("units:"):
        return "units: mm"
    for name in ("spacing", "keep_out", "track", "length", "height", "ahead", "pair_gap", "depth",
                 "shift", "overhang", "missed", "at", "top"):  # fmt: skip
        words = _unit(words, f"{name}: ")
    return words.replace("[16 3/8, -16 3/8]", "[16 3/8 in, -16 3/8 in]").replace("[60]", "[60 in]")


def _unit(line: str, key: str) -> str:
    before, found, rest = line.partition(key)
    if not found or not (rest[:1].isdigit() or rest[:1] == "-"):
        return line
    number = rest.split(",")[0].split("}")[0].split("]")[0].rstrip()
    return f"{before}{key}{number} in{_unit(rest[len(number) :], key)}"
