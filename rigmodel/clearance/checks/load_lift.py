"""load-lift: what the lift carries against its stated capacity."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.bar_cures import other_walls
from rigmodel.clearance.finding import Finding, Knob, at_most
from rigmodel.clearance.scope import Scope
from rigmodel.loads import formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER

ID = "load-lift"
STATEMENT = "The lift carries the rig's weight all through its range."


def left_out(loads: Account) -> str:
    """Why it is not checked, or an empty string."""
    assembly = loads.assembly
    if assembly.scene.spec.tractor.lift.capacity_kg is None:
        return "load on the lift: tractor.lift.capacity_kg is not given"
    if not loads.lift:
        return "the bar passes over or under the lift's pivot: no load at the bar can be stated"
    return ""


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the greatest load over the lift's range."""
    assembly = scope.assembly
    capacity = assembly.scene.spec.tractor.lift.capacity_kg
    if capacity is None:
        return  # before the rig is weighed at every height
    loads, unit = scope.loads.lift, assembly.scene.unit
    if not loads:
        return
    worst = max(loads, key=lambda load: load.at_bar_kg)
    moment = max(load.moment_nm for load in loads)
    told = words.moment(moment, unit)
    about = f"; its moment about the lift's pivot reaches {told}" if moment else ""
    text = (
        f"The rig weighs {words.mass(worst.mass_kg, unit)} and loads the lift like "
        f"{words.mass(worst.at_bar_kg, unit)} at the bar ({worst.pose}){about}; the lift raises "
        f"{words.mass(capacity, unit)}. {ENGINEER}"
    )
    yield Finding(
        ID,
        at_most(worst.at_bar_kg, capacity),
        worst.at_bar_kg,
        capacity,
        "kg",
        text,
        parts=("bar",),
        pose_name=worst.pose,
        source=(
            "set in the scene: tractor.lift.capacity_kg, taken to hold at the bar's centre; "
            f"{formulas.LIFT}: {formulas.STATICS}; {formulas.MASSES}"
        ),
        cures=(*shorter(assembly), *other_walls(assembly, thicker=False)),
    )


def shorter(assembly: Assembly) -> Iterator[Knob]:
    """A shorter bar, as far as its clamps and hangers allow."""
    bar = assembly.scene.spec.toolbar
    reach = max((abs(c.centre_mm) + c.width_mm / 2.0 for c in assembly.on_bar), default=0.0)
    least = 2.0 * max(reach, *(abs(h) for h in bar.hangers or (0.0,)))
    if 0.0 < least < bar.length:
        yield Knob(("toolbar", "length"), bar.length, least, "mm", "cut the bar shorter")
