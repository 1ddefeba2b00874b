"""What the rig weighs, where it balances and how it pulls, for who slings, jacks or drives it."""

from __future__ import annotations

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.balance import lifted_rigs, rig_mass
from rigmodel.loads.pull_words import pull_short
from rigmodel.sheet.facts import Facts
from rigmodel.sheet.steps import Step
from rigmodel.sides import ahead_of, way

WEIGHT_CAUTION = (
    "Lift the rig only with gear and stands rated well above the weight printed here, which leaves "
    "out what is not drawn. Sling it so that it hangs level over its balance point: off it, a rig "
    "tips. Nobody under it or beside it while it hangs."
)


def weight_steps(facts: Facts) -> tuple[Step, ...]:
    """Mass of rig and bar, and the rig's centre of gravity from the bar, at work and lifted."""
    assembly, unit = facts.assembly, facts.unit
    rig, bar = rig_mass(assembly), assembly.mechanism.part("bar").solid.mass_properties()
    ((_, lifted, bar_world),) = lifted_rigs(assembly, (1.0,))
    place = assembly.work_frames[assembly.mechanism.part("bar").frame]
    return (
        Step(
            "Weight",
            f"whole rig {words.mass(rig.mass_kg, unit)}, "
            f"bar alone {words.mass(bar.mass_kg, unit)}; "
            "bolts, hangers, springs and soil on the tools come on top.",
        ),
        Step("Balances at work", f"{_from_bar(facts, rig.centroid_mm, place)}."),
        Step(
            "Balances fully lifted, arms hanging",
            f"{_from_bar(facts, lifted.centroid_mm, bar_world)}.",
        ),
    )


def pull_steps(loads: Account) -> tuple[Step, ...]:
    """Draft, side draft and yaw of the rig, in one; none where the draft is not known."""
    told = pull_short(loads)
    return (Step("Pull at work", f"{told}."),) if told else ()


def _from_bar(facts: Facts, centre_mm: FloatArray, bar: FloatArray) -> str:
    """A centre of gravity from the middle of the bar, world axes."""
    x, y, z = np.asarray(centre_mm - bar[:3, 3]).tolist()
    nothing = facts.tape(0.0)
    told = f"{facts.tape(abs(x))} {ahead_of(x)} the bar's middle line, "
    across = facts.tape(abs(y))
    told += "at its centre" if across == nothing else f"{across} {way(y).upper()} of its centre"
    return f"{told}, {facts.tape(abs(z))} {'over' if z >= 0.0 else 'under'} it"
