"""load-shank: stress in the shanks under draft, and under a stone where its force is given."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import height_cures
from rigmodel.clearance.finding import Finding, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.shank import HeldShank, held_shanks, unstated

ID = "load-shank"
STATEMENT = "Shanks carry their draft, and a stone, without bending for good."


def left_out(assembly: Assembly) -> str:
    """What of it is not checked and why, or an empty string."""
    if not any(tool.slide for tool in assembly.tools):
        return ""
    bare, wanting = unstated(assembly), [draft.missing(assembly)]
    if bare:
        wanting.insert(0, f"stress in {bare}: yield_mpa is not given on its catalogue entry")
    if assembly.scene.spec.soil.stone_n is None:
        wanting.append("shanks hit by a stone: soil.stone_n is not given")
    return "; ".join(filter(None, wanting))


def findings(scope: Scope) -> Iterator[Finding]:
    """For draft and for a stone, the shank that is nearest to its limit or beyond it most."""
    assembly = scope.assembly
    known_draft = not draft.missing(assembly)
    if not known_draft and assembly.scene.spec.soil.stone_n is None:
        return
    shanks = [shank for shank in held_shanks(assembly) if shank.yield_mpa is not None]
    if not shanks:
        return
    if known_draft:
        of = draft.drafts(assembly)
        force = {shank.name: of[shank.tool].high_n for shank in shanks}
        yield _worst(assembly, shanks, force, "draft", draft.SOURCE)
    stone = assembly.scene.spec.soil.stone_n
    if stone is not None:
        force = {shank.name: stone for shank in shanks}
        yield _worst(assembly, shanks, force, "a stone's force", "soil.stone_n set in the scene")


def _worst(
    assembly: Assembly, shanks: list[HeldShank], force: dict[str, float], what: str, source: str
) -> Finding:
    shank = max(shanks, key=lambda s: s.stress_mpa(force[s.name]) / (s.yield_mpa or 1.0))
    limits, say, pull = assembly.scene.spec.limits, assembly.scene.say, force[shank.name]
    stress, strength = shank.stress_mpa(pull), shank.yield_mpa or 0.0
    allowed = strength / limits.stress_factor
    text = (
        f"{shank.name}, free over {say(shank.free_mm)} below its holder, is stressed to "
        f"{stress:.1f} MPa under {what} of {pull:.0f} N and gives way by "
        f"{say(shank.give_mm(pull))}; {allowed:.1f} MPa is allowed. {ENGINEER}"
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
