"""A measure or a name is never broken over two lines."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.lines import bound, wrapped
from rigmodel.units import Unit, format_length

WORDS = st.lists(
    st.one_of(
        st.sampled_from(("wheel", "keep-out", "row1.left.finger_wheel", "(load-shank)", "is", "a")),
        st.builds(
            format_length, st.floats(-3000.0, 3000.0), st.sampled_from((Unit.IN, Unit.FT, Unit.MM))
        ),
    ),
    min_size=1,
    max_size=40,
)


@given(WORDS, st.integers(12, 100), st.integers(0, 6))
def test_no_line_ends_inside_a_measure_or_a_name(words: list[str], width: int, rest: int) -> None:
    lines = wrapped(" ".join(words), width, rest)
    assert " ".join(line.strip() for line in lines) == " ".join(words)
    for line in lines:
        assert line == line.rstrip()
        assert not line.lstrip().startswith(("in ", "mm ", "ft ")), lines
        assert line.lstrip() not in ("in", "mm", "ft"), lines
    for line, after in pairwise(lines):
        assert not (line[-1:].isdigit() and "/" in after.split()[0]), lines


@given(WORDS, st.integers(30, 100))
def test_no_line_is_too_wide_where_each_word_fits(words: list[str], width: int) -> None:
    assert all(len(line) <= width for line in wrapped(" ".join(words), width, 4))


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("an inch more: 1 1/4 in is needed", 18, ["an inch more:", "1 1/4 in is needed"]),
        ("turn it by -19.8 ° or 2.5 kg", 16, ["turn it by", "-19.8 ° or", "2.5 kg"]),
        ("gap of 3 in 4 rows", 11, ["gap of 3 in", "4 rows"]),
        ("(load-bar, load-shank)", 14, ["(load-bar,", "load-shank)"]),
        ("", 20, [""]),
        ("  - one two", 9, ["  - one", "    two"]),
    ],
)
def test_where_lines_end(text: str, width: int, lines: list[str]) -> None:
    assert wrapped(text, width, 4 if text.startswith("  - ") else 0) == lines


@given(st.text())
def test_binding_changes_spaces_only_and_only_once(text: str) -> None:
    once = bound(text)
    assert bound(once) == once
    assert once.replace("\u00a0", " ") == text.replace("\u00a0", " ")
