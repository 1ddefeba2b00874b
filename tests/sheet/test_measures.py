"""Measures become a scene; every slip in them is named with its line."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.assembly.build import assemble
from rigmodel.errors import InputError
from rigmodel.sheet.form import csv_twin, yaml_twin
from rigmodel.sheet.measures import scene_text_from_measures
from rigmodel.spec.load import scene_from_text

MEASURED = {
    "name": "Low field: bed #3",
    "units": "in",
    "rows.count": "3",
    "rows.spacing": "15",
    "rows.keep_out": "2 1/2",
    "rows.plants.height": "60 mm",
    "soil.shape": "bed",
    "soil.top_width": "42",
    "soil.height": "6",
    "soil.tyres_run": "6",
    "tractor.use": "small-belly",
    "tractor.rear.track": "64",
    "tractor.front.track": "64",
    "tractor.rear.tyre": "9.5-24",
    "tractor.frame.clearance": "46",
    "tractor.obstacles[1].name": "step",
    "tractor.obstacles[1].at": "20, 18, 40",
    "tractor.obstacles[1].size": "10, 8, 2",
    "toolbar.tube": "tube-2x1-4",
    "toolbar.length": "6 ft",
    "toolbar.height": "20",
    "toolbar.no_clamp[1].low": "-2",
    "toolbar.no_clamp[1].high": "2",
    "toolbar.no_clamp[1].why": "hanger",
    "stations[1].pair_gap": "1 1/4",
    "stations[2].depth": "3/4",
}
INCH = 25.4
Write = Callable[[dict[str, str]], Path]


def filled_yaml(values: dict[str, str]) -> str:
    lines = []
    for line in yaml_twin("in").splitlines():
        name = line.partition(":")[0]
        if name in values:
            quoted = values[name].replace("\\", "\\\\").replace('"', '\\"')
            line = f'{name}: "{quoted}"'  # noqa: PLW2901
        lines.append(line)
    return "\n".join(lines) + "\n"


def filled_csv(values: dict[str, str], mark: str = ",") -> str:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=mark)
    for row in csv.reader(io.StringIO(csv_twin("in"))):
        writer.writerow([row[0], values.get(row[0], row[1]), *row[2:]])
    return out.getvalue()


@pytest.fixture
def measures(tmp_path: Path) -> Write:
    """Writes measures in the form's YAML twin."""

    def write(values: dict[str, str]) -> Path:
        path = tmp_path / "measures.yaml"
        path.write_text(filled_yaml(values), encoding="utf-8")
        return path

    return write


