"""What `rigmodel check` gives back to the shell: 0 pass or advise, 1 a failure, 2 wrong input."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from rigmodel.cli import main


@pytest.mark.parametrize("extra", [[], ["--json"], ["--bolted"]])
def test_pass_or_advise_is_zero(
    good_file: Path, extra: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(good_file), *extra]) == 0
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_a_failure_is_one(
    bad_file: Path, extra: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(bad_file), *extra]) == 1
    captured = capsys.readouterr()
    assert captured.out
    if extra:
        assert json.loads(captured.out)["verdict"] == "fail"


@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_wrong_input_is_two_and_writes_nothing_to_stdout(
    tmp_path: Path, extra: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "wrong.yaml"
    path.write_text("name: x\n")
    assert main(["check", str(path), *extra]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "wrong.yaml:" in captured.err


@pytest.mark.parametrize("arguments", [[], ["chek", "x.yaml"], ["check"], ["check", "a", "--no"]])
def test_a_wrong_command_is_two(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert "usage:" in capsys.readouterr().err
