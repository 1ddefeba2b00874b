"""load-bar: stress in the toolbar on its hangers, and what its sag does to the depth."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.load_lift import other_walls
from rigmodel.clearance.finding import Choice, Finding, Knob, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft
from rigmodel.loads.bar import ASSUMED, BarResult, missing, solve_bar
from rigmodel.loads.constants import ENGINEER

ID = "load-bar"
STATEMENT = "The bar carries weight and draft, and its sag keeps the tools at their depth."


def left_out(assembly: Assembly) -> str:
    """What of it is not checked and why, or an empty string."""
    reason = missing(assembly)
    if reason or assembly.scene.spec.toolbar.yield_mpa is not None:
        return reason
    return "stress in the bar: toolbar.yield_mpa is not given"


def findings(scope: Scope) -> Iterator[Finding]:
    """Up to two findings: the bar's stress, and the tool that sag puts farthest off its depth."""
    assembly = scope.assembly
    if missing(assembly):
        return
    result = solve_bar(assembly)
    strength = assembly.scene.spec.toolbar.yield_mpa
    if strength is not None:
        yield _stress(assembly, result, strength)
    if result.dips_mm:
        yield _sag(assembly, result)


def _source(assembly: Assembly, limit: str) -> str:
    limits = assembly.scene.spec.limits
    return f"{limits.source(limit)}; {draft.SOURCE} where not stated; {ASSUMED}"


def _stress(assembly: Assembly, result: BarResult, strength: float) -> Finding:
    factor = assembly.scene.spec.limits.stress_factor
    up, level, torque = (abs(m) for m in result.moments_nm)
    side = "left" if result.at_mm >= 0.0 else "right"
    place = f"{assembly.scene.say(abs(result.at_mm))} {side} of its centre"
    text = (
        f"The bar is stressed to {result.stress_mpa:.1f} MPa {place} (bending {up:.0f} N m "
        f"upright and {level:.0f} N m level, torque {torque:.0f} N m); yield {strength:g} MPa "
        f"over {factor:g} allows {strength / factor:.1f} MPa. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(result.stress_mpa, strength / factor),
        result.stress_mpa,
        strength / factor,
        "MPa",
        text,
        parts=("bar",),
        source=_source(assembly, "stress_factor"),
        cures=_cures(assembly),
    )


def _sag(assembly: Assembly, result: BarResult) -> Finding:
    say, limit = assembly.scene.say, assembly.scene.spec.limits.depth_tolerance
    part, rise = max(result.dips_mm.items(), key=lambda item: abs(item[1]))
    text = (
        f"Under weight and draft the bar bends and turns so that {part} runs {say(abs(rise))} "
        f"{'higher' if rise > 0.0 else 'deeper'}; {say(limit)} is allowed. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(abs(rise), limit),
        abs(rise),
        limit,
        "mm",
        text,
        parts=(part,),
        source=_source(assembly, "depth_tolerance"),
        cures=_cures(assembly),
    )


def _cures(assembly: Assembly) -> tuple[Knob | Choice, ...]:
    """A thicker wall, then the outer hangers farther out or farther in, both alike."""
    bar = assembly.scene.spec.toolbar
    places = tuple(sorted(bar.hangers or ()))
    found: list[Knob | Choice] = list(other_walls(assembly, thicker=True))
    path = ("toolbar", "hangers")
    half, middle = bar.length / 2.0, (places[0] + places[-1]) / 2.0
    for says, far in (("out", half - abs(middle)), ("in", (places[-1] - places[0]) / 4.0)):
        tried = [_spread(places, middle, far, step / 8.0) for step in range(1, 9)]
        values = tuple(v for v in tried if v is not None)
        if values:
            words = f"hang the bar farther {says}"
            found.append(Choice(path, values, tuple(bar.hangers or ()), words, "mm"))
    return tuple(found)


def _spread(
    places: tuple[float, ...], middle: float, far: float, share: float
) -> tuple[float, ...] | None:
    """The outer hangers moved a share of the way to `far` from their middle; whole mm."""
    now = (places[-1] - places[0]) / 2.0
    reach = float(int(now + (far - now) * share))
    inner = places[1:-1]
    if any(abs(place - middle) >= reach for place in inner) or reach <= 0.0:
        return None
    return (middle - reach, *inner, middle + reach)
