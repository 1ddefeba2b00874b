"""Small rigs as scene text, and what is compared of their findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.clearance.finding import Finding
from rigmodel.clearance.runner import run
from rigmodel.spec.load import scene_from_text

Told = tuple[str, str, str]


def _found(text: str) -> tuple[Finding, ...]:
    return run(assemble(scene_from_text(text)))


def _told(found: tuple[Finding, ...]) -> Counter[Told]:
    """Check, verdict and limit of every finding: what no change of words may touch."""
    return Counter((f.check, f.verdict.value, f"{f.limit or 0.0:.4f} {f.unit}") for f in found)


def _values(found: tuple[Finding, ...]) -> list[tuple[str, float, float]]:
    """Check, value and error bound of every finding, in an order of their own."""
    return sorted((f.check, f.value or 0.0, f.error_bound) for f in found)


@pytest.fixture
def found() -> Callable[[str], tuple[Finding, ...]]:
    """Findings of a scene given as text, without remedies."""
    return _found


@pytest.fixture
def same() -> Callable[[tuple[Finding, ...], tuple[Finding, ...]], None]:
    """Asserts that two lists of findings agree in all but names and sides."""

    def agree(one: tuple[Finding, ...], other: tuple[Finding, ...]) -> None:
        assert _told(one) == _told(other)
        for (check, a, e), (_, b, g) in zip(_values(one), _values(other), strict=True):
            assert abs(a - b) <= e + g + 1e-5, (check, a, b)

    return agree
