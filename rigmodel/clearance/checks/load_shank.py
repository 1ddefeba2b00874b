"""load-shank: stress in the shanks under draft and side draft, and under a stone's force."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import height_cures
from rigmodel.clearance.finding import Finding, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.shank import HeldShank, unstated

_Case = tuple[HeldShank, float, float]  # a shank, and the force back and to the side on its tool

ID = "load-shank"
STATEMENT = "Shanks carry their draft, and a stone, without bending for good."


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    if not any(tool.slide for tool in assembly.tools):
        return ""
    bare, wanting = unstated(assembly), [loads.no_draft, loads.side.missing]
    if bare:
        wanting.insert(0, f"stress in {bare}: yield_mpa is not given on its catalogue entry")
    if assembly.scene.spec.soil.stone_n is None:
        wanting.append("shanks hit by a stone: soil.stone_n is not given")
    return "; ".join(filter(None, wanting))


def findings(scope: Scope) -> Iterator[Finding]:
    """For draft and for a stone, the shank that is nearest to its limit or beyond it most."""
    assembly, loads = scope.assembly, scope.loads
    stone = assembly.scene.spec.soil.stone_n
    if loads.no_draft and stone is None:
        return
    shanks = [shank for shank in loads.shanks if shank.yield_mpa is not None]
    if not shanks:
        return
    if not loads.no_draft:
        pushes = loads.side.tools
        cases = [(s, loads.back_n[s.tool], abs(pushes.get(s.tool, 0.0))) for s in shanks]
        yield _worst(assembly, cases, "draft", draft.SOURCE)
    if stone is not None:
        cases = [(shank, stone, 0.0) for shank in shanks]
        yield _worst(assembly, cases, "a stone's force", "soil.stone_n set in the scene")


def _worst(assembly: Assembly, cases: list[_Case], what: str, source: str) -> Finding:
    shank, pull, aside = max(
        cases, key=lambda case: case[0].stress_mpa(*case[1:]) / (case[0].yield_mpa or 1.0)
    )
    limits, say, unit = assembly.scene.spec.limits, assembly.scene.say, assembly.scene.unit
    stress, strength = shank.stress_mpa(pull, aside), shank.yield_mpa or 0.0
    allowed = strength / limits.stress_factor
    under = f"{what} of {words.force(pull, unit)}"
    gives = f"gives way by {words.deflection(shank.give_mm(pull), unit)}"
    if aside:
        under += f" and side draft of {words.force(aside, unit)}"
        gives += f" back and {words.deflection(shank.give_aside_mm(aside), unit)} to the side"
    text = (
        f"{shank.name}, free over {say(shank.free_mm)} below its holder, is stressed to "
        f"{words.stress(stress, unit)} under {under} and {gives}; {words.stress(allowed, unit)} is "
        f"allowed. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(stress, allowed),
        stress,
        allowed,
        "MPa",
        text,
        parts=(shank.name, what),
        source=(
            f"{limits.source('stress_factor')}; {source}; {formulas.SHANK_STRESS}: "
            f"{formulas.STRENGTH}; held fast by its holder"
        ),
        cures=height_cures(assembly, higher=False),
    )
