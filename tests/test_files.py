"""Files whole or not at all, never over another unasked, under names every system takes."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rigmodel.cli import main
from rigmodel.files import FileError, safe_stem, write_all, write_whole

# From memory of Microsoft's "Naming Files, Paths, and Namespaces".
FORBIDDEN = set('<>:"/\\|?*') | {chr(i) for i in range(32)}
DEVICES = {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"} | {
    f"{port}{digit}" for port in ("COM", "LPT") for digit in "0123456789¹²³"
}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@given(st.text(max_size=300))
@example("con")
@example("aux.old")
@example("Nul .x")
@example("lpt²")
@example("...")
@example("a. . .")
@example("\udcff")
@example("\0")
@example("é" * 200)
def test_a_safe_name_is_taken_by_every_system(name: str) -> None:
    for stem in (safe_stem(name), safe_stem(f"{name}.")):
        file = f"{stem}-drawings-12.svg"
        for made in (f"{stem}.html", file):
            assert not FORBIDDEN & set(made)
            assert made.split(".")[0].strip().upper() not in DEVICES
            assert len(f".{made}.12345678".encode()) <= 255
            assert made.strip() != ""
        assert stem
        assert not stem.endswith((" ", "."))
        assert safe_stem(stem) == stem


@given(st.from_regex(re.compile(r"[a-z][a-z0-9 _()½Ж水-]{0,40}[a-z]{2}"), fullmatch=True))
def test_a_name_that_is_safe_stays_as_it_is(name: str) -> None:
    if name.upper() not in DEVICES:
        assert safe_stem(name) == name


@pytest.mark.parametrize("name", ["a:b", "what?", "two*", "con", "x|y", 'q"uote', "tail. "])
@pytest.mark.parametrize(
    ("command", "endings"),
    [
        (["report"], [".html"]),
        (["list"], ["-list.xlsx", "-parts.csv"]),
        (["draw", "--format", "svg"], ["-drawings-1.svg"]),
        (["export", "--format", "stl"], [".stl"]),
    ],
)
def test_outputs_of_a_scene_with_an_odd_name(
    scenes: Path, tmp_path: Path, name: str, command: list[str], endings: list[str]
) -> None:
    scene = tmp_path / f"{name}.yaml"
    scene.write_text((scenes / "two-wide-rows-paths-rear.yaml").read_text())
    out = tmp_path / "out"
    out.mkdir()
    assert main([*command, str(scene), "--out", str(out)]) == 0
    assert set(names(out)) >= {safe_stem(name) + ending for ending in endings}


def test_files_are_written_together(tmp_path: Path) -> None:
    a, b = tmp_path / "a", tmp_path / "b"
    write_all({a: b"1", b: b"2"})
    assert (a.read_bytes(), b.read_bytes()) == (b"1", b"2")
    with pytest.raises(FileError, match=r"1 more of its files are there already.*--force"):
        write_all({a: b"3", b: b"4"})
    b.unlink()
    with pytest.raises(FileError, match="--force"):
        write_all({a: b"3", b: b"4"})
    assert names(tmp_path) == ["a"]
    write_all({a: b"3", b: b"4"}, replace=True)
    assert (a.read_bytes(), b.read_bytes()) == (b"3", b"4")
    assert names(tmp_path) == ["a", "b"]


@pytest.mark.parametrize("fails", [1, 2, 3])
@pytest.mark.parametrize("links", [True, False])
def test_when_one_cannot_be_put_in_place_all_is_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails: int, links: bool
) -> None:
    paths = [tmp_path / name for name in "abc"]
    paths[0].write_bytes(b"old")
    paths[2].write_bytes(b"older")
    real, calls = os.replace, 0

    def replace(source: Path, target: Path) -> None:
        nonlocal calls
        calls += 1
        if calls == fails:
            raise OSError(28, "No space left on device", str(source))
        real(source, target)

    def no_link(*_: object) -> None:
        raise OSError(1, "not here")

    monkeypatch.setattr(os, "replace", replace)
    if not links:
        monkeypatch.setattr(os, "link", no_link)
    with pytest.raises(FileError, match=f"cannot write .*{'abc'[fails - 1]}: No space left"):
        write_all(dict.fromkeys(paths, b"new"), replace=True)
    assert names(tmp_path) == ["a", "c"]
    assert (paths[0].read_bytes(), paths[2].read_bytes()) == (b"old", b"older")


def test_when_one_cannot_be_filled_nothing_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="No space left"):
        write_all({tmp_path / "a": b"1", tmp_path / "b": b"2"})
    with pytest.raises(FileError, match="No space left"):
        write_whole(tmp_path / "a", b"1")
    assert names(tmp_path) == []


def test_a_written_file_has_the_usual_rights(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("")
    write_whole(tmp_path / "ours", b"1")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode
