"""load-axle: what is left on the front axle with the rig lifted for transport."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.clearance.finding import Finding, Knob, at_least
from rigmodel.clearance.scope import Scope
from rigmodel.loads import formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.balance import axle_loads, lifted_pose, rig_mass
from rigmodel.loads.constants import ENGINEER

ID = "load-axle"
STATEMENT = "Enough of the load stays on the front axle in transport."


def left_out(loads: Account) -> str:
    """Why it is not checked, or an empty string."""
    assembly = loads.assembly
    tractor = assembly.scene.spec.tractor
    if assembly.scene.tractor.front is None:
        return "the tractor has no front axle"
    axles = [axle for axle in ("front", "rear") if getattr(tractor, axle).load_kg is None]
    return "; ".join(f"axle loads: tractor.{axle}.load_kg is not given" for axle in axles)


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the front axle's share, fully lifted, arms down, standing on level ground."""
    assembly = scope.assembly
    if left_out(scope.loads):
        return
    tractor, limits = assembly.scene.spec.tractor, assembly.scene.spec.limits
    front, rear = tractor.front.load_kg or 0.0, tractor.rear.load_kg or 0.0
    pose, unit = lifted_pose(assembly, 1.0), assembly.scene.unit
    rig = rig_mass(assembly, pose)
    x = float(rig.centroid_mm[0])
    loads = axle_loads(front, rear, assembly.scene.tractor.wheelbase, rig.mass_kg, x)
    share = 100.0 * loads.front_share
    text = (
        f"Fully lifted, the rig of {words.mass(rig.mass_kg, unit)} leaves "
        f"{words.mass(loads.front_kg, unit)} on the front axle and "
        f"{words.mass(loads.rear_kg, unit)} on the rear one: {share:.0f} % in front, standing on "
        f"level ground. {ENGINEER}"
    )
    yield Finding(
        ID,
        at_least(share, limits.front_share),
        share,
        limits.front_share,
        "%",
        text,
        parts=("bar",),
        pose=pose.values,
        pose_name=pose.name,
        source=(
            f"{limits.source('front_share')}; {formulas.AXLE}: {formulas.STATICS} about the rear "
            f"axle; {formulas.MASSES}"
        ),
        cures=(
            Knob(
                ("tractor", "front", "load_kg"),
                front,
                front + 500.0,
                "kg",
                "put ballast on the front axle",
            ),
        ),
    )
