"""A table of answers that forgets: what it still knows is right, and it stays small."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rigmodel.recent import Recent

steps = st.lists(st.tuples(st.booleans(), st.integers(0, 12)), max_size=80)


@given(st.integers(1, 6), steps)
def test_never_a_wrong_answer_and_never_many(most: int, done: list[tuple[bool, int]]) -> None:
    table: Recent[int, int] = Recent(most)
    truth: dict[int, int] = {}
    for number, (keep, key) in enumerate(done):
        if keep:
            truth[key] = number
            assert table.keep(key, number) == number
            assert table.get(key) == number
        else:
            assert table.get(key) in (None, truth.get(key))
        assert len(table) <= 2 * most


def test_what_is_asked_for_stays() -> None:
    table: Recent[int, str] = Recent(2)
    table.keep(0, "zero")
    for key in range(1, 20):
        table.keep(key, str(key))
        assert table.get(0) == "zero"
