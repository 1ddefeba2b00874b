"""Files as written: raw text with lines, and every way a file can be wrong."""

from __future__ import annotations

import json
import os
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.errors import MOST_FAULTS_SHOWN, Fault, InputError, RigmodelError
from rigmodel.reading import source as module
from rigmodel.reading.source import (
    MAX_BYTES,
    MAX_DEPTH,
    MAX_NODES,
    MapNode,
    Source,
    TextNode,
    parse_source,
    read_source,
)

LOADERS = [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)]


@pytest.fixture(params=LOADERS, ids=["python", "c"])
def _loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_LOADER", request.param)


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(InputError) as caught:
        parse_source(text, "scene.yaml")
    assert caught.value.faults
    for fault in caught.value.faults:
        assert fault.file == "scene.yaml"
        assert "\n" not in fault.text()
    return caught.value.faults


# Words that YAML 1.1 would turn into something else (booleans, base 60, octal, dates, floats).
RAW = [
    "12:30", "1:00:00", "on", "off", "yes", "No", "y", "010", "0o17", "0x1F", "1e400", ".inf",
    "-.INF", ".nan", "1_000", "2024-01-01", "2 1/2 in", "7' 3\"", "2½", "1.50", "+3", "true",
    "a#b", "=", "-", "1,5", "9.5-24",
]  # fmt: skip


@pytest.mark.usefixtures("_loader")
@pytest.mark.parametrize("text", RAW)
def test_every_value_and_key_stays_as_written(text: str) -> None:
    if text != "-":
        root = parse_source(
            f"a: {text}\nb: [{text}]\n" if "," not in text else f"a: {text}", "f"
        ).root
        assert root.plain()["a"] == text
        key = parse_source(f"{text}: 1\n", "f").root
        assert list(key.entries) == [text]
    assert parse_source(f"a: '{text.replace(chr(39), chr(39) * 2)}'", "f").root.plain() == {
        "a": text
    }


@pytest.mark.usefixtures("_loader")
@pytest.mark.parametrize("text", ["", "~", "null", "Null", "NULL"])
def test_nothing_is_none_unless_quoted(text: str) -> None:
    root = parse_source(f"a: {text}\nb: '{text}'\nc: [x, {text or '~'}]\nd: 1\n", "f").root
    assert root.plain() == {"a": None, "b": text, "c": ["x", None], "d": "1"}


@pytest.mark.usefixtures("_loader")
def test_blocks_and_shared_values() -> None:
    text = "a: |\n  x\n  y\nb: &b [1, {c: 2}]\nd: *b\ne: &e 5\nf: *e\n"
    source = parse_source(text, "f")
    shared = ["1", {"c": "2"}]
    assert source.root.plain() == {"a": "x\ny\n", "b": shared, "d": shared, "e": "5", "f": "5"}
    assert source.locate(("f",)) == (7, 4, "5")


SAMPLE = """\
# a comment
rows:
  spacing: 12:30
  empty:
stations:
  - at: rows
    depth: 2 in
  -
    at: gaps
    list: [1, 2, [3, x]]
text: 'quoted'
"""

PLACES: list[tuple[tuple[str | int, ...], tuple[int, int, str]]] = [
    ((), (2, 1, "")),
    (("rows",), (2, 1, "")),
    (("rows", "spacing"), (3, 12, "12:30")),
    (("rows", "empty"), (4, 3, "")),
    (("rows", "no such key"), (2, 1, "")),
    (("no such key",), (2, 1, "")),
    (("stations",), (5, 1, "")),
    (("stations", 0), (6, 5, "")),
    (("stations", 0, "depth"), (7, 12, "2 in")),
    (("stations", 1), (9, 5, "")),
    (("stations", 1, "a tag", "at"), (9, 9, "gaps")),
    (("stations", 1, "list", 2, 1), (10, 22, "x")),
    (("stations", 1, "list", "tuple[...]", 1), (10, 15, "2")),
    (("stations", 7, "at"), (5, 1, "")),
    (("stations", -1), (5, 1, "")),
    (("text", 0), (11, 7, "quoted")),
    (("text", "deeper", "still"), (11, 7, "quoted")),
]


@pytest.mark.usefixtures("_loader")
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_places_have_lines_whatever_the_line_ends(ending: str, start: str) -> None:
    source = parse_source(start + SAMPLE.replace("\n", ending), "f")
    for loc, place in PLACES:
        assert source.locate(loc) == place, loc


