"""The command line as a user meets it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from rigmodel import __version__
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.cli import main
from rigmodel.spec.load import load_scene
from rigmodel.spec.schema import schema

ROOT = Path(__file__).parent.parent
SCENES = sorted((ROOT / "scenes").glob("*.yaml"))
CATALOGUES = sorted((ROOT / "rigmodel" / "catalog" / "data").glob("*.yaml"))
Output = pytest.CaptureFixture[str]


def run(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "rigmodel.cli", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, check=False, cwd=cwd, stdin=subprocess.DEVNULL
    )


@pytest.mark.parametrize("units", ["in", "mm"])
def test_a_new_scene_passes_as_it_is(tmp_path: Path, capsys: Output, units: str) -> None:
    path = tmp_path / "new.yaml"
    assert main(["new", str(path), "--units", units]) == 0
    captured = capsys.readouterr()
    assert captured.out == ""
    assert f"rigmodel check {path}" in captured.err
    assert main(["check", str(path)]) == 0, capsys.readouterr().out


@pytest.mark.parametrize("rows", ["1", "2"])
def test_a_new_scene_of_few_rows_is_well_formed(tmp_path: Path, rows: str) -> None:
    path = tmp_path / "new.yaml"
    assert main(["new", str(path), "--rows", rows]) == 0
    assert len(load_scene(path).spec.rows.places) == int(rows)


def test_a_new_scene_has_comments_and_what_was_asked(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "new.yaml"
    answers = ["--name", "North field: 2 rows", "--rows", "2", "--spacing", "24 in"]
    answers += ["--keep-out", "3 in", "--pair-gap", "1 3/4 in", "--track", "64 in"]
    assert main(["new", str(path), *answers]) == 0
    text = path.read_text()
    assert text.count("#") > 5
    scene = yaml.safe_load(text)
    assert scene["name"] == "North field: 2 rows"
    assert scene["rows"] == {"count": 2, "spacing": "24 in", "keep_out": "3 in"}
    assert scene["tractor"]["rear"]["track"] == "64 in"
    assert scene["stations"][0]["pair_gap"] == "1 3/4 in"
    assert main(["check", str(path)]) in (0, 1)
    assert "North field: 2 rows" in capsys.readouterr().out


def test_new_does_not_write_over_a_file_unasked(tmp_path: Path, capsys: Output) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text("precious\n")
    assert main(["new", str(path), "--rows", "2"]) == 2
    assert path.read_text() == "precious\n"
    assert "--force" in capsys.readouterr().err
    assert main(["new", str(path), "--rows", "2", "--force"]) == 0
    assert path.read_text() != "precious\n"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mine.yaml"]


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--rows", "many"),
        ("--rows", "0"),
        ("--spacing", "15 lb"),
        ("--keep-out", "9 in"),
        ("--tractor", "big-one"),
        ("--track", "57 in"),
        ("--pair-gap", "wide"),
    ],
)
def test_a_wrong_answer_writes_nothing(
    tmp_path: Path, capsys: Output, option: str, value: str
) -> None:
    path = tmp_path / "new.yaml"
    assert main(["new", str(path), option, value]) == 2
    assert not path.exists()
    assert value in capsys.readouterr().err


def test_new_into_a_folder_that_is_not_there(tmp_path: Path, capsys: Output) -> None:
    assert main(["new", str(tmp_path / "none" / "new.yaml")]) == 2
    assert "none" in capsys.readouterr().err


def test_parts_lists_everything_and_finds_a_word(capsys: Output) -> None:
    assert main(["parts"]) == 0
    everything = capsys.readouterr().out
    catalogue = builtin_catalogue()
    for name in (*catalogue.parts, *catalogue.assemblies, *catalogue.tractors, *catalogue.tyres):
        assert name in everything
    assert main(["parts", "finger-wheel-8"]) == 0
    some = capsys.readouterr().out
    assert "finger-wheel-8" in some
    assert "tube-2x1-4" not in some
    assert main(["parts", "zzz"]) == 0
    assert "'zzz'" in capsys.readouterr().out


OWN = """
units: in
parts:
  my-blade: {kind: a-blade, width: 9, length: 2 1/2, thickness: 1/4, sweep: 35, tang_height: 3,
    tang_thickness: 3/8, tang_length: 1}
