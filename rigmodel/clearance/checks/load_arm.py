"""load-arm: stress in trailing arms and cross tubes under draft and side draft, and a stone."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.member import Member, Stressed, assumed, entries, stressed

ID = "load-arm"
STATEMENT = "Arms and cross tubes carry weight and draft, or a stone, without bending for good."


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    found = list(entries(assembly))
    if not found:
        return ""
    bare = [part.name for part, entry in found if entry.yield_mpa is None]
    wanting = [loads.no_draft, loads.side.missing]
    if bare:
        told = f"stress in {words.named(bare)}: yield_mpa is not given on its catalogue entry"
        wanting.insert(0, told)
    if assembly.scene.spec.soil.stone_n is None:
        wanting.append("arms and cross tubes hit by a stone: soil.stone_n is not given")
    return "; ".join(filter(None, wanting))


def findings(scope: Scope) -> Iterator[Finding]:
    """For draft and for a stone, the arm or tube that is nearest to its limit or beyond it most."""
    assembly, loads = scope.assembly, scope.loads
    stone = assembly.scene.spec.soil.stone_n
    if stone is None and loads.no_draft:
        return
    if all(entry.yield_mpa is None for _, entry in entries(assembly)):
        return
    found = [member for member in loads.carrying if member.yield_mpa is not None]
    if not found:
        return
    if not loads.no_draft:
        what = "weight, draft and side draft" if loads.side.stated else "weight and draft"
        worst = {one.name: one.worst for one in loads.members}
        cases = [(worst[member.name], member) for member in found]
        yield _worst(assembly, cases, what, draft.SOURCE)
    if stone is not None:
        cases = [
            (stressed(assembly, member, {tool.part: stone}), member)
            for member in found
            for tool in member.tools
        ]
        yield _worst(
            assembly,
            cases,
            f"a stone's force of {words.force(stone, assembly.scene.unit)}",
            "soil.stone_n",
        )


def _worst(
    assembly: Assembly, cases: list[tuple[Stressed, Member]], what: str, source: str
) -> Finding:
    limits = assembly.scene.spec.limits
    worst, member = max(cases, key=lambda one: one[0].stress_mpa / (one[1].yield_mpa or 1.0))
    strength = member.yield_mpa or 0.0
    allowed = strength / limits.stress_factor
    unit = assembly.scene.unit
    upright, level = (words.moment(abs(value), unit) for value in worst.bending_nm)
    text = (
        f"{member.name} is stressed to {words.stress(worst.stress_mpa, unit)} {worst.place} under "
        f"{what}: bending {upright} upright and {level} sideways, torque "
        f"{words.moment(abs(worst.torque_nm), unit)}; yield {words.stress(strength, unit)} over "
        f"{limits.stress_factor:g} allows {words.stress(allowed, unit)}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(worst.stress_mpa, allowed),
        worst.stress_mpa,
        allowed,
        "MPa",
        text,
        parts=(member.name, what.partition(" of ")[0]),
        source=(
            f"{limits.source('stress_factor')}; {source}; {formulas.ARM_STRESS}: "
            f"{formulas.STRENGTH}; {assumed(assembly)}; holes are not taken off"
        ),
    )