def test_nodes_know_keys_lines_and_quotes() -> None:
    root = parse_source(SAMPLE, "f").root
    rows = root.entries["rows"]
    assert isinstance(rows, MapNode)
    assert dict(rows.key_marks) == {"spacing": (3, 3), "empty": (4, 3)}
    assert root.entries["text"] == TextNode("quoted", True, 11, 7)
    with pytest.raises(TypeError):
        root.entries["new"] = rows  # type: ignore[index]


BROKEN = [
    ("a: b: c", 1, "':' stands where none can be"),
    ("a: 1\n b: 2", 2, "':' stands where none can be"),
    ("a\nb: 1", 2, "':' stands where none can be"),
    ("a: 5\nb 6\nc: 7", 2, "no ': ' after its key"),
    ("a: 5\nb:6\nc: 7", 2, "no ': ' after its key"),
    ("a: 1\nb: [1, 2\n\n", 2, "bracket is not closed"),
    ("a: [1\nb: 2\n", 2, "bracket is not closed"),
    ("a: {x: 1\n", 1, "bracket is not closed"),
    ("a: [1 2}", 1, "bracket is not closed"),
    ("a: 1\nb: 'foo\nc: 1\n", 2, "a quote is opened"),
    ('a: "foo\nc: 1\n', 1, "a quote is opened"),
    ('a: "7\' 3""\nb: 1\n', 1, "write lengths without quotes"),
    ("a: 'x'y", 1, "do not line up"),
    ("a:\n  b: 1\n c: 2", 3, "do not line up"),
    ("- a\nb: 1", 2, "do not line up"),
    ("a: - b", 1, "no list can begin"),
    ("a: @x", 1, "put the value in quotes"),
    ("a: `x", 1, "put the value in quotes"),
    ("a: %x", 1, "put the value in quotes"),
    ("a: *", 1, "put the value in quotes"),
    ("a: &", 1, "put the value in quotes"),
    ('a: "\\q"', 1, "backslash"),
    ("{a: 1}}", 1, "'{a: 1}}' is not YAML"),
    ("a: ]", 1, "not YAML"),
    ("a: >x\n b", 1, "not YAML"),
    ("%FOO\n", 1, "not YAML"),
    ("%YAML 9.9\n---\na: 1", 1, "not YAML"),
    ("a:\n\tb: 1", 2, "indented with a tab"),
    ("a:\n  b: 1\n\tc: 2", 3, "indented with a tab"),
    ("a:\n  \tb: 1", 2, "indented with a tab"),
    ("a: 1\n\tb", 2, "indented with a tab"),
    ("a: 1\n\t# comment\nb: 2", 2, "a tab stands where only spaces can be"),
    ("a: b\n---\nc: d", 2, "second document"),
    ("a: b\n---\n", 2, "second document"),
    ("a: 1\nb: 2\na: 3", 3, "'a' is given twice, first in line 1"),
    ("x:\n  a: 1\n  'a': 3", 3, "'a' is given twice, first in line 2"),
    ("x: [{a: 1, a: 2}]", 1, "'a' is given twice, first in line 1"),
    ("? [a]\n: 1", 1, "a key is a list or a section"),
    ("[a, b]: 1", 1, "a key is a list or a section"),
    ("x: {{a: 1}: 2}", 1, "a key is a list or a section"),
    ("x: {? : 2}", 1, "a key is empty"),
    ("x:\n  ? \n  : 2", 2, "a key is empty"),
    ("x:\n  : 2", 2, "do not line up"),
    ("~: 2", 1, "a key is empty"),
    ("null: 2", 1, "a key is empty"),
    ("a: !!int 5", 1, "YAML tag, '!!int'"),
    ("a: !!python/object/apply:os.system [echo]", 1, "YAML tag, '!!python/object/apply:os.system'"),
    ("a: !!str 5", 1, "YAML tag"),
    ("a: ! 5", 1, "YAML tag"),
    ("a: !own 5", 1, "YAML tag, '!own'"),
    ("!!map\na: 5", 1, "YAML tag"),
    ("a: !!set {b, c}", 1, "YAML tag"),
    ("!!str a: 5", 1, "YAML tag"),
    ("a: !x!y 5", 1, "own meaning"),
    ("a: &a {b: 1}\nc:\n  <<: *a\n  d: 1", 3, "merge keys"),
    ("a: *b", 1, "'*b' names nothing"),
    ("a: *b\nb: &b 1", 1, "'*b' names nothing"),
    ("a: &a [*a]", 1, "part of"),
    ("a: &a\n  b:\n    c: *a", 3, "part of"),
    ("", 0, "nothing in this file"),
    ("# only\n# comments\n", 0, "nothing in this file"),
    ("---\n...\n", 0, "nothing in this file"),
    ("~", 0, "nothing in this file"),
    ("\n\n  \n", 0, "nothing in this file"),
    ("- a\n- b", 1, "a list at its top"),
    ("\n[]", 2, "a list at its top"),
    ("just words", 1, "a single text at its top"),
    ("a:b", 1, "a single text at its top"),
    ("''", 1, "a single text at its top"),
    ("a: 1\nb: x\x07", 2, "control character '\\x07'"),
    ("a: \x00", 1, "control character"),
    ("a: \x7f", 1, "control character"),
    ("a: \ud800", 1, "control character"),
]  # fmt: skip


