"""Fields and faults: what each field takes, and that every slip becomes one plain sentence."""

from __future__ import annotations

from contextlib import suppress
from enum import Enum
from pathlib import Path
from typing import Annotated, Any, Literal

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, model_validator

from rigmodel.errors import MOST_FAULTS_SHOWN, Fault, InputError, ReadingError, shown
from rigmodel.reading.faults import faults_from, path_text
from rigmodel.reading.fields import (
    Angle,
    Count,
    Flag,
    Ident,
    Length,
    Name,
    NonNegativeLength,
    Number,
    PositiveLength,
    RelativePath,
    inside,
    length,
)
from rigmodel.reading.source import parse_source
from rigmodel.units import Unit


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Colour(Enum):
    RED = "red"
    GREEN = "green"


class Hoe(Strict):
    kind: Literal["hoe"]
    width: PositiveLength
    tilt: Angle = Field(default=0.0, ge=-45, le=45)


class Wheel(Strict):
    kind: Literal["wheel"]
    diameter: PositiveLength


class Inner(Strict):
    depth: NonNegativeLength
    at: Literal["rows", "gaps"] | tuple[Length, ...] = "rows"
    rank: Length | tuple[Length, ...] = 0.0
    place: tuple[Length, Length, Length] = (0.0, 0.0, 0.0)
    inner: tuple[Inner, ...] = ()


class Plain(Strict):
    size: PositiveLength
    wall: PositiveLength


class Long(Strict):
    reach: PositiveLength
    load: Number
    colour: Colour = Colour.RED


class Scene(Strict):
    units: Literal["mm", "cm", "m", "in", "ft"]
    title: str = Field(default="x", min_length=1, max_length=10)
    count: Count = Field(default=1, ge=1, le=64)
    short: Annotated[float, length(min_mm=5.0, max_mm=10_000.0)] = 5.0
    flag: Flag = False
    name: Name | None = None
    colour: Colour = Colour.RED
    tool: Annotated[Hoe | Wheel, Field(discriminator="kind")] | None = None
    tools: dict[Ident, Annotated[Hoe | Wheel, Field(discriminator="kind")]] = Field(
        default_factory=dict
    )
    any_of: Plain | Long | None = None
    stations: Annotated[tuple[Inner, ...], Field(min_length=1, max_length=3)]
    files: tuple[RelativePath, ...] = ()
    sizes: dict[str, PositiveLength] = Field(default_factory=dict)
    whole: int = 0
    real: float = 0.0

    @model_validator(mode="after")
    def _agree(self) -> Scene:
        if self.count == 13:
            raise ValueError("thirteen is unlucky;\n  take another")
        return self


GOOD = "units: in\nstations:\n  - depth: 1\n"


def found(text: str) -> list[Fault]:
    source = parse_source(text, "s.yaml")
    with pytest.raises(ValidationError) as caught:
        Scene.model_validate(source.root.plain(), context={"unit": Unit.IN})
    faults = faults_from(caught.value, source, Scene)
    assert list(InputError(faults).faults) == list(faults)
    for fault in faults:
        assert fault.file == "s.yaml"
        assert fault.line > 0
        for noise in ("Value error", "Input should", "function-", "tuple[", "literal["):
            assert noise not in fault.text()
    return list(faults)


