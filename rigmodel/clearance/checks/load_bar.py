"""load-bar: stress in the toolbar on its hangers. What its sag does to depth: ground-contact."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import bar_cures
from rigmodel.clearance.finding import Finding, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.bar import ASSUMED, BarResult, StruckBar, missing
from rigmodel.loads.constants import ENGINEER
from rigmodel.sides import side

ID = "load-bar"
STATEMENT = "The bar carries weight and draft with its yield strength well in hand."


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    wanting = [missing(assembly), loads.side.missing]
    if strength_mpa(assembly) is None:
        wanting.append("stress in the bar: toolbar.yield_mpa is not given")
    if assembly.scene.spec.soil.stone_n is None:
        wanting.append("bar with a tool hit by a stone: soil.stone_n is not given")
    return "; ".join(filter(None, wanting))


def strength_mpa(assembly: Assembly) -> float | None:
    """Yield strength of the bar's steel: the scene's, else that of its tube; None if not given."""
    stated = assembly.scene.spec.toolbar.yield_mpa
    return assembly.scene.tube.yield_mpa if stated is None else stated


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the greatest stress in the bar."""
    assembly, result = scope.assembly, scope.loads.bar
    if result is None:
        return
    strength = strength_mpa(assembly)
    if strength is not None:
        what = "weight, draft and side draft" if scope.loads.side.stated else "weight and draft"
        yield _stress(assembly, result, strength, what)
        struck = scope.loads.struck
        if struck is not None:
            force = words.force(assembly.scene.spec.soil.stone_n or 0.0, assembly.scene.unit)
            what = f"{what} with {struck.tool} against a stone's force of {force}"
            yield _stress(assembly, struck, strength, what, ("bar", "a stone's force"))


def _source(assembly: Assembly) -> str:
    limits = assembly.scene.spec.limits
    return (
        f"{limits.source('stress_factor')}; {formulas.BAR_STRESS}: {formulas.STRENGTH}; "
        f"{draft.SOURCE} where not stated; {ASSUMED}"
    )


def _stress(
    assembly: Assembly,
    result: BarResult | StruckBar,
    strength: float,
    what: str,
    parts: tuple[str, ...] = ("bar",),
) -> Finding:
    factor, unit = assembly.scene.spec.limits.stress_factor, assembly.scene.unit
    up, level, torque = (words.moment(abs(m), unit) for m in result.moments_nm)
    allowed = words.stress(strength / factor, unit)
    place = side(result.at_mm, unit, "its centre")
    text = (
        f"The bar is stressed to {words.stress(result.stress_mpa, unit)} at {place} under "
        f"{what}: bending {up} upright and {level} level, torque {torque}; yield "
        f"{words.stress(strength, unit)} over {factor:g} allows {allowed}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(result.stress_mpa, strength / factor),
        result.stress_mpa,
        strength / factor,
        "MPa",
        text,
        parts=parts,
        source=_source(assembly),
        cures=bar_cures(assembly),
    )