@pytest.mark.usefixtures("_loader")
@pytest.mark.parametrize(("text", "line", "words"), BROKEN)
def test_what_is_wrong_is_said_with_its_line(text: str, line: int, words: str) -> None:
    faults = faults_of(text)
    assert [fault.line for fault in faults] == [line]
    assert words in faults[0].text()


@pytest.mark.usefixtures("_loader")
def test_faults_are_told_together_in_order() -> None:
    text = "a: 1\nb: !!int 3\na: 2\n<<: {x: 1}\nc: *d\ne: f: g\n"
    assert [fault.line for fault in faults_of(text)] == [2, 3, 4, 5, 6]


def test_many_faults_are_cut() -> None:
    text = "".join(f"k: {n}\n" for n in range(MOST_FAULTS_SHOWN + 21))
    with pytest.raises(RigmodelError) as caught:
        parse_source(text, "f")
    lines = str(caught.value).split("\n")
    assert len(lines) == MOST_FAULTS_SHOWN + 1
    assert lines[-1] == "... and 20 more"
    assert caught.value.exit_code == 2


@pytest.mark.usefixtures("_loader")
def test_tabs_elsewhere_are_fine() -> None:
    text = '# \ta\na: 1\nb: "x\n\ty"\nc: |\n  p\n  \tq\nd: 1\n'
    assert parse_source(text, "f").root.plain() == {"a": "1", "b": "x y", "c": "p\n\tq\n", "d": "1"}


VALUES: Any = st.recursive(
    st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), min_size=1, max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1), inner),
    max_leaves=8,
)


@given(value=st.dictionaries(st.text("abc", min_size=1), VALUES, min_size=1), tabs=st.booleans())
@settings(max_examples=60)
def test_json_reads_as_it_is(value: dict[str, Any], tabs: bool) -> None:
    text = json.dumps(value, indent="\t" if tabs else 2)
    assert parse_source(text, "f").root.plain() == value


@given(st.text(max_size=60) | st.text("abc:-[]{}'\"&*!|> \n\t#%?,~<", max_size=40))
@settings(max_examples=500)
def test_any_text_reads_or_is_refused(text: str) -> None:
    with suppress(InputError):
        assert isinstance(parse_source(text, "f"), Source)


@given(st.binary(max_size=60) | st.text(max_size=40).map(lambda t: t.encode("utf-16")))
@settings(max_examples=60)
def test_any_bytes_read_or_are_refused(data: bytes) -> None:
    path = Path(os.environ.get("TMPDIR", "/tmp")) / f"rigmodel-any-bytes-{os.getpid()}.yaml"
    try:
        path.write_bytes(data)
        with suppress(InputError):
            read_source(path)
    finally:
        path.unlink(missing_ok=True)


def bomb() -> str:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]" for i in range(1, 10)]
    return "\n".join(lines)


