"""Whatever is written into a scene: it is built, or refused in words; never a traceback."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.clearance.kinematics import compiled
from rigmodel.clearance.scope import AT_WORK
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
TREES = [yaml.safe_load(path.read_text()) for path in sorted(SCENES.glob("*.yaml"))]
VALUES: tuple[object, ...] = (
    *(0, -1, 0.5, 3, 24, 1e6, -1e6, 1e-9, 1e300, float("inf"), True, None),
    *("abc", "2 1/2 in", "-3 in", "7' 3\"", "380 mm", "0 in", "12 kg", "gaps", "outside"),
    *([], {}, [1, 2], [0, 0], [5, -5]),
)
Way = tuple[str | int, ...]


def ways(tree: object, above: Way = ()) -> Iterator[Way]:
    """Ways to every value of a tree."""
    keys = (
        tree.items()
        if isinstance(tree, dict)
        else enumerate(tree)
        if isinstance(tree, list)
        else ()
    )
    for key, value in keys:
        yield (*above, key)
        yield from ways(value, (*above, key))


def built(text: str) -> bool:
    """Whether a scene is built; if not, it is refused in words."""
    try:
        assembly = assemble(scene_from_text(text, "scene.yaml", SCENES))
    except InputError:
        return False
    compiled(assembly.mechanism, AT_WORK)
    return True


@st.composite
def changed(draw: st.DrawFn) -> str:
    """A demo scene in which a value or two is another, is gone, or comes from another scene."""
    tree = copy.deepcopy(draw(st.sampled_from(TREES)))
    for _ in range(draw(st.integers(1, 2))):
        way = draw(st.sampled_from(list(ways(tree))))
        above = tree
        for key in way[:-1]:
            above = above[key]
        old, last = above[way[-1]], way[-1]
        match draw(st.sampled_from(("scaled", "other", "gone", "moved"))):
            case "scaled" if isinstance(old, int | float):
                above[last] = round(old * draw(st.sampled_from((-1, 0.1, 0.5, 0.9, 1.1, 2, 3))), 3)
            case "gone":
                del above[last]
            case "moved":
                places = [(t, w) for t in TREES for w in ways(t) if w[-1] == last]
                other, there = draw(st.sampled_from(places))
                for key in there:
                    other = other[key]
                above[last] = copy.deepcopy(other)
            case _:
                above[last] = draw(st.sampled_from(VALUES))
    return yaml.safe_dump(tree, allow_unicode=True, sort_keys=False)


@settings(
    max_examples=150, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(changed())
def test_a_changed_scene_is_built_or_refused(text: str) -> None:
    built(text)


PLACES = ("rows", "gaps", "outside", "tracks")
UNITS = ("finger-pair", "blade-spring", "blade-rigid", "point-rigid")
TWO = """
name: Two tools at one place
units: in
rows: {{count: 3, spacing: 15, keep_out: 2}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: 100, height: 20}}
stations:
  - {{use: {one}, at: {place}, depth: 1, pair_gap: 1{name}}}
  - {{use: {other}, at: {place}, depth: 1, pair_gap: 1, rank: [-20, -28]}}
"""


@pytest.mark.parametrize(("one", "other", "place"), list(product(UNITS, UNITS, PLACES)))
def test_two_tools_at_one_place_want_names(one: str, other: str, place: str) -> None:
    def text(name: str) -> str:
        written = TWO.format(one=one, other=other, place=place, name=name)
        lines = (
            line.replace(", pair_gap: 1", "") if "finger-pair" not in line else line
            for line in written.splitlines()
        )
        return "\n".join(lines)

    assert built(text(", name: front"))
    built(text(""))
