"""What a study says of its cases: the most robust choice, stretches that fit, the page."""

from __future__ import annotations

from html.parser import HTMLParser

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from rigmodel.advise.study import fits, page
from rigmodel.advise.study.cases import FITS, Outcome, Result
from rigmodel.advise.study.plan import Axis, StudyPlan
from rigmodel.advise.study.results import held
from rigmodel.units import Unit


def made(shape: tuple[int, ...], ends: list[Outcome]) -> tuple[StudyPlan, list[Result]]:
    axes = tuple(
        Axis(f"axis {i}", (f"a{i}",), tuple('""' for _ in range(n)), tuple(map(str, range(n))))
        for i, n in enumerate(shape)
    )
    results = [
        Result(i, end, float(i % 7), "lift", () if end in FITS else ("lift",), "lift: why")
        for i, end in enumerate(ends)
    ]
    return StudyPlan("made", '{"units": "in"}', "scene.yaml", axes, None, (), "p"), results


shapes = st.tuples(st.integers(1, 3), st.integers(1, 4), st.integers(1, 4))
grids = shapes.flatmap(
    lambda shape: st.tuples(
        st.just(shape),
        st.lists(
            st.sampled_from(list(Outcome)),
            min_size=int(np.prod(shape)),
            max_size=int(np.prod(shape)),
        ),
    )
)


@settings(max_examples=40)
@given(grids)
def test_the_most_robust_choice_by_trying_all(grid: tuple[tuple[int, ...], list[Outcome]]) -> None:
    found, results = made(*grid)
    bad = [found.place(r.case) for r in results if r.outcome not in FITS]
    good = [r for r in results if r.outcome in FITS]
    best = fits.robust(found, held(results))
    if not good:
        assert best is None
        return
    assert best is not None
    if not bad:
        assert best.steps is None
        return
    steps = {
        r.case: min(
            max(abs(a - b) for a, b in zip(found.place(r.case), b, strict=True)) for b in bad
        )
        for r in good
    }
    assert best.steps == max(steps.values()) == steps[best.result.case]


@settings(max_examples=40)
@given(grids)
def test_stretches_hold_every_case_that_fits_and_no_other(
    grid: tuple[tuple[int, ...], list[Outcome]],
) -> None:
    found, results = made(*grid)
    told = list(fits.stretches(found, held(results)))
    assert sum(s.cases for s in told) == sum(r.outcome in FITS for r in results)
    for stretch in told:
        for stop in (stretch.before, stretch.after):
            assert stop is None or stop.outcome not in FITS


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))
        if tag not in ("meta", "link"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@settings(max_examples=15)
@given(grids)
def test_the_page_draws_every_case_and_asks_for_nothing(
    grid: tuple[tuple[int, ...], list[Outcome]],
) -> None:
    found, results = made(*grid)
    text = page.study_page(found, held(results), Unit.IN, "0")
    tags = _Tags()
    tags.feed(text)
    assert not tags.open
    cells = [a for t, a in tags.seen if t == "g" and (a.get("class") or "").startswith("cell")]
    assert len(cells) == len(results)
    assert not [
        a for _, a in tags.seen if (a.get("src") or a.get("href") or "data:")[:5] != "data:"
    ]
    assert f"= {len(results)} cases" in text


def test_text_of_a_study_cannot_break_out_of_the_page() -> None:
    found, results = made((2,), [Outcome.PASS, Outcome.FAIL])
    evil = "</script><b onload=x>&"
    axis = Axis(evil, ("a",), ('""', '""'), (evil, "b"))
    named = StudyPlan(evil, found.scene, evil, (axis,), None, (), "p")
    text = page.study_page(named, held(results), Unit.IN, "0")
    assert "<b onload" not in text
    assert "</script>" not in text
