"""load-bar: stress in the toolbar on its hangers, and what its sag does to the depth."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import bar_cures
from rigmodel.clearance.finding import Finding, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft
from rigmodel.loads.bar import ASSUMED, BarResult, missing
from rigmodel.loads.constants import ENGINEER

ID = "load-bar"
STATEMENT = "The bar carries weight and draft, and its sag keeps the tools at their depth."


def left_out(assembly: Assembly) -> str:
    """What of it is not checked and why, or an empty string."""
    wanting = [missing(assembly)]
    if assembly.scene.spec.toolbar.yield_mpa is None:
        wanting.append("stress in the bar: toolbar.yield_mpa is not given")
    return "; ".join(filter(None, wanting))


def findings(scope: Scope) -> Iterator[Finding]:
    """Up to two findings: the bar's stress, and the tool that sag puts farthest off its depth."""
    assembly, result = scope.assembly, scope.bar
    if result is None:
        return
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
        cures=bar_cures(assembly),
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
        cures=bar_cures(assembly),
    )
