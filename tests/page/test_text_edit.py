"""Edits touch one value and leave every other character, comment and key where it was."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.page import text_edit
from rigmodel.page.text_edit import (
    EditError,
    add_item,
    copy_item,
    remove_item,
    set_value,
    value_at,
)
from rigmodel.reading.source import parse_source

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))
TEXT = """\
# head
name: "A: rig"   # quoted
units: in

rows:            # the rows
  count: 3       # three
  spacing: 15
  # plants: {stem: 5 mm}
toolbar: {tube: t-1, length: 72}  # flow
stations:
  # first comes
  - use: a       # one
    at: rows
    rank:
      - 0
      - -8 in
  - {use: b, at: gaps, hand: [right, left]}
# tail
"""


def changed_lines(old: str, new: str) -> list[str]:
    return [line for line in difflib.ndiff(old.splitlines(), new.splitlines()) if line[0] in "+-"]


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        (("rows", "count"), "4", ["-   count: 3       # three", "+   count: 4       # three"]),
        (("rows", "offset"), "2 in", ["+   offset: 2 in"]),
        (("rows", "count"), None, ["-   count: 3       # three"]),
        (("name",), 'B "x"', ['- name: "A: rig"   # quoted', '+ name: "B \\"x\\""   # quoted']),
        (("limits", "tight"), "2 mm", ["+ limits: {tight: 2 mm}"]),
    ],
)
def test_one_value_changes_one_line(
    path: tuple[str | int, ...], value: str | None, lines: list[str]
) -> None:
    new = set_value(TEXT, path, value)
    assert list(changed_lines(TEXT, new)) == lines
    assert value_at(new, path) == value


@pytest.mark.parametrize("path", SCENES, ids=lambda p: p.stem)
def test_every_scalar_of_every_scene_can_be_changed_alone(path: Path) -> None:
    text = path.read_text(encoding="utf-8")

    def leaves(node: object, at: tuple[str | int, ...]) -> list[tuple[str | int, ...]]:
        if isinstance(node, dict):
            return [leaf for k, v in node.items() for leaf in leaves(v, (*at, k))]
        if isinstance(node, list):
            return [leaf for i, v in enumerate(node) for leaf in leaves(v, (*at, i))]
        return [at]

    for at in leaves(parse_source(text, "s").root.plain(), ()):
        new = set_value(text, at, "7 in")
        assert value_at(new, at) == "7 in"
        pairs = zip(text.split("\n"), new.split("\n"), strict=True)
        assert sum(old != now for old, now in pairs) == (value_at(text, at) != "7 in")
        assert new.count("#") == text.count("#")


@pytest.mark.parametrize("path", SCENES, ids=lambda p: p.stem)
def test_a_station_copied_and_removed_leaves_the_text_as_it_was(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for index in range(len(value_at(text, ("stations",)))):
        copied = copy_item(text, ("stations",), index)
        assert len(value_at(copied, ("stations",))) == len(value_at(text, ("stations",))) + 1
        assert remove_item(copied, ("stations",), index + 1) == text
    added = add_item(text, ("stations",), {"use": "x", "at": "rows"})
    assert value_at(added, ("stations",))[-1] == {"use": "x", "at": "rows"}
    assert remove_item(added, ("stations",), len(value_at(text, ("stations",)))) == text


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=30))
def test_any_text_is_written_so_that_it_reads_back(word: str) -> None:
    for path in (("name",), ("rows", "note"), ("toolbar", "note"), ("stations", 1, "use")):
        try:
            new = set_value(TEXT, path, word)
        except EditError:  # a character that no scene file may hold
            assert not word.isprintable()
            continue
        assert value_at(new, path) == word
        assert yaml.safe_load(new) is not None


def test_a_block_list_is_replaced_and_its_neighbours_stay() -> None:
    new = set_value(TEXT, ("stations", 0, "rank"), ["0", "-9 in"])
    assert value_at(new, ("stations", 0, "rank")) == ["0", "-9 in"]
    assert "    rank: [0, -9 in]\n  - {use: b" in new


def test_what_cannot_be_changed_alone_is_refused() -> None:
    shared = TEXT.replace("count: 3 ", "count: &n 3 ").replace("length: 72", "length: *n")
    with pytest.raises(EditError, match="&"):
        set_value(shared, ("rows", "count"), "4")
    with pytest.raises(EditError):
        set_value(TEXT, ("stations", 9, "use"), "x")
    with pytest.raises(EditError):
        set_value(TEXT, ("rows", "nothing"), None)
    with pytest.raises(EditError, match="last one"):
        remove_item("stations:\n  - {a: 1}\n", ("stations",), 0)


def test_an_empty_section_goes_with_its_last_key() -> None:
    new = set_value(TEXT, ("limits", "tight"), "2 mm")
    assert set_value(new, ("limits", "tight"), None) == TEXT


READERS = (yaml.SafeLoader, text_edit._LOADER)


def edits(text: str) -> Iterator[str]:
    """Each value changed, something added in its place, and it taken away; empty if refused."""

    def places(node: object, at: tuple[str | int, ...]) -> Iterator[tuple[str | int, ...]]:
        pairs = enumerate(node) if isinstance(node, list) else ()
        for key, inner in node.items() if isinstance(node, dict) else pairs:
            yield (*at, key)
            yield from places(inner, (*at, key))

    for at in places(parse_source(text, "s").root.plain(), ()):
        for path, value in ((at, "7 in"), (at, None), ((*at, "new"), "x"), ((*at, "a", "b"), "x")):
            try:
                yield set_value(text, path, value)
            except EditError:
                yield ""


ODD = {
    "empty values": 'a:\nb: \nc: ~\nd: {x: , y: }\ne: []\nf: {}\ng: "q"  # c\n\n# end\n',
    "other alphabets": 'name: Übung №3 😀  # ü😀\na: [1, "ö", {b: 😀}]\nc:\n- ü: x\n  d: y\n',
    "folded": "a: |\n  ü\n  b\n\nb: >-\n  x\n  y\n# c\nc: 'it''s'\n",
    "mark of byte order": "\ufeffname: x\nrows: {count: 1}\n",
    "carriage returns": TEXT.replace("\n", "\r\n"),
}


@pytest.mark.parametrize(
    "text",
    [TEXT, *ODD.values(), SCENES[0].read_text(encoding="utf-8")],
    ids=["text", *ODD, SCENES[0].stem],
)
def test_both_versions_of_the_yaml_reader_lead_to_the_same_edits(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = []
    for reader in READERS:
        monkeypatch.setattr(text_edit, "_LOADER", reader)
        found.append(list(edits(text)))
    assert any(found[0])
    # An empty value in brackets ends a blank later for the fast one, which refuses no edit there.
    for slow, fast in zip(*found, strict=True):
        assert not slow or re.sub(" +(?=[,}])", "", slow) == re.sub(" +(?=[,}])", "", fast)