"""


def test_a_catalogue_of_ones_own(tmp_path: Path, demo: str, capsys: Output) -> None:
    own, scene = tmp_path / "own.yaml", tmp_path / "scene.yaml"
    own.write_text(OWN)
    scene.write_text(demo.replace("at: outside", "at: outside, swap: {blade: my-blade}"))
    assert main(["check", str(scene)]) == 2
    assert "my-blade" in capsys.readouterr().err
    assert main(["check", str(scene), "--catalogue", str(own)]) in (0, 1)
    assert main(["parts", "my-blade", "--catalogue", str(own)]) == 0
    assert "my-blade" in capsys.readouterr().out
    scene.write_text(scene.read_text().replace("units: in", "units: in\ncatalogue: [own.yaml]"))
    assert main(["check", str(scene)]) in (0, 1)


def test_a_part_that_makes_no_solid_is_wrong_input(
    tmp_path: Path, demo: str, capsys: Output
) -> None:
    wide = OWN.replace("width: 9", "width: 9, pitch: 3").replace(
        "tang_height: 3", "tang_height: 0.1"
    )
    scene = tmp_path / "scene.yaml"
    scene.write_text(
        demo.replace("at: outside", "at: outside, swap: {blade: my-blade}")
        + wide.replace("units: in\n", "")
    )
    assert main(["check", str(scene)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "my-blade" in captured.err


def test_a_file_that_may_not_be_read_is_wrong_input(
    tmp_path: Path, demo: str, capsys: Output, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene = tmp_path / "locked.yaml"
    scene.write_text(demo)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")  # root could read it whatever its mode

    monkeypatch.setattr(Path, "open", refused)
    assert main(["check", str(scene)]) == 2
    error = capsys.readouterr().err
    assert "locked.yaml" in error
    assert "permission denied" in error


@cache
def schema_of(which: str) -> dict[str, Any]:
    found = schema(which)
    jsonschema.Draft202012Validator.check_schema(found)
    return found


@pytest.mark.parametrize("which", ["scene", "catalogue"])
def test_the_schema_is_printed_as_json(capsys: Output, which: str) -> None:
    assert main(["schema", which]) == 0
    assert json.loads(capsys.readouterr().out) == schema_of(which)


def errors(which: str, text: str) -> list[str]:
    validator = jsonschema.Draft202012Validator(schema_of(which))
    return [error.message for error in validator.iter_errors(yaml.safe_load(text))]


def test_the_schema_accepts_every_demo_scene() -> None:
    for path in SCENES:
        assert errors("scene", path.read_text()) == [], path.name


def test_the_schema_accepts_the_catalogue() -> None:
    for path in CATALOGUES:
        assert errors("catalogue", path.read_text()) == [], path.name


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("spacing: 15", "spaceing: 15"),
        ("units: in", "units: inch"),
        ("count: 3", "count: -3"),
        ("count: 3", "count: [3]"),
        ("spacing: 15", "spacing: [15]"),
        ("name: Three", "nome: Three"),
        ("at: gaps", "at: gabs"),
        ("depth: 1/2, ", ""),
    ],
)
def test_the_schema_refuses_a_broken_scene(demo: str, old: str, new: str) -> None:
    assert old in demo
    assert errors("scene", demo.replace(old, new, 1))


def descriptions(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        if isinstance(node.get("properties"), dict):
            yield from node["properties"].values()
        for value in node.values():
            yield from descriptions(value)
    elif isinstance(node, list):
        for value in node:
            yield from descriptions(value)


def test_every_field_of_the_schema_is_described() -> None:
    for which in ("scene", "catalogue"):
        for field in descriptions(schema_of(which)):
            assert field.get("description") or "const" in field, field


def test_check_as_a_program(scenes: Path) -> None:
    done = run("check", "rear-hitch-inches.yaml", "--json", cwd=scenes)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["scene"] == "Rear hitch, three rows"


def test_the_reader_of_the_output_may_go_away(scenes: Path) -> None:
    command = [sys.executable, "-m", "rigmodel.cli", "parts"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        told = process.stderr.read().decode()
    assert "Traceback" not in told
    assert process.returncode == 0


def test_bolted_pairs_are_listed_on_demand(scenes: Path, capsys: Output) -> None:
    path = str(scenes / "rear-hitch-inches.yaml")
    assert main(["check", path, "--bolted"]) == 0
    text = capsys.readouterr().out
    listed = text.split("Bolted together\n", 1)[1].strip().splitlines()
    told = re.search(r"(\d+)\s+pairs", text)
    assert told is not None
    assert len(listed) == int(told.group(1))
    assert all(" + " in line for line in listed)


def test_the_output_has_no_colour_in_a_file(scenes: Path, capsys: Output) -> None:
    assert main(["check", str(scenes / "rear-hitch-inches.yaml")]) == 0
    assert "\x1b" not in capsys.readouterr().out


def test_version_and_help(capsys: Output) -> None:
    for arguments, word in ((["--version"], __version__), (["--help"], "check")):
        with pytest.raises(SystemExit) as caught:
            main(arguments)
        assert caught.value.code == 0
        assert word in capsys.readouterr().out
