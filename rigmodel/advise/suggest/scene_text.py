"""A suggested rig as a complete scene file: the user's own text with its stations replaced."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rigmodel.advise.suggest.rig import Suggestion
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.trial import Bench
from rigmodel.errors import RigmodelError
from rigmodel.files import check_target, write_whole
from rigmodel.reading.source import parse_source
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.scene import Station
from rigmodel.units import Unit, format_setting, parse_length

_EXACT_MM = 0.005  # a length is written as a person would where that says it this well


def scene_text(text: str, name: str, rig: Suggestion) -> str:
    """The scene file of a rig.

    Args:
        text: the scene that was asked about; its comments above the first line are left out, for
            they speak of its own stations.
        name: its file name, for the header.
        rig: the rig.

    Raises:
        RigmodelError: the text is not written one key to a line.
    """
    unit = rig.assembly.scene.unit
    lines = _without_stations(text, name)
    stations = ["stations:", *(f"  - {_station(s, unit)}" for s in rig.stations)]
    header = [f"# Written by `rigmodel suggest` from {_plain(name)}.", *_said(rig)]
    return "\n".join([*header, *lines, *stations]) + "\n"


def _plain(name: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in name)


def _said(rig: Suggestion) -> list[str]:
    advice = sum(f.verdict is Verdict.ADVISE for f in rig.findings)
    more = f" (advice: {advice})" if advice else ""
    return [f"# It passes every check of `rigmodel check`{more}."]


def _without_stations(text: str, name: str) -> list[str]:
    source = parse_source(text, name)
    lines = text.splitlines()
    starts = sorted(line for line, column in source.root.key_marks.values() if column == 1)
    marks = source.root.key_marks
    if len(set(starts)) != len(marks):
        raise RigmodelError(
            f"{name}: to be rewritten, each section must begin on a line of its own"
        )
    first = starts[0] - 1
    if "stations" not in marks:
        return _trimmed(lines[first:])
    begin = marks["stations"][0] - 1
    after = [line - 1 for line in starts if line - 1 > begin]
    end = after[0] if after else len(lines)
    while end > begin + 1 and lines[end - 1].startswith("#"):  # speaks of what follows
        end -= 1
    return _trimmed([*lines[first:begin], *lines[end:]])


def _trimmed(lines: Sequence[str]) -> list[str]:
    kept = [line for line in lines if line.strip() not in ("---", "...")]
    while kept and not kept[-1].strip():
        kept.pop()
    return kept


def _station(station: Station, unit: Unit) -> str:
    """One station as one line of YAML."""
    said: list[str] = []
    if station.name is not None:
        said.append(f"name: {station.name}")
    said.append(f"use: {station.use}")
    if isinstance(station.at, tuple):
        said.append(f"at: [{', '.join(_length(mm, unit) for mm in station.at)}]")
    else:
        said.append(f"at: {station.at}")
    if station.only:
        said.append(f"only: [{', '.join(str(n) for n in station.only)}]")
    if station.sides is not None:
        said.append(f"sides: {station.sides}")
    if station.hand != "left":
        said.append(f"hand: {_in_turn(station.hand, str)}")
    if station.rank != 0.0:
        said.append(f"rank: {_in_turn(station.rank, lambda mm: _length(mm, unit))}")
    if station.pair_gap is not None:
        said.append(f"pair_gap: {_length(station.pair_gap, unit)}")
    said.append(f"depth: {_length(station.depth, unit)}")
    if station.swap:
        parts = ", ".join(f"{name}: {part}" for name, part in station.swap.items())
        said.append(f"swap: {{{parts}}}")
    return "{" + ", ".join(said) + "}"


def _in_turn(value: object, say: object) -> str:
    assert callable(say)
    if isinstance(value, tuple):
        return f"[{', '.join(say(one) for one in value)}]"
    return str(say(value))


def _length(mm: float, unit: Unit) -> str:
    """A length in the scene's unit as a tape shows it where that is exact, else in millimetres."""
    if mm == 0.0:
        return "0"
    said = format_setting(mm, unit)
    if abs(parse_length(said, unit) - mm) <= _EXACT_MM:
        return said
    return f"{mm:.3f} mm"


def checked_text(
    text: str,
    name: str,
    rig: Suggestion,
    folder: Path,
    catalogues: Sequence[Path],
    bench: Bench | None = None,
) -> str:
    """The scene file of a rig, read again and checked again in the folder it is to lie in.

    Raises:
        RigmodelError: read from there it does not pass; the words say which check.
    """
    written = scene_text(text, name, rig)
    scene = scene_from_text(written, "the suggested scene", folder, catalogues)
    found = (bench or Bench()).findings(scene)
    failing = [f for f in found if f.verdict is Verdict.FAIL]
    if failing:
        first = failing[0]
        raise RigmodelError(f"the scene as written does not pass: {first.check}: {first.message}")
    return written


def write_rig(
    path: Path,
    text: str,
    name: str,
    rig: Suggestion,
    catalogues: Sequence[Path] = (),
    replace: bool = False,
) -> None:
    """Writes a rig's scene file, whole or not at all, once it has been read and checked again.

    Raises:
        RigmodelError: the file is there and may not be replaced, or the scene does not pass there.
    """
    check_target(path, replace)
    whole = checked_text(text, name, rig, path.parent, catalogues)
    write_whole(path, whole.encode("utf-8"), replace)
