"""Scenes of cases, read section by section: the same as each read by itself."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from rigmodel.advise.study.digests import Digests
from rigmodel.advise.study.load import SceneLoader
from rigmodel.assembly.build import assemble
from rigmodel.assembly.workbench import Workbench
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.resolve import Scene

ROWS = {"count": "3", "spacing": "15", "keep_out": "2"}
TRACTOR = {"use": "small-belly"}
BLADES = {"use": "blade-spring", "at": "gaps", "depth": "1"}
WHEELS = {"use": "finger-pair", "at": "rows", "pair_gap": "1", "depth": "1/2", "rank": ["0", "-8"]}

# Of every section some that go together with all others, some that do not, and some that are wrong.
trees = st.fixed_dictionaries(
    {
        "name": st.just("one of many"),
        "units": st.sampled_from(["in", "in", "in", "cm", "furlong"]),
        "rows": st.sampled_from([ROWS, {**ROWS, "spacing": "18"}, {**ROWS, "keep_out": "9"}, None]),
        "tractor": st.sampled_from(
            [
                TRACTOR,
                {**TRACTOR, "rear": {"track": "60"}},
                {**TRACTOR, "rear": {"track": "59"}},
                {**TRACTOR, "rear": {"tyre": "none-such"}},
                {**TRACTOR, "lift": {"highest": "30"}},
                {**TRACTOR, "lift": {"highest": "1"}},
                {**TRACTOR, "steering_lock": "0"},
                {"use": "none-such"},
                "small-belly",
            ]
        ),
        "toolbar": st.sampled_from(
            [
                {"tube": "tube-2x1-4", "length": "80", "height": "20"},
                {"tube": "tube-2x1-4", "length": "200 cm", "height": "50 cm", "hole_pitch": "1"},
                {"tube": "tube-3x1-4", "length": "80", "height": "20"},
                {"tube": "tube-2x1-4", "length": "long", "height": "20"},
            ]
        ),
        "stations": st.sampled_from(
            [
                [BLADES],
                [WHEELS, BLADES],
                [WHEELS, {**BLADES, "at": "tracks"}],
                [BLADES, BLADES],
                [{**BLADES, "swap": {"blade": "none-such"}}],
                [{**BLADES, "depht": "1"}],
                [],
            ]
        ),
    },
    optional={
        "limits": st.sampled_from([{"shank_end": "2"}, {"shank_end": "3"}, {"shank_end": "x"}]),
        "tolerances": st.sampled_from([{"setting": "1/8"}, {"hole_play": "1/16"}]),
        "parts": st.sampled_from(
            [
                {"blade-6": {"kind": "square-tube", "size": "2", "wall": "1/4"}},
                {"mine": {"kind": "square-tube", "size": "2", "wall": "1/4"}},
            ]
        ),
    },
)


def outcome(read: Callable[..., Scene], *given: Any) -> Scene | list[tuple[str, str, str, str]]:
    """The scene, or what is wrong with it, but for the line that each stands in."""
    try:
        return read(*given)
    except InputError as error:
        return sorted((f.path, f.message, f.expected, f.hint) for f in error.faults)


@given(st.lists(trees, min_size=4, max_size=12))
@settings(max_examples=60, deadline=None, phases=[Phase.explicit, Phase.generate])
def test_scenes_read_in_sections_are_those_read_whole(many: list[dict[str, Any]]) -> None:
    loader, workbench = SceneLoader(()), Workbench()
    kept, fresh = Digests(), Digests()
    for tree in many:
        found = outcome(loader.scene, tree, "scene.yaml")
        whole = outcome(scene_from_text, json.dumps(tree), "scene.yaml")
        if not isinstance(whole, Scene) or not isinstance(found, Scene):
            assert found == whole
            continue
        assert found.spec == whole.spec
        assert found.spec.model_fields_set == whole.spec.model_fields_set
        one, other = assemble(found, workbench), assemble(whole)
        assert kept.rest(tree, one) == fresh.rest(tree, other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("15", 15), ("15", "15 in"), ("15.0", "15"), (["0", "-8"], ["0", "-6"]), (None, "0")],
)
def test_sections_that_read_otherwise_are_not_taken_for_each_other(one: Any, other: Any) -> None:
    loader = SceneLoader(())
    tree: dict[str, Any] = {
        "name": "two",
        "units": "cm",
        "rows": {**ROWS, "spacing": "40"},
        "tractor": TRACTOR,
        "toolbar": {"tube": "tube-2x1-4", "length": "80 in", "height": "20 in"},
    }
    for rank in (one, other):
        tree["stations"] = [{**BLADES, "depth": "2.5", "rank": rank}]
        text = json.dumps(tree)
        try:
            expected = scene_from_text(text).spec.stations
        except InputError:
            with pytest.raises(InputError):
                loader.scene(tree, "")
        else:
            assert loader.scene(tree, "").spec.stations == expected