# What is added to a good scene, and line, path and words of each fault it must give.
SLIPS: list[tuple[str, list[tuple[int, str, str]]]] = [
    ("titel: x", [(4, "", "'titel' is not a key known here;")]),
    ("titel: x", [(4, "", "did you mean 'title'?")]),
    ("STATIONS: 3", [(4, "", "did you mean 'stations'?")]),
    ("any of: 3", [(4, "", "did you mean 'any_of'?")]),
    ("zzz:\n  a: b", [(4, "", "'zzz' is not a key known here")]),
    ("title: ''", [(4, "title", "nothing is written here")]),
    ("title: [a]", [(4, "title", "a list is given here; expected a text")]),
    ("title: elevenchars", [(4, "title", "too long; expected a text of at most 10 characters")]),
    ("title:", [(4, "title", "nothing is given here; expected a text")]),
    ("count: 0", [(4, "count", "'0' is too small; expected a whole number, which must be")]),
    ("count: 65", [(4, "count", "at least 1 and at most 64")]),
    ("count: 2.5", [(4, "count", "'2.5' is not a whole number")]),
    ("count: [1]", [(4, "count", "a list is given where one value is needed")]),
    ("count: {a: b}", [(4, "count", "a section is given where one value is needed")]),
    ("count: ~", [(4, "count", "nothing is given here; expected a whole number")]),
    ("count: 13", [(1, "", "s.yaml:1: thirteen is unlucky; take another")]),
    ("short: 4 mm", [(4, "short", "must be at least 5 mm and at most 10 m")]),
    ("short: 11 m", [(4, "short", "'11 m' is too large")]),
    ("short: 12:30", [(4, "short", "'12:30' is not a length; expected a length such as")]),
    ("short: 12,5", [(4, "short", "write 12.5")]),
    ("flag: on", [(4, "flag", "'on' is neither yes nor no; expected true, false, yes or no")]),
    ("flag: TRUE", [(4, "flag", "write true")]),
    ("flag: [yes]", [(4, "flag", "a list is given")]),
    ("name: a/b", [(4, "name", "'a/b' cannot be used here; expected a name")]),
    ("colour: rde", [(4, "colour", "expected red or green; did you mean 'red'?")]),
    ("colour: [red]", [(4, "colour", "a list is given here; expected red or green")]),
    ("tool: {kind: hoe, width: x}", [(4, "tool.width", "'x' is not a length")]),
    ("tool: {kind: hoes, width: 1}", [(4, "tool.kind", "hoe or wheel; did you mean 'hoe'?")]),
    ("tool: {width: 1}", [(4, "tool", "field 'kind' is missing; expected hoe or wheel")]),
    ("tool: hoe", [(4, "tool", "'hoe' cannot be used here; expected a section")]),
    ("tool: {kind: hoe}", [(4, "tool", "field 'width' is missing; expected a length")]),
    ("tool:\n  kind: hoe\n  widht: 3", [(6, "tool", "did you mean 'width'?")]),
    ("tool: {kind: wheel, diameter: 1, width: 2}", [(4, "tool", "'width' is not a key known")]),
    (
        "tool: {kind: hoe, width: 1, tilt: -46 deg}",
        [(4, "tool.tilt", "'-46 deg' is too small; expected an angle in degrees, which must")],
    ),
    ("tool: {kind: hoe, width: 1, tilt: 1 rad}", [(4, "tool.tilt", "'rad' in '1 rad' is not")]),
    ("tools: [a]", [(4, "tools", "a list is given here; expected a section")]),
    ("tools:\n  a: {kind: hoe, width: 0}", [(5, "tools.a.width", "more than 0 and at most 100 m")]),
    (
        "tools:\n  A b: {kind: hoe, width: -1}",
        [(5, "tools['A b']", "write a-b"), (5, "tools['A b'].width", "too small")],
    ),
    ("any_of: {size: 1}", [(4, "any_of", "field 'wall' is missing")]),
    ("any_of: {size: 1, wall: x}", [(4, "any_of.wall", "'x' is not a length")]),
    ("any_of: {reach: 1, load: 1e3}", [(4, "any_of.load", "has an exponent")]),
    ("any_of: {reach: 1, load: 2, colour: x}", [(4, "any_of.colour", "red or green")]),
    ("any_of: x", [(4, "any_of", "'x' cannot be used here; expected a section")]),
    ("files: [../a, /b, 'c:/d', a\\b]", [
        (4, "files[1]", "climbs out"), (4, "files[2]", "does not begin in the folder"),
        (4, "files[3]", "does not begin in the folder"), (4, "files[4]", "backslash")]),
    ("files: a", [(4, "files", "'a' cannot be used here; expected a list of values, each a file")]),
    ("sizes:\n  9.5-24: x\n  b: y", [
        (5, "sizes['9.5-24']", "'x' is not a length"), (6, "sizes.b", "'y' is not a length")]),
    ("whole: x", [(4, "whole", "'x' cannot be used here; expected a whole number")]),
    ("real: [1]", [(4, "real", "a list is given here; expected a number")]),
    ("titel: x\nshort: y\n", [(4, "", "'titel'"), (5, "short", "'y'")]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), SLIPS)
