"""What the fitter writes in another way is the same rig: units, order of stations, names."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigmodel.clearance.finding import Finding

Find = Callable[[str], tuple[Finding, ...]]
Same = Callable[[tuple[Finding, ...], tuple[Finding, ...]], None]

HEAD = """
name: {title}
units: {units}
rows: {{count: 2, spacing: {spacing}, keep_out: {band}}}
tractor: {{use: small-belly}}
toolbar: {{tube: tube-2x1-4, length: {length}, height: {height}}}
stations:
"""
STATIONS = [
    "  - {{use: finger-pair, at: rows, pair_gap: {gap}, depth: {shallow}, rank: [0, {back}]{a}}}",
    "  - {{use: blade-rigid, at: gaps, depth: {deep}{b}}}",
    "  - {{use: blade-spring, at: outside, depth: {deep}{c}}}",
    "  - {{use: point-rigid, at: tracks, depth: {deep}{d}}}",
]
INCHES = {
    "spacing": 14.0,
    "band": 2.5,
    "length": 66.0,
    "height": 20.0,
    "gap": 1.5,
    "shallow": 0.5,
    "deep": 1.0,
    "back": -8.0,
}
SIZE = {"in": 25.4, "mm": 1.0, "cm": 10.0, "m": 1000.0, "ft": 304.8}


def text(
    units: str = "in",
    order: tuple[int, ...] = (0, 1, 2, 3),
    names: tuple[str, str, str, str] = ("", "", "", ""),
    title: str = "a rig",
    **changes: float,
) -> str:
    lengths = {k: v * 25.4 / SIZE[units] for k, v in {**INCHES, **changes}.items()}
    written: dict[str, str] = {k: f"{v:.9f}" for k, v in lengths.items()}
    written |= {k: f", name: {n}" if n else "" for k, n in zip("abcd", names, strict=True)}
    lines = HEAD + "\n".join(STATIONS[i] for i in order) + "\n"
    return lines.format(units=units, title=title, **written)


@pytest.mark.parametrize("units", ["mm", "cm", "m", "ft"])
def test_every_unit_gives_the_same_findings(found: Find, same: Same, units: str) -> None:
    same(found(text("in")), found(text(units)))


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.permutations([0, 1, 2, 3]), st.sampled_from([12.0, 14.0]))
def test_the_order_of_stations_in_the_file_does_not_matter(
    found: Find, same: Same, order: list[int], spacing: float
) -> None:
    same(
        found(text(spacing=spacing, back=0.0)),
        found(text(order=tuple(order), spacing=spacing, back=0.0)),
    )


def test_names_do_not_matter(found: Find, same: Same) -> None:
    names = ("wheels", "between", "beside", "tracks")
    same(found(text()), found(text(names=names, title="Another title")))


def test_the_order_of_keys_does_not_matter(found: Find, same: Same) -> None:
    lines = text().strip().splitlines()
    start = lines.index("stations:")
    head, tail = lines[:start], lines[start:]
    same(found(text()), found("\n".join([*tail, *reversed(head)])))