def faults(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        scene_text_from_measures(path)
    return [fault.text() for fault in caught.value.faults]


def test_filled_twins_become_the_same_scene(measures: Write, tmp_path: Path) -> None:
    text = scene_text_from_measures(measures(MEASURED))
    scene = scene_from_text(text)
    spec = scene.spec
    assert spec.name == "Low field: bed #3"
    assert spec.rows.spacing == pytest.approx(15 * INCH)
    assert spec.rows.plants.height == 60.0
    assert spec.toolbar.length == pytest.approx(72 * INCH)
    assert spec.toolbar.no_clamp[0].high == pytest.approx(2 * INCH)
    assert spec.stations[0].pair_gap == pytest.approx(1.25 * INCH)
    assert [s.depth for s in spec.stations[1:]] == pytest.approx([0.75 * INCH] * 2)
    assert scene.tractor.frame.clearance == pytest.approx(46 * INCH)
    assert scene.tractor.obstacles[0].at == pytest.approx((20 * INCH, 18 * INCH, 40 * INCH))
    assert assemble(scene).rows[0].y_mm == pytest.approx(15 * INCH)
    for mark in ",;\t":
        path = tmp_path / "measures.csv"
        path.write_bytes(b"\xef\xbb\xbf" + filled_csv(MEASURED, mark).encode())
        assert scene_text_from_measures(path).splitlines()[1:] == text.splitlines()[1:]


def test_rows_at_their_own_places(measures: Write) -> None:
    values = {k: v for k, v in MEASURED.items() if k not in ("rows.count", "rows.spacing")}
    text = scene_text_from_measures(measures({**values, "rows.positions": "17, 0, -13"}))
    assert scene_from_text(text).spec.rows.places == pytest.approx((17 * INCH, 0.0, -13 * INCH))


def test_one_row_needs_no_gap(measures: Write) -> None:
    text = scene_text_from_measures(measures({**MEASURED, "rows.count": "1"}))
    assert scene_from_text(text).spec.stations[1].at == "outside"


@pytest.mark.parametrize(
    ("size", "wall", "clamp"),
    [
        ("2 in", "1/4 in", "bar-clamp-2"),
        ("50 mm", "5 mm", "bar-clamp-50"),
        ("3", "1/4", "bar-clamp-3"),
    ],
)
def test_clamps_fit_the_bar_measured(size: str, wall: str, clamp: str, measures: Write) -> None:
    values = {k: v for k, v in MEASURED.items() if k != "toolbar.tube"}
    path = measures({**values, "toolbar.size": size, "toolbar.wall": wall, "rows.count": "1"})
    scene = scene_from_text(scene_text_from_measures(path))
    assert {planned.unit.mount for planned in scene.stations} == {clamp}


def test_an_empty_form_names_what_is_missing(measures: Write) -> None:
    told = faults(measures({}))
    assert all("measures.yaml" in text for text in told)
    for name in ("keep_out", "use", "length", "height"):
        assert any(f"'{name}' is missing" in text and "fill it in" in text for text in told), name


def test_unknown_names_are_faults_with_the_nearest_one(tmp_path: Path) -> None:
    path = tmp_path / "measures.yaml"
    path.write_text("units: in\nrows.spaceing: 15\n")
    assert faults(path) == [
        "measures.yaml:2: 'rows.spaceing' is not a measure known here; expected a name from the "
        "measuring sheet; did you mean 'rows.spacing'?"
    ]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("rows.spacing", "15 bananas"),
        ("rows.count", "three"),
        ("rows.count", "02-Jan"),
        ("tractor.rear.track", "63"),
        ("tractor.lift.kind", "rocket"),
        ("tractor.use", "no-such-tractor"),
        ("toolbar.tube", "no-such-tube"),
        ("toolbar.no_clamp[1].low", "5"),
        ("tractor.obstacles[1].at", "20, x, 40"),
        ("tractor.obstacles[1].at", "20, 40"),
        ("stations[1].pair_gap", "1/0"),
    ],
)
def test_values_that_do_not_read_are_faults_at_their_line(
    name: str, value: str, measures: Write
) -> None:
    path = measures({**MEASURED, name: value})
    lines = path.read_text(encoding="utf-8").splitlines()
    line = next(i for i, text in enumerate(lines, 1) if text.startswith(f"{name}:"))
    told = faults(path)
    near = [n for n, text in enumerate(lines, 1) if text.startswith(name.rpartition(".")[0])]
    assert any(f"measures.yaml:{n}:" in text for text in told for n in (line, *near)), told


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"rows.count: {a: 1}\n", "holds a section"),
        (b"rows.count: 3\nrows.count: 4\n", "rows.count"),
        (b"\xff\xfe", "measures.yaml"),
        (b"- 1\n", "measures.yaml"),
    ],
)
def test_files_that_are_no_measures_yaml(data: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "measures.yaml"
    path.write_bytes(data)
    assert any(says in text for text in faults(path))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "not the head"),
        (b"name,units\nx,in\n", "not the head"),
        (b"field,value\n,5\n", "has no field beside it"),
        (b'field,value\nname,"open\n', "measures.csv"),
        (b"field,value\nname,\xff\n", "measures.csv:2: the file is not UTF-8"),
        (b"field,value\nname,a\x00b\n", "not plain text"),
        (
            b"field,value\nrows.count,3\nrows.count,4\n",
            "measures.csv:3: 'rows.count' is given twice",
        ),
        (b"x" * (1024 * 1024 + 2), "too large"),
    ],
)
def test_files_that_are_no_measures_csv(data: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "measures.csv"
    path.write_bytes(data)
    assert any(says in text for text in faults(path)), faults(path)


def test_no_file(tmp_path: Path) -> None:
    assert "none.csv" in faults(tmp_path / "none.csv")[0]
    assert "none.yaml" in faults(tmp_path / "none.yaml")[0]


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=60))
def test_any_title_survives(tmp_path_factory: pytest.TempPathFactory, title: str) -> None:
    path = tmp_path_factory.mktemp("measures") / "measures.csv"
    path.write_text(filled_csv({**MEASURED, "name": title}), encoding="utf-8", newline="")
    if not title.strip():
        assert "Measured rig" in scene_text_from_measures(path)
        return
    try:
        text = scene_text_from_measures(path)
    except InputError as error:
        assert all(fault.line for fault in error.faults)  # noqa: PT017
        return
    assert scene_from_text(text).spec.name.split() == title.split()