def test_each_slip_is_one_plain_sentence(text: str, expected: list[tuple[int, str, str]]) -> None:
    faults = found(GOOD + text)
    assert [(fault.line, fault.path) for fault in faults] == [slip[:2] for slip in expected]
    for fault, (_, _, words) in zip(faults, expected, strict=True):
        assert words in fault.text()


STATIONS: list[tuple[str, list[tuple[int, str, str]]]] = [
    ("units: mm", [(1, "", "list 'stations' is missing")]),
    ("units: mm\nstation: []", [(2, "", "did you mean 'stations'?")]),
    ("units: mm\nstations: []", [(2, "stations", "holds too few items; expected at least 1")]),
    ("units: mm\nstations:", [(2, "stations", "nothing is given here; expected a list")]),
    (
        "units: mm\nstations: [{depth: 1}, {depth: 1}, {depth: 1}, {depth: 1}]",
        [(2, "stations", "too many items; expected at most 3")],
    ),
    ("units: inch\nstations: [{depth: 1}]", [(1, "units", "did you mean 'in'?")]),
    ("stations: [{depth: 1}]", [(1, "", "field 'units' is missing; expected mm, cm, m, in or ft")]),
    ("units: mm\nstations: [depth]", [(2, "stations[1]", "expected a section with depth, at,")]),
    ("units: mm\nstations:\n- depth: 1\n- depth: -1", [(4, "stations[2].depth", "too small")]),
    ("units: mm\nstations:\n- depth: 1\n  depht: 1", [(4, "stations[1]", "did you mean 'depth'?")]),
    ("units: mm\nstations:\n- depht: 1", [(3, "stations[1]", "did you mean 'depth'?")]),
    (
        "units: mm\nstations:\n- depth: 1\n  at: rowz",
        [(4, "stations[1].at", "rows or gaps, or a list of values, each a length")],
    ),
    ("units: mm\nstations:\n- depth: 1\n  at: [1, x]", [(4, "stations[1].at[2]", "'x' is not")]),
    ("units: mm\nstations:\n- depth: 1\n  at: {a: 1}", [(4, "stations[1].at", "a section is")]),
    (
        "units: mm\nstations:\n- depth: 1\n  rank: x",
        [(4, "stations[1].rank", "'x' is not a length; expected a length such as")],
    ),
    ("units: mm\nstations:\n- depth: 1\n  rank: 900 m", [(4, "stations[1].rank", "too large")]),
    ("units: mm\nstations:\n- depth: 1\n  rank: [[]]", [(4, "stations[1].rank[1]", "a list")]),
    (
        "units: mm\nstations:\n- depth: 1\n  place: [1, 2]",
        [(4, "stations[1].place", "item 3 of this list is missing; expected a list of 3")],
    ),
    (
        "units: mm\nstations:\n- depth: 1\n  place: [1, 2, 3, 4]",
        [(4, "stations[1].place", "too many items; expected at most 3")],
    ),
    (
        "units: mm\nstations:\n- depth: 1\n  inner:\n  - depth: 1\n    inner:\n    - depth: x",
        [(7, "stations[1].inner[1].inner[1].depth", "'x' is not a length")],
    ),
]