HUGE = [
    (bomb(), f"more than {MAX_NODES} values"),
    ("a: &a {x: " + "[" * 10 + "1" + "]" * 10 + "}\n" + "".join(
        f"a{i}: &a{i} [*a{i - 1}]\n".replace("*a0", "*a") for i in range(1, 40)), "deep"),
    ("x: [" + "1," * (MAX_NODES + 1) + "]", f"more than {MAX_NODES} values"),
    ("- a\n" * (MAX_NODES + 1), f"more than {MAX_NODES} values"),
    ("[" * 200_000, "deep"),
    ("{a: " * 200_000, "deep"),
    ("- " * 200_000, "deep"),
    ("? " * 200_000, "deep"),
    ("a: " + "[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1), "deep"),
    ("'" * 1_000_000, "at its top"),
    ("\t" * 1_000_000, "a tab"),
    ("!" * 1_000_000, "tag"),
    ("a" * (MAX_BYTES + 1), "too big (1.1 MiB; the limit is 1 MiB)"),
    ("½" * MAX_BYTES, "too big (2.0 MiB; the limit is 1 MiB)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), HUGE, ids=range(len(HUGE)))
def test_nothing_grows_without_end(text: str, words: str) -> None:
    start = time.perf_counter()
    fault = faults_of(text)[0].text()
    assert words in fault
    assert len(fault) < 400
    assert time.perf_counter() - start < 5.0


def test_limits_leave_room_for_what_is_just_inside() -> None:
    deep = "a: " + "[" * (MAX_DEPTH - 2) + "x" + "]" * (MAX_DEPTH - 2)
    parse_source(deep, "f")
    many = "x: [" + "1," * (MAX_NODES - 3) + "]"  # root, key and list are the other three
    assert len(parse_source(many, "f").root.plain()["x"] or []) == MAX_NODES - 3
    parse_source("a: " + "x" * (MAX_BYTES - 3), "f")


FILES = [
    (b"\x89PNG\r\n\x1a\n\x00\x00", "a picture"),
    (b"\xff\xd8\xff\xe0\x00", "a picture"),
    (b"PK\x03\x04\x14\x00", "an archive"),
    (b"\x1f\x8b\x08\x00", "an archive"),
    (b"%PDF-1.7\n", "a PDF"),
    ("a: 1".encode("utf-16"), "UTF-16"),
    (b"\xfe\xff" + "a: 1".encode("utf-16-be"), "UTF-16"),
    ("a: 1".encode("utf-16-le"), "NUL bytes"),
    ("a: 1".encode("utf-32"), "UTF-16"),
    (b"a: 1\nb: \x00\n", "NUL bytes"),
    (b"a: 1\nb: caf\xe9\n", "byte 0xe9"),
    (b"a: 1\r\nb: 2\r\nc: \xff\r\n", "byte 0xff"),
    (b"", "nothing in this file"),
    (b"\xef\xbb\xbf", "nothing in this file"),
]


@pytest.mark.parametrize(("data", "words"), FILES)
def test_files_that_are_no_text(tmp_path: Path, data: bytes, words: str) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_source(path)
    assert words in str(caught.value)
    assert caught.value.faults[0].file == str(path)


@pytest.mark.parametrize("ending", [b"\n", b"\r\n", b"\r"])
def test_line_of_a_byte_that_is_no_text(tmp_path: Path, ending: bytes) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(ending.join([b"a: 1", b"b: 2", b"c: \xb5m", b"d: 3"]))
    with pytest.raises(InputError) as caught:
        read_source(path)
    assert caught.value.faults[0].line == 3


def test_a_good_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "größe.yaml"
    path.write_bytes("\ufeffname: 2½ in\r\n".encode())
    source = read_source(path)
    assert source.name == str(path)
    assert source.root.plain() == {"name": "2½ in"}


def test_a_huge_file_is_not_even_opened(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    with path.open("wb") as stream:
        stream.truncate(100 * 1024 * 1024)
    with pytest.raises(InputError, match=r"too big \(100\.0 MiB; the limit is 1 MiB\)"):
        read_source(path)


def test_what_is_no_file(tmp_path: Path) -> None:
    loop = tmp_path / "loop"
    loop.symlink_to(loop)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    cases = [
        (tmp_path / "none.yaml", "no such file"),
        (tmp_path, "this is a folder"),
        (loop, "cannot be read"),
        (pipe, "a device or a pipe"),
        (Path("/dev/zero"), "a device or a pipe"),
        (tmp_path / ("x" * 300), "cannot be read"),
        (tmp_path / "a\x00b", "cannot be read"),
        (tmp_path / "none.yaml" / "deeper", "no such file"),
    ]
    for path, words in cases:
        with pytest.raises(InputError) as caught:
            read_source(path)
        assert words in str(caught.value), path


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "x.yaml"
    path.write_text("a: 1")

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match="permission denied"):
        read_source(path)
