"""Wrong input: one clear message with file, line, value and what was expected; exit code 2."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from rigmodel.cli import main

Run = Callable[[str | bytes], tuple[int, str]]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Checks a scene given as text or bytes; gives the exit code and what went to stderr."""

    def check(content: str | bytes) -> tuple[int, str]:
        path = tmp_path / "scene.yaml"
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        before = sorted(p.name for p in tmp_path.iterdir())
        code = main(["check", str(path)])
        captured = capsys.readouterr()
        assert "Traceback" not in captured.err
        if code == 2:
            assert captured.out == ""
        assert sorted(p.name for p in tmp_path.iterdir()) == before
        return code, captured.err

    return check


def line_of(text: str, part: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if part in line)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("spacing: 15", "spaceing: 15", ["spaceing", "spacing"]),
        ("count: 3", "count: 3\n  count: 4", ["count", "twice"]),
        ("spacing: 15", "spacing: 15 lb", ["15 lb", "length"]),
        ("spacing: 15", "spacing: .inf", [".inf", "length"]),
        ("spacing: 15", "spacing: nan", ["nan", "length"]),
        ("spacing: 15", "spacing: 1e400", ["1e400"]),
        ("spacing: 15", "spacing: 12:30", ["12:30", "length"]),
        ("spacing: 15", "spacing: on", ["on", "length"]),
        ("spacing: 15", "spacing: 010", ["010", "10"]),
        ("spacing: 15", "spacing: -15", ["-15", "more than 0"]),
        ("spacing: 15", "spacing: 0", ["0", "more than 0"]),
        ("spacing: 15", "spacing: 12,5", ["12,5", "12.5"]),
        ("spacing: 15", "spacing: 2 1/0 in", ["2 1/0"]),
        ("count: 3", "count: 10000", ["10000", "64"]),
        ("count: 3", "count: 2.5", ["2.5", "whole number"]),
        ("count: 3", "count: 0", ["'0'"]),
        ("use: small-belly", "use: small-bely", ["small-bely", "small-belly"]),
        ("use: finger-pair", "use: finger-pare", ["finger-pare", "finger-pair"]),
        ("use: finger-pair", "use: ../finger", ["../finger"]),
        ("tube: tube-2x1-4", "tube: tube-2x1-5", ["tube-2x1-5", "tube-2x1-4"]),
        ("tube: tube-2x1-4", "tube: blade-10", ["blade-10", "square tube"]),
        ("at: gaps", "at: gabs", ["gabs", "gaps"]),
        ("units: in", "units: inch", ["inch", "in"]),
        ("keep_out: 2 1/2", "keep_out: 8", ["8 in", "no soil"]),
        ("keep_out: 2 1/2", "keep_out: 2 1/2 in 3", ["2 1/2 in 3"]),
        ("length: 72", "length: 72, roll: 90", ["90", "20"]),
        ("pair_gap: 1 1/2, ", "", ["pair_gap"]),
        ("use: small-belly", "use: small-belly\n  rear: {track: 57}", ["57 in", "56 in"]),
        ("use: small-belly", "use: small-belly\n  rear: {tyre: 9.5-25}", ["9.5-25", "9.5-24"]),
        ("rank: [0, -8]", "rank: [0, 8]", ["swings to the rear"]),
        ("at: outside", "at: outside, swap: {blade: finger}", ["finger", "catalogue"]),
        ("at: outside", "at: outside, swap: {blad: blade-8}", ["blad", "blade"]),
        ("at: outside", "at: gaps", ["two stations", "name"]),
        ("at: outside", "at: outside, hand: []", ["hand", "too few", "at least 1"]),
        ("at: outside", "at: outside, rank: []", ["rank", "too few", "at least 1"]),
        ("at: outside", "at: []", ["at least one distance"]),
        ("at: outside", "at: rows", ["two stations", "row1.left", "name"]),
        ("name: Three", "name: [Three", ["bracket"]),
        ("rows:", "rows: &r\n  <<: *r", [""]),
        ("rows:", "\trows:", ["tab"]),
    ],
)
def test_each_fault_has_its_own_clear_message(
    run: Run, demo: str, old: str, new: str, said: list[str]
) -> None:
    assert old in demo
    text = demo.replace(old, new, 1)
    code, error = run(text)
    assert code == 2
    assert re.search(r"scene\.yaml:\d+", error), error
    for word in said:
        assert word in error