@pytest.mark.parametrize(("text", "expected"), STATIONS)
def test_each_slip_in_lists_and_unions(text: str, expected: list[tuple[int, str, str]]) -> None:
    faults = found(text)
    assert [(fault.line, fault.path) for fault in faults] == [slip[:2] for slip in expected]
    for fault, (_, _, words) in zip(faults, expected, strict=True):
        assert words in fault.text()


def test_the_whole_sentence() -> None:
    [fault] = found(GOOD + "short: 12:30")
    assert fault.text() == (
        "s.yaml:4: short: '12:30' is not a length; expected a length such as 15, 2 1/2 in or 380 mm"
    )
    assert (fault.column, fault.value) == (8, "12:30")


WORDS = st.sampled_from(
    ["x", "1", "-1", "2 in", "on", "rows", "hoe", "1e999", "", "~", "[]", "[1, x]", "{}", "{a: 1}",
     "[[1]]", "{kind: hoe}", "{kind: x}", "{depth: x}", "[{depth: 1, rank: [x]}]", "'é'"]
)  # fmt: skip


@given(
    st.dictionaries(st.sampled_from([*Scene.model_fields, "titel", "x y", "12"]), WORDS, min_size=1)
)
@settings(max_examples=200)
def test_any_scene_is_read_or_gives_faults(entries: dict[str, str]) -> None:
    source = parse_source("".join(f"{key}: {value}\n" for key, value in entries.items()), "f")
    try:
        Scene.model_validate(source.root.plain())
    except ValidationError as error:
        faults = faults_from(error, source, Scene)
        assert faults
        assert len({(fault.path, fault.value, fault.message) for fault in faults}) == len(faults)
        assert all(fault.text().count("\n") == 0 for fault in faults)


@pytest.mark.parametrize(
    ("loc", "text"),
    [
        ((), ""),
        (("a",), "a"),
        (("stations", 1, "depth"), "stations[2].depth"),
        (("at", 0, 2), "at[1][3]"),
        (("tyres", "9.5-24", "width"), "tyres['9.5-24'].width"),
        (("tyres", "a b"), "tyres['a b']"),
    ],
)
def test_paths_count_from_one(loc: tuple[str | int, ...], text: str) -> None:
    assert path_text(loc) == text


def read(kind: Any, value: object, unit: Unit | str | None = Unit.IN) -> Any:
    context = None if unit is None else {"unit": unit}
    return TypeAdapter(kind).validate_python(value, context=context)


TAKEN: list[tuple[Any, object, object]] = [
    (Length, "2 1/2", 63.5),
    (Length, "15 mm", 15.0),
    (Length, 2.5, 63.5),
    (Length, 2, 50.8),
    (Length, -2, -50.8),
    (Length, 1e-7, 2.54e-06),
    (Length, "-100 m", -100_000.0),
    (PositiveLength, "1/64", 0.396875),
    (NonNegativeLength, "0", 0.0),
    (Angle, "5 deg", 5.0),
    (Angle, -12.5, -12.5),
    (Angle, "360", 360.0),
    (Number, "0.25", 0.25),
    (Number, 1e-9, 1e-9),
    (Number, 3, 3.0),
    (Count, "3", 3),
    (Count, 3, 3),
    (Count, "0", 0),
    (Flag, "true", True),
    (Flag, "yes", True),
    (Flag, "false", False),
    (Flag, "no", False),
    (Flag, True, True),
    (Flag, False, False),
    (Name, "Left clamp 2.5-b_c", "Left clamp 2.5-b_c"),
    (Name, "Häufelkörper", "Häufelkörper"),
    (Name, "x" * 60, "x" * 60),
    (Ident, "row-blade_2", "row-blade_2"),
    (Ident, "2", "2"),
    (RelativePath, "own.yaml", "own.yaml"),
    (RelativePath, "./parts/a..b.yaml", "./parts/a..b.yaml"),
]


