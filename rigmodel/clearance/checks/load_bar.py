"""load-bar: stress in the toolbar and its struts. What its sag does to depth: ground-contact."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.bar_cures import bar_cures, strut_cures, why_no_larger
from rigmodel.clearance.finding import Finding, Verdict, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.bar import ASSUMED, BarResult, StruckBar, missing
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.strut import PINNED, HeldStrut, strut_strength, whichever
from rigmodel.sides import side

ID = "load-bar"
STATEMENT = "The bar and its struts carry weight and draft with their strength well in hand."


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    wanting = [missing(assembly), loads.side.missing]
    if strength_mpa(assembly) is None:
        wanting.append("stress in the bar: toolbar.yield_mpa is not given")
    if assembly.scene.spec.soil.stone_n is None:
        what = "bar and struts" if assembly.struts else "bar"
        wanting.append(f"{what} with a tool hit by a stone: soil.stone_n is not given")
    wanting += [
        f"stress in {strut.name}: toolbar.struts[{strut.index + 1}].yield_mpa is not given"
        for strut in assembly.struts
        if strut_strength(assembly, strut.index) is None
    ]
    if assembly.struts and assembly.scene.spec.toolbar.hangers is None:
        wanting.append("what the struts carry: toolbar.hangers is not given")
    return "; ".join(filter(None, wanting))


def strength_mpa(assembly: Assembly) -> float | None:
    """Yield strength of the bar's steel: the scene's, else that of its tube; None if not given."""
    stated = assembly.scene.spec.toolbar.yield_mpa
    return assembly.scene.tube.yield_mpa if stated is None else stated


def findings(scope: Scope) -> Iterator[Finding]:
    """The greatest stress in the bar; stress and buckling of the struts nearest to their limits."""
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
    held = scope.loads.struts
    strong = [one for one in held if one.yield_mpa is not None]
    if strong:
        yield _strut_stress(assembly, max(strong, key=lambda s: s.stress_mpa / (s.yield_mpa or 1)))
    if held:
        yield _buckling(assembly, max(held, key=lambda s: s.most_push_n / s.buckles_n))


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
    verdict = at_most(result.stress_mpa, strength / factor)
    more = why_no_larger(assembly) if verdict is Verdict.FAIL else ""
    text = (
        f"The bar is stressed to {words.stress(result.stress_mpa, unit)} at {place} under "
        f"{what}: bending {up} upright and {level} level, torque {torque}; yield "
        f"{words.stress(strength, unit)} over {factor:g} allows {allowed}.{more} {ENGINEER}"
    )
    return Finding(
        ID,
        verdict,
        result.stress_mpa,
        strength / factor,
        "MPa",
        text,
        parts=parts,
        source=_source(assembly),
        cures=bar_cures(assembly),
    )


def _strut_stress(assembly: Assembly, held: HeldStrut) -> Finding:
    limits, unit = assembly.scene.spec.limits, assembly.scene.unit
    strength = held.yield_mpa or 0.0
    allowed = strength / limits.stress_factor
    way = "pulls" if held.most_pull_n >= held.most_push_n else "pushes"
    text = (
        f"{held.tie.name} {way} with at most {words.force(held.most_n, unit)}, "
        f"{whichever(assembly)}, and is stressed to {words.stress(held.stress_mpa, unit)}; yield "
        f"{words.stress(strength, unit)} over {limits.stress_factor:g} allows "
        f"{words.stress(allowed, unit)}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(held.stress_mpa, allowed),
        held.stress_mpa,
        allowed,
        "MPa",
        text,
        parts=(held.tie.name, "stress"),
        source=(
            f"{limits.source('stress_factor')}; {formulas.STRUT_STRESS}: {formulas.STATICS}; "
            f"{draft.SOURCE} where not stated; {ASSUMED}; {PINNED}"
        ),
        cures=strut_cures(assembly, held.tie.name),
    )


def _buckling(assembly: Assembly, held: HeldStrut) -> Finding:
    limits, name = assembly.scene.spec.limits, held.tie.name
    unit = assembly.scene.unit
    allowed = held.buckles_n / limits.buckling_factor
    most = words.force(held.most_push_n, unit)
    pushes = f"pushes with at most {most}" if held.most_push_n > 0.0 else "never pushes"
    text = (
        f"{name} {pushes}, {whichever(assembly)}; it buckles at "
        f"{words.force(held.buckles_n, unit)}, and that over {limits.buckling_factor:g} allows "
        f"{words.force(allowed, unit)}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(held.most_push_n, allowed),
        held.most_push_n,
        allowed,
        "N",
        text,
        parts=(name, "buckling"),
        source=(
            f"{limits.source('buckling_factor')}; {formulas.BUCKLING} (from memory); {ASSUMED}; "
            f"{PINNED}"
        ),
        cures=strut_cures(assembly, name),
    )
