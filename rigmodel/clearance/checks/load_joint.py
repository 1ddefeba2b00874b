"""load-joint: clamps do not turn on the bar under weight and draft."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Knob, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import draft
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.joint import held_clamps, missing

ID = "load-joint"
STATEMENT = "Friction of the tightened clamps holds the tools against turning on the bar."


def left_out(assembly: Assembly) -> str:
    """Why it is not checked, or an empty string."""
    return missing(assembly)


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the clamp with the least to spare."""
    assembly = scope.assembly
    clamps = () if missing(assembly) else held_clamps(assembly)
    if not clamps:
        return
    clamp = max(clamps, key=lambda c: c.moment_nm / c.holds_nm)
    bar = assembly.scene.spec.toolbar
    torque = bar.clamp_torque_nm or 0.0
    text = (
        f"{clamp.part} must hold {clamp.moment_nm:.0f} N m about the bar; with {torque:g} N m on "
        f"its nuts each leg presses with {clamp.preload_n:.0f} N and friction holds "
        f"{clamp.holds_nm:.0f} N m. {ENGINEER}"
    )
    yield Finding(
        ID,
        at_most(clamp.moment_nm, clamp.holds_nm),
        clamp.moment_nm,
        clamp.holds_nm,
        "N m",
        text,
        parts=(clamp.part,),
        source=(
            f"T = K·D·F with K = {bar.clamp_nut_factor:g}; friction {bar.clamp_friction:g} set in "
            f"the scene, on two faces of the bar; {draft.SOURCE} where not stated"
        ),
        cures=(
            Knob(
                ("toolbar", "clamp_torque_nm"),
                torque,
                2.0 * torque,
                "N m",
                "tighten the clamps (no more than their bolts' grade allows)",
            ),
        ),
    )