@pytest.mark.parametrize(("kind", "value", "result"), TAKEN)
def test_what_fields_take(kind: Any, value: object, result: object) -> None:
    got = read(kind, value)
    assert got == result
    assert type(got) is type(result)


ALWAYS_WRONG: list[object] = [None, [], ["1"], (), {}, {"a": 1}, "", " ", "12:30\n", b"1", object()]
REFUSED: list[tuple[Any, list[object]]] = [
    (Length, [True, False, "on", "nan", float("nan"), float("inf"), 10**20, 10**6000, "101 m"]),
    (PositiveLength, ["0", "-1", 0, -0.0, "1e-400", True]),
    (NonNegativeLength, ["-1/64", -1]),
    (Angle, ["361", "1 rad", "5 mm", True, float("nan"), 400]),
    (Number, ["1e3", "1/2", True, float("inf"), "x"]),
    (Count, ["-1", -1, "1.0", 1.0, 2.5, True, 10**12, "1e2"]),
    (Flag, ["on", "off", "True", "YES", "y", "n", "1", "0", 1, 0, 1.0]),
    (Name, ["a/b", "a\\b", "a\tb", "-a", ".a", "_a", " a", "a ", "a:b", "x" * 61, 5, True, "a\n"]),
    (Ident, ["A", "a b", "-a", "_a", "a.b", "é", "x" * 61, "a/b", 5, "a\n", "٣"]),
    (RelativePath, ["/a", "../a", "a/../../b", "~/a", "c:\\a", "c:a", "a\\b", "a\x00", "..", 5,
                    "x" * 300, "a\nb"]),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "values"), REFUSED, ids=range(len(REFUSED)))
def test_what_fields_refuse_in_plain_words(kind: Any, values: list[object]) -> None:
    for value in values + ALWAYS_WRONG:
        with pytest.raises(ValidationError) as caught:
            read(kind, value)
        [details] = caught.value.errors()
        raised = details["ctx"]["error"]
        assert isinstance(raised, ReadingError)
        assert raised.problem
        assert raised.expected
        assert "\n" not in str(raised)


@pytest.mark.parametrize(
    ("unit", "mm"), [(None, 2.0), (Unit.MM, 2.0), (Unit.CM, 20.0), ("m", 2000.0), ("ft", 609.6)]
)
def test_bare_numbers_take_the_unit_of_the_context(unit: Unit | str | None, mm: float) -> None:
    assert [read(Length, value, unit) for value in ("2", 2, 2.0)] == [mm] * 3


@given(value=st.floats(-3.0, 3.0), unit=st.sampled_from(list(Unit)))
@settings(max_examples=60)
def test_python_numbers_read_as_their_text(value: float, unit: Unit) -> None:
    assert read(Length, value, unit) == read(Length, repr(value), unit)


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.binary(),
        lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(), inner, max_size=2),
        max_leaves=3,
    )
)
@settings(max_examples=150)
def test_fields_raise_nothing_but_validation_errors(value: object) -> None:
    for kind in (Length, Angle, Number, Count, Flag, Name, Ident, RelativePath):
        with suppress(ValidationError):
            read(kind, value)


def test_bounds_must_leave_room() -> None:
    assert length(min_mm=1.0, max_mm=2.0).bounds == "at least 1 mm and at most 2 mm"
    assert length(above_mm=0.0, max_mm=10_000.0).bounds == "more than 0 and at most 10 m"
    with pytest.raises(ValueError, match="not both"):
        length(min_mm=1.0, above_mm=1.0)
    with pytest.raises(ValueError, match="no length lies"):
        length(min_mm=2.0, max_mm=2.0)


def test_bounds_on_both_sides_of_a_length() -> None:
    kind = Annotated[float, length(min_mm=5.0, max_mm=10.0)]
    assert [read(kind, text) for text in ("5 mm", "10 mm")] == [5.0, 10.0]
    for text in ("4.999 mm", "10.001 mm"):
        with pytest.raises(ValidationError, match="must be at least 5 mm and at most 10 mm"):
            read(kind, text)


