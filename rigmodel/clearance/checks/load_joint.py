"""load-joint: clamps neither turn nor slide on the bar, and their bolts are not overstretched."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Knob, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft, formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.joint import HeldClamp, HeldFoot, missing, without_proof
from rigmodel.loads.strut import PINNED, whichever

ID = "load-joint"
STATEMENT = "Tightened clamps neither turn nor slide on the bar; their bolts bear it."
_NOTHING = 1e-9  # N, in place of no friction at all
LEAST_N = 0.5  # a force along the bar that is told


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    wanting = [missing(assembly), loads.side.missing, without_proof(assembly)]
    if any(tool.slide for tool in assembly.tools):
        wanting.append("shanks slipping in their holders: what set bolts hold is not modelled")
    if any(part.role is Role.TUBE and part.station for part in assembly.mechanism.parts):
        wanting.append("cross tubes slipping in their tee clamps are not modelled")
    if loads.side.stated:
        wanting.append("clamps tipping on the bar under side draft are not modelled")
    return "; ".join(filter(None, wanting))


def findings(scope: Scope) -> Iterator[Finding]:
    """The clamps with the least to spare against slipping, of tools and of struts, and in bolts."""
    assembly = scope.assembly
    clamps = scope.loads.clamps
    if not clamps:
        return
    yield _slip(assembly, max(clamps, key=lambda c: c.moment_nm / c.holds_nm))
    feet = scope.loads.feet
    if feet:
        yield _slide(assembly, max(feet, key=lambda f: f.along_n / max(f.holds_n, _NOTHING)))
    known = [(clamp, clamp.proof_n) for clamp in clamps if clamp.proof_n is not None]
    if known:
        yield _stretched(assembly, *max(known, key=lambda pair: pair[0].most_n / pair[1]))


def _preload(assembly: Assembly) -> str:
    """Where the load of a clamp's bolts comes from, in words."""
    bar, limits = assembly.scene.spec.toolbar, assembly.scene.spec.limits
    return (
        f"{formulas.TORQUE} (from memory) with K = {bar.clamp_nut_factor:g}; clamp load "
        f"±{limits.preload_spread:g} %: {limits.source('preload_spread')}"
    )


def _slip(assembly: Assembly, clamp: HeldClamp) -> Finding:
    bar = assembly.scene.spec.toolbar
    torque = bar.clamp_torque_nm or 0.0
    unit = assembly.scene.unit
    asked = f"{words.moment(clamp.turning_nm, unit)} about the bar"
    if clamp.along_n >= LEAST_N:
        asked += (
            f" and {words.force(clamp.along_n, unit)} along it, which together ask as much of "
            f"friction as {words.moment(clamp.moment_nm, unit)} about it"
        )
    text = (
        f"{clamp.part} must hold {asked}; with {words.moment(torque, unit)} on its nuts each leg "
        f"presses with {words.force(clamp.preload_n, unit)}, at least "
        f"{words.force(clamp.least_n, unit)}, and friction then holds "
        f"{words.moment(clamp.holds_nm, unit)}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(clamp.moment_nm, clamp.holds_nm),
        clamp.moment_nm,
        clamp.holds_nm,
        "N m",
        text,
        parts=(clamp.part,),
        source=(
            f"{formulas.SLIP}: {formulas.STATICS}; friction {bar.clamp_friction:g} set in the "
            f"scene, on two faces; {_preload(assembly)}; {draft.SOURCE} where not stated"
        ),
        cures=_tighter(torque),
    )


def _slide(assembly: Assembly, foot: HeldFoot) -> Finding:
    bar = assembly.scene.spec.toolbar
    torque, unit = bar.clamp_torque_nm or 0.0, assembly.scene.unit
    text = (
        f"{foot.part} is drawn along the bar with at most {words.force(foot.along_n, unit)}, "
        f"{whichever(assembly)}; with {words.moment(torque, unit)} on its nuts each leg "
        f"presses with at least {words.force(foot.least_n, unit)}, and friction then holds "
        f"{words.force(foot.holds_n, unit)}. {ENGINEER}"
    )
    return Finding(
        ID,
        at_most(foot.along_n, foot.holds_n),
        foot.along_n,
        foot.holds_n,
        "N",
        text,
        parts=(foot.part, "along the bar"),
        source=(
            f"{formulas.SLIDE}: {formulas.STATICS}; friction {bar.clamp_friction:g} set in the "
            f"scene; {_preload(assembly)}; {draft.SOURCE} where not stated; {PINNED}"
        ),
        cures=_tighter(torque),
    )


def _tighter(torque_nm: float) -> tuple[Knob, ...]:
    path, says = ("toolbar", "clamp_torque_nm"), "tighten the clamps"
    says += " (no more than their bolts' grade allows)"
    return (Knob(path, torque_nm, 2.0 * torque_nm, "N m", says),)


def _stretched(assembly: Assembly, clamp: HeldClamp, proof_n: float) -> Finding:
    bar = assembly.scene.spec.toolbar
    torque, unit = bar.clamp_torque_nm or 0.0, assembly.scene.unit
    text = (
        f"Tightened to {words.moment(torque, unit)}, a leg of {clamp.part} may be pulled with up "
        f"to {words.force(clamp.most_n, unit)}; its proof load is {words.force(proof_n, unit)}. "
        f"{ENGINEER}"
    )
    return Finding(
        ID,
        at_most(clamp.most_n, proof_n),
        clamp.most_n,
        proof_n,
        "N",
        text,
        parts=(clamp.part,),
        pose_name="tightened",
        source=(
            "proof strength by SAE J429 (inch) or ISO 898-1 (metric) times the stress area; "
            f"{_preload(assembly)}"
        ),
        cures=(
            Knob(
                ("toolbar", "clamp_torque_nm"),
                torque,
                torque / 4.0,
                "N m",
                "tighten the clamps less (no less than holds them)",
            ),
        ),
    )
