"""The solved bar as curves along its length, and what its hangers do to it. N, N m, mm, degrees."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly
from rigmodel.loads.bar import BarResult, pulls, weights

_STEPS = 201  # places along the bar, besides those where something acts


@dataclass(frozen=True, eq=False)
class HangerForce:
    """What a hanger does to the bar, in the bar's own axes; the hanger bears the opposite.

    Attributes:
        at_mm: its place, left of the bar's centre.
        up_n: force upwards.
        ahead_n: force forwards.
        left_n: force along the bar to the left.
        torque_nm: torque about the bar's axis; positive turns its front down.
    """

    at_mm: float
    up_n: float
    ahead_n: float
    left_n: float
    torque_nm: float


@dataclass(frozen=True, eq=False)
class AlongBar:
    """What the loaded bar does along its length; jumps have two points at one place.

    Attributes:
        at_mm: places, left of the bar's centre, rising, shape (n,).
        shear_n: shear force upright and level, shape (2, n).
        moment_nm: bending moment upright and level, shape (2, n).
        torque_nm: torque, shape (n,).
        axial_n: axial force in the bar, positive where it is drawn out, shape (n,).
        moved_mm: deflection upright and level, shape (2, n).
        turned_deg: twist, shape (n,).
    """

    at_mm: FloatArray
    shear_n: FloatArray
    moment_nm: FloatArray
    torque_nm: FloatArray
    axial_n: FloatArray
    moved_mm: FloatArray
    turned_deg: FloatArray


def hanger_forces(bar: BarResult) -> tuple[HangerForce, ...]:
    """Forces of the hangers on a solved bar, from left to right."""
    found = (
        HangerForce(at, up, ahead, left, torque / 1000.0)
        for at, up, ahead, left, torque in zip(
            bar.turned.hangers.tolist(),
            bar.upright.reactions.tolist(),
            bar.level.reactions.tolist(),
            bar.bent.pushed.reactions.tolist(),
            bar.turned.reactions.tolist(),
            strict=True,
        )
    )
    return tuple(reversed(tuple(found)))


def along_bar(assembly: Assembly, result: BarResult) -> AlongBar:
    """Curves of a solved bar from its right end to its left."""
    half = assembly.scene.spec.toolbar.length / 2.0
    acting = {f.at_mm for f in (*weights(assembly), *pulls(assembly))}
    acting |= set(assembly.scene.spec.toolbar.hangers or ())
    acting |= {strut.clamp.centre_mm for strut in assembly.struts}
    even = np.linspace(-half, half, _STEPS)
    once = np.array(sorted({*even.tolist(), *acting}))
    at = np.repeat(once, 2)

    def both(sides: FloatArray) -> FloatArray:  # just before each place, then just after it
        return sides.T.reshape(-1)

    planes = (result.upright, result.level)
    return AlongBar(
        at,
        np.array([both(plane.shears(once)) for plane in planes]),
        np.array([both(plane.moments(once)) for plane in planes]) / 1000.0,
        both(result.turned.inside(once)) / 1000.0,
        both(result.bent.pushed.inside(once)),
        np.array([np.repeat(plane.deflection(once), 2) for plane in planes]),
        np.repeat(np.degrees(result.turned.angles(once)), 2),
    )
