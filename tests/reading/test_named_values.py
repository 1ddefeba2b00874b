"""Lists of named values: every value is read, or its line is told; none is dropped."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.errors import InputError
from rigmodel.reading.named_values import NamedValue, read_named_values

WORDS = st.text("abc123./ ", min_size=1, max_size=8).map(str.strip).filter(bool)


def read(path: Path) -> tuple[NamedValue, ...]:
    return read_named_values(path, ("name", "mark"), ("measured", "value"))


@given(st.dictionaries(WORDS, WORDS, max_size=6), st.sampled_from(",;\t"))
def test_every_value_of_a_table_comes_back(
    tmp_path_factory: pytest.TempPathFactory, values: dict[str, str], mark: str
) -> None:
    path = tmp_path_factory.mktemp("values") / "values.csv"
    lines = [f"note{mark}Name{mark}VALUE", *(f"x{mark}{k}{mark}{v}" for k, v in values.items())]
    path.write_text("\n".join(lines) + "\n\n", encoding="utf-8")
    found = read(path)
    assert [(one.name, one.text) for one in found] == list(values.items())
    assert [one.line for one in found] == list(range(2, len(values) + 2))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("row1,412,5", "values.csv:2: there are more values on this line than columns: '5'"),
        (",12", "values.csv:2: '12' has no name beside it"),
        ('row1,"12', "values.csv"),
    ],
)
def test_a_line_that_is_more_or_less_than_a_value_is_told(
    tmp_path: Path, line: str, says: str
) -> None:
    path = tmp_path / "values.csv"
    path.write_text(f"name,measured\n{line}\n")
    with pytest.raises(InputError) as caught:
        read(path)
    assert says in str(caught.value)


def test_trailing_separators_of_a_spreadsheet_are_no_values(tmp_path: Path) -> None:
    path = tmp_path / "values.csv"
    path.write_text("name,measured,,\nrow1,12,,\nrow2,13,,,,\n")
    assert [one.text for one in read(path)] == ["12", "13"]


def test_yaml_says_the_same_as_csv(tmp_path: Path) -> None:
    path = tmp_path / "values.yaml"
    path.write_text("row1: 12\nrow2:\nrows: [1, 2]\n")
    assert read(path) == (
        NamedValue("row1", "12", 1),
        NamedValue("row2", "", 2),
        NamedValue("rows", "1, 2", 3),
    )
    path.write_text("row1: {low: 3}\n")
    with pytest.raises(InputError, match="holds a section"):
        read(path)
