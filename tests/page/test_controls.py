"""What the controls of the page are called."""

from __future__ import annotations

from collections import Counter

import pytest

from rigmodel.page.controls import station_controls
from rigmodel.spec.load import scene_from_text
from tests.page.scenes import SCENES, scene_text


@pytest.mark.parametrize("name", ["weights-and-forces", "three-rows-belly"])
def test_no_two_controls_of_a_station_are_called_alike(name: str) -> None:
    text = scene_text(name)
    scene = scene_from_text(text, name, SCENES)
    for index in range(len(scene.spec.stations)):
        titles = Counter(one.title.rstrip("s") for one in station_controls(scene, text, index))
        assert titles.most_common(1)[0][1] == 1


def test_forces_have_their_unit() -> None:
    text = scene_text("weights-and-forces")
    scene = scene_from_text(text, "weights", SCENES)
    units = {one.title: one.unit for one in station_controls(scene, text, 0)}
    assert [units[title] for title in ("Draft", "Side draft", "Press")] == ["N"] * 3