def test_the_line_is_the_line_of_the_fault(run: Run, demo: str) -> None:
    for old, new in (("spacing: 15", "spacing: 12:30"), ("use: blade-spring", "use: blade-sprong")):
        text = demo.replace(old, new, 1)
        _, error = run(text)
        assert f"scene.yaml:{line_of(text, new)}:" in error


def test_all_faults_of_a_file_are_reported_together(run: Run, demo: str) -> None:
    text = (
        demo.replace("spacing: 15", "spacing: on")
        .replace("keep_out: 2 1/2", "keep_oot: 2 1/2")
        .replace("length: 72", "length: -72")
    )
    code, error = run(text)
    assert code == 2
    assert len(error.strip().splitlines()) == 3
    assert all(word in error for word in ("'on'", "keep_oot", "-72"))


@pytest.mark.parametrize("section", ["name", "units", "rows", "tractor", "toolbar", "stations"])
def test_a_missing_section_is_named(run: Run, demo: str, section: str) -> None:
    kept, skipping = [], False
    for line in demo.splitlines():
        skipping = line.startswith(f"{section}:") or (skipping and line.startswith(" "))
        if not skipping:
            kept.append(line)
    code, error = run("\n".join(kept) + "\n")
    assert code == 2
    assert section in error
    assert "missing" in error


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "nothing"),
        (b"# only a comment\n", "nothing"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", ""),
        (b"PK\x03\x04\x00\x00", ""),
        (b"\xff\xfe\x00n", ""),
        (b"just words\n", "keys"),
        (b"- a\n- b\n", "keys"),
        (b"name: a\n---\nname: b\n", "document"),
        (b"name: !!python/object:os.system x\n", "tag"),
    ],
)
def test_files_that_are_no_scene(run: Run, content: bytes, said: str) -> None:
    code, error = run(content)
    assert code == 2
    assert error.strip()
    assert said in error


def test_an_alias_bomb_is_refused(run: Run) -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    for i in range(1, 12):
        lines.append(f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * 9) + "]")
    code, error = run("\n".join(lines))
    assert code == 2
    assert "\n" not in error.strip() or len(error) < 4000


def test_a_huge_file_is_refused_before_it_is_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as file:
        file.truncate(100 * 1024 * 1024)
    assert main(["check", str(path)]) == 2
    assert "100" in capsys.readouterr().err


def test_a_folder_and_a_file_that_is_not_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path)]) == 2
    assert "folder" in capsys.readouterr().err
    assert main(["check", str(tmp_path / "none.yaml")]) == 2
    assert "none.yaml" in capsys.readouterr().err


@pytest.mark.parametrize(
    "path", ["/etc/passwd", "../outside.yaml", "a/../../b.yaml", "C:\\x.yaml", "~/x.yaml", ""]
)
def test_catalogue_paths_stay_in_the_scenes_folder(run: Run, demo: str, path: str) -> None:
    code, error = run(demo.replace("units: in", f"units: in\ncatalogue: ['{path}']"))
    assert code == 2
    assert "folder" in error


def test_a_link_out_of_the_folder_is_refused(
    tmp_path: Path, demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    outside = tmp_path / "outside.yaml"
    outside.write_text("units: in\n")
    home = tmp_path / "home"
    home.mkdir()
    (home / "link.yaml").symlink_to(outside)
    (home / "scene.yaml").write_text(demo.replace("units: in", "units: in\ncatalogue: [link.yaml]"))
    assert main(["check", str(home / "scene.yaml")]) == 2
    assert "folder" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["a/b", "a\\b", "a b", "ä", "a\x07b", "A", "-a", "x" * 61])
def test_names_with_odd_characters(run: Run, demo: str, name: str) -> None:
    text = demo.replace("at: outside", f'at: outside, name: "{name}"'.replace("\\", "\\\\"))
    code, error = run(text)
    assert code == 2
    assert error.isprintable() or "\x07" not in error


@pytest.mark.parametrize("change", ["bom", "crlf", "cr", "no final newline"])
def test_harmless_differences_work(run: Run, demo: str, change: str) -> None:
    changed = {
        "bom": b"\xef\xbb\xbf" + demo.encode(),
        "crlf": demo.replace("\n", "\r\n").encode(),
        "cr": demo.replace("\n", "\r").encode(),
        "no final newline": demo.rstrip().encode(),
    }[change]
    code, error = run(changed)
    assert code == 0, error