def test_json_schema_tells_forms_and_bounds() -> None:
    schema = Scene.model_json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    short = schema["properties"]["short"]
    assert short["type"] == ["string", "number"]
    assert short["x-unit"] == "mm"
    assert (short["x-minimum-mm"], short["x-maximum-mm"]) == (5.0, 10_000.0)
    assert "2 1/2 in" in short["description"]
    width = schema["$defs"]["Hoe"]["properties"]["width"]
    assert width["x-exclusive-minimum-mm"] == 0.0
    tilt = schema["$defs"]["Hoe"]["properties"]["tilt"]
    assert (tilt["minimum"], tilt["maximum"], tilt["x-unit"]) == (-45, 45, "deg")
    valid = jsonschema.Draft202012Validator(schema).is_valid
    assert valid({"units": "in", "stations": [{"depth": "2 1/2 in", "rank": [1, "2"]}]})
    assert valid({"units": "in", "stations": [{"depth": 1}], "flag": "yes", "name": "A b"})
    assert not valid({"units": "in", "stations": [{"depth": True}]})
    assert not valid({"units": "in", "stations": [{"depth": 1}], "flag": "on"})
    assert not valid({"units": "in", "stations": [{"depth": 1}], "name": "a/b"})


def test_inside_follows_links_and_stays_in_the_folder(tmp_path: Path) -> None:
    home = tmp_path / "home"
    (home / "parts").mkdir(parents=True)
    (tmp_path / "out.yaml").write_text("a: 1")
    (home / "parts" / "own.yaml").write_text("a: 1")
    (home / "good").symlink_to(home / "parts" / "own.yaml")
    (home / "bad").symlink_to(tmp_path / "out.yaml")
    (home / "up").symlink_to(tmp_path)
    (home / "loop").symlink_to(home / "loop")
    (tmp_path / "alias").symlink_to(home)
    own = (home / "parts" / "own.yaml").resolve()
    assert inside(home, "parts/own.yaml") == own
    assert inside(home, "./good") == own
    assert inside(tmp_path / "alias", "good") == own
    assert inside(home, "not yet there.yaml") == home.resolve() / "not yet there.yaml"
    for text in ("bad", "up/out.yaml", "up", "loop", "../out.yaml", str(own), "", "a\x00b"):
        with pytest.raises(ValueError, match="expected a file in"):
            inside(home, text)


def fault(line: int, message: str = "m", file: str = "f", column: int = 1) -> Fault:
    return Fault(message, file, line, column, "", "")


def test_errors_are_sorted_once_each_and_cut() -> None:
    faults = [
        fault(9),
        fault(2, "b", column=7),
        fault(2, "a", column=3),
        fault(9),
        fault(1, file="e"),
    ]
    error = InputError(faults)
    assert error.text() == str(error) == "e:1: m\nf:2: a\nf:2: b\nf:9: m"
    assert len(error.faults) == 4
    many = InputError([fault(line) for line in range(1, MOST_FAULTS_SHOWN + 4)])
    assert str(many).split("\n")[MOST_FAULTS_SHOWN:] == ["... and 3 more"]
    exact = InputError([fault(line) for line in range(1, MOST_FAULTS_SHOWN + 1)])
    assert len(str(exact).split("\n")) == MOST_FAULTS_SHOWN


def test_fault_text_leaves_out_what_is_empty() -> None:
    assert Fault("m", "f", 0, 0, "", "").text() == "f: m"
    assert Fault("m", "f", 3, 1, "v", "e", "h?", "a.b").text() == "f:3: a.b: m; expected e; h?"


@given(st.text(max_size=200))
@settings(max_examples=60)
def test_shown_is_one_short_printable_line(text: str) -> None:
    result = shown(text)
    assert result.isprintable()
    assert result.startswith("'")
    assert result.endswith("'")
    assert len(result) <= 60 * 10 + 2
