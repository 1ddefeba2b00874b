"""shank-travel: slide to spare, and shanks that are too short or too long."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import FlatShank, RigidHolder
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
SLIDE = "place1.point_shank.slide"


def at_height(rig: Rig, height_mm: float, limits: str = "{}") -> Assembly:
    toolbar = f"{{tube: tube-2x1-4, length: 72, height: {height_mm:.6f} mm}}"
    tractor = "{use: small-belly, frame: {clearance: 60}, lift: {lowest: 4, highest: 40}}"
    stations = "[{use: point-rigid, at: [0], depth: 1}]"
    return rig(stations=stations, toolbar=toolbar, tractor=tractor, limits=limits)


@pytest.mark.parametrize("end", ["high", "low"])
@pytest.mark.parametrize(
    ("left", "verdict"),
    [
        (-0.01, Verdict.FAIL),
        (0.0, Verdict.ADVISE),
        (12.7 - 0.01, Verdict.ADVISE),
        (12.7, Verdict.PASS),
        (40.0, Verdict.PASS),
    ],
)
def test_slide_left_on_both_sides_of_the_limits(
    rig: Rig, finds: Find, end: str, left: float, verdict: Verdict
) -> None:
    slide = at_height(rig, 20.0 * INCH).adjustment[SLIDE]
    wanted = slide.high - left if end == "high" else slide.low + left
    (finding,) = finds(at_height(rig, 20.0 * INCH + wanted - slide.wanted), "shank-travel")
    assert finding.value == pytest.approx(left, abs=1e-5)
    assert finding.verdict is verdict
    if verdict is Verdict.FAIL:
        assert f"too {'short' if end == 'high' else 'long'}" in finding.message


def test_the_range_is_the_shank_less_the_holder_and_both_ends(rig: Rig) -> None:
    # Arithmetic: a 26 in shank in a 3 in holder with 1/2 in showing at each end.
    assembly = at_height(rig, 20.0 * INCH)
    catalogue = assembly.scene.catalogue.parts
    shank = catalogue[assembly.mechanism.part("place1.point_shank").item]
    holder = catalogue[assembly.mechanism.part("place1.point_holder").item]
    assert isinstance(shank, FlatShank)
    assert isinstance(holder, RigidHolder)
    half = holder.height / 2.0
    slide = assembly.adjustment[SLIDE]
    assert slide.low == pytest.approx(half + 12.7)
    assert slide.high == pytest.approx(shank.length - half - 12.7)


def test_another_shank_or_height_is_the_remedy(rig: Rig, cured: Find) -> None:
    (finding,) = cured(at_height(rig, 28.0 * INCH), "shank-travel")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path in (
        ("stations", 0, "swap", "point_shank"),
        ("toolbar", "height"),
    )


def test_less_showing_at_the_ends_gives_more_range(rig: Rig, finds: Find) -> None:
    (short,) = finds(at_height(rig, 20.0 * INCH), "shank-travel")
    (long,) = finds(at_height(rig, 20.0 * INCH, "{shank_end: 0}"), "shank-travel")
    assert short.value is not None
    assert long.value == pytest.approx(short.value + 12.7, abs=1e-6)
