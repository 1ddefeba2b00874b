"""Struts under weight and draft: pull and push along them, stress, and buckling. N, mm, MPa.

A strut is pinned at both ends, so but for its own weight it carries force along its line only. The
force is looked at with any of the tools in the soil or out of it, one of them against a stone where
its force is known: one tool alone may push on a strut that all together pull.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import SquareTube
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA
from rigmodel.loads.hung import BentBar, Tie, tie_of

PINNED = "struts are pinned at both ends, and the frame at their upper ends does not give"


@dataclass(frozen=True, eq=False)
class HeldStrut:
    """One strut.

    Attributes:
        tie: the strut as the bar feels it.
        pull_n: its pull under weight and all drafts, negative where it pushes.
        most_pull_n: its greatest pull with any of the tools in the soil, and one against a stone
            where its force is known; 0 where it never pulls.
        most_push_n: its greatest push; 0 where it never pushes.
        own_nmm: bending moment of its own weight at its middle.
        yield_mpa: yield strength of its steel, or None.
    """

    tie: Tie
    pull_n: float
    most_pull_n: float
    most_push_n: float
    own_nmm: float
    yield_mpa: float | None

    @property
    def most_n(self) -> float:
        """Its greatest force either way."""
        return max(self.most_pull_n, self.most_push_n)

    @property
    def stress_mpa(self) -> float:
        """Greatest stress: that of its greatest force and of bending by its own weight."""
        section = self.tie.section
        return self.most_n / section.area_mm2 + self.own_nmm / section.modulus_mm3

    @property
    def buckles_n(self) -> float:
        """Push under which it buckles, by Euler or, where its yield is known, by Johnson."""
        section, length = self.tie.section, self.tie.length_mm
        return buckling(section.area_mm2, section.second_moment_mm4, length, self.yield_mpa)

    @property
    def on_frame_n(self) -> FloatArray:
        """What its upper pin does to the frame, ahead, left and up, but for its weight, (3,)."""
        back: FloatArray = -self.pull_n * self.tie.along
        return back


def buckling(area: float, second: float, length: float, strength: float | None) -> float:
    """Push under which a bar with pinned ends buckles, N.

    Euler: π²·E·I / L². A stocky bar yields before that; where its yield strength S is known and
    Euler's stress is more than S/2, it is Johnson's A·S·(1 - S / 4σ) with Euler's σ (both from
    memory).

    Args:
        area: area of its section, mm².
        second: second moment of area, mm⁴.
        length: from pin to pin, mm.
        strength: yield strength, MPa, or None.
    """
    euler = math.pi**2 * STEEL_E_MPA * second / length**2
    stress = euler / area
    if strength is None or stress <= strength / 2.0:
        return euler
    return area * strength * (1.0 - strength / (4.0 * stress))


def held_struts(
    assembly: Assembly, cases: Sequence[BentBar], stones: Sequence[BentBar] = ()
) -> tuple[HeldStrut, ...]:
    """Every strut under weight, draft and a stone.

    Args:
        assembly: the rig.
        cases: its bar under all weight, then under the draft of each tool alone, then the rest.
        stones: its bar under a stone's force in place of each of these drafts; empty for none.
    """
    pulls = np.array([case.pulls_n for case in cases])  # (cases, struts)
    struck = np.array([case.pulls_n for case in stones]).reshape(-1, pulls.shape[1])
    drawn = pulls[1 : 1 + len(struck)]
    found = []
    for k, place in enumerate(assembly.struts):
        part = assembly.mechanism.part(place.name)
        tie, world = tie_of(assembly, place), assembly.work_frames[part.frame]
        lean = float(np.linalg.norm((world[:3, :3] @ tie.along)[:2]))  # share of it that lies flat
        weight = part.solid.mass_properties().mass_kg * GRAVITY
        found.append(
            HeldStrut(
                tie,
                float(pulls[:, k].sum()),
                _most(pulls[:, k], drawn[:, k], struck[:, k]),
                _most(-pulls[:, k], -drawn[:, k], -struck[:, k]),
                weight * lean * tie.length_mm / 8.0,
                strut_strength(assembly, place.index),
            )
        )
    return tuple(found)


def whichever(assembly: Assembly) -> str:
    """Over what the greatest force of a strut is looked for, in words."""
    told = "whichever tools are in the soil"
    stone = assembly.scene.spec.soil.stone_n
    return told if stone is None else f"{told} and whichever one hits a stone"


def _most(each: FloatArray, drawn: FloatArray, struck: FloatArray) -> float:
    """Greatest sum of some of the shares, (cases,), or with one drawn share as if struck."""
    more = np.maximum(struck, 0.0) - np.maximum(drawn, 0.0)
    return float(np.maximum(each, 0.0).sum() + more.max(initial=0.0))


def strut_strength(assembly: Assembly, index: int) -> float | None:
    """Yield strength of a strut's steel: the scene's, else that of its tube; None if not given."""
    strut = assembly.scene.spec.toolbar.struts[index]
    tube = assembly.scene.catalogue.parts[strut.tube]
    assert isinstance(tube, SquareTube)  # resolve() has checked it
    return tube.yield_mpa if strut.yield_mpa is None else strut.yield_mpa
