"""How far parts move as the loaded bar bends and turns, bounded for every pose. mm and radians.

A station moves with the bar at its clamp: by the bar's deflection d there, and turned by a small
angle θ (bending in both planes and torsion). A point r away from the clamp moves by d + θ x r,
so two points on two stations move against each other by no more than

    |d_a - d_b| + |θ_a| |r_a| + |θ_b| |r_b|,

and from the tractor by |d| + |θ| |r|. From the bar beside its own clamp a station moves only by
what the bar bends and twists between there and the clamp. No joint takes a point farther from the
clamp than the sum of the lengths of its chain, so the bound holds over all motion.

Any tool may be in the soil or out of it, and any load may act in part. The bar is elastic, so what
it does is a sum of its states under all weight and under each tool's draft alone, each taken by a
share between 0 and 1; a component of a sum is greatest with the positive ones whole and the
negative ones left out, and least the other way round (`_most`).

Along the bar it is looked at in places a step h apart. Between two of them a value is off the
nearer by no more than h/2 times its greatest slope, and that of a slope is the greatest bending
moment over E·I, which for each state has its greatest value at a load, at a hanger, or where the
bar's own weight makes it bow by no more than q·h²/8 beyond those places (`_between`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.loads.bar import SAMPLES, BentBar, bar_cases
from rigmodel.loads.beam import Bending

IntArray = NDArray[np.int64]
_BAR, _OFF = -1, -2  # in place of a station's number
_STEPS = 41  # places beside a clamp that are looked at


@dataclass(frozen=True, eq=False)
class PartSags:
    """How the loaded bar moves each part of the mechanism, with any of the tools in the soil.

    Attributes:
        station: number of each part's station, -1 for the bar, -2 for what is not on the rig, (n,).
        apart: most that two clamps move against each other, (s + 1, s + 1); the last is the
            tractor, which stands still.
        swings: most that turning moves any point of the part, mm, shape (n,).
        beside: most that the bar beside a part's clamp leaves the part's station, mm, shape (n,).
        bar_mm: most that any point of the bar is off where a straight bar would have it.
    """

    station: IntArray
    apart: FloatArray
    swings: FloatArray
    beside: FloatArray
    bar_mm: float

    def between(self, one: IntArray, other: IntArray) -> FloatArray:
        """Most that parts of two lists move against each other, pair by pair, shape (k,), mm.

        Args:
            one: indices of parts, -1 for what is no part, shape (k,).
            other: the same of the other parts.
        """
        a, b = self.station[one], self.station[other]
        least, most = np.minimum(a, b), np.maximum(a, b)
        found = self.apart[np.maximum(a, -1), np.maximum(b, -1)]
        found = found + self.swings[one] + self.swings[other]
        found = np.where(least == _BAR, self.beside[one] + self.beside[other], found)
        found = np.where((least == _OFF) & (most == _BAR), self.bar_mm, found)
        alike = (a == b) | (one < 0) | (other < 0)
        return np.where(alike, 0.0, found)


def part_sags(assembly: Assembly) -> PartSags:
    """How the loaded bar moves each part; call it only where `bar.missing` finds nothing."""
    cases = bar_cases(assembly)
    parts = assembly.mechanism.parts
    number = {s.name: k for k, s in enumerate(assembly.stations)}
    places = np.array([s.place_mm for s in assembly.stations], dtype=np.float64)
    moved = np.array([_moves(case, places) for case in cases])  # (cases, s, 2)
    still = np.concatenate((moved, np.zeros((len(cases), 1, 2))), axis=1)
    apart = np.linalg.norm(_most(still[:, :, None] - still[:, None, :]), axis=-1)
    angles = np.linalg.norm(_most(np.array([_turns(case, places) for case in cases])), axis=-1)
    station = np.array([number.get(p.station, _BAR if p.name == "bar" else _OFF) for p in parts])
    reach = np.array(
        [_reach(assembly, p.frame) + _radius(p.solid) if p.station else 0.0 for p in parts]
    )
    on = station >= 0
    swings, beside = np.zeros(len(parts)), np.zeros(len(parts))
    swings[on] = angles[station[on]] * reach[on]
    by_station = [_beside(assembly, cases, s) for s in assembly.stations]
    beside[on] = np.array(by_station)[station[on]]
    return PartSags(station, apart, swings, beside, _bar(assembly, cases))


def _most(states: FloatArray) -> FloatArray:
    """Greatest size of each component of any sum of shares of states, (cases, ...) to (...)."""
    most: FloatArray = np.maximum(
        np.maximum(states, 0.0).sum(axis=0), -np.minimum(states, 0.0).sum(axis=0)
    )
    return most


def _moves(case: BentBar, places: FloatArray) -> FloatArray:
    """Deflection level and upright at places along the bar, mm, shape (m, 2)."""
    return np.column_stack((case.level.deflection(places), case.upright.deflection(places)))


def _turns(case: BentBar, places: FloatArray) -> FloatArray:
    """Sizes of the small turns of the bar at places along it, by axis, radians, shape (m, 3)."""
    return np.column_stack(
        (case.upright.slope(places), case.turned.angles(places), case.level.slope(places))
    )


def _bar(assembly: Assembly, cases: Sequence[BentBar]) -> float:
    """Most that any point of the bar is off where a straight bar would have it, mm."""
    half = assembly.scene.spec.toolbar.length / 2.0
    along = np.linspace(-half, half, SAMPLES)
    off = np.linalg.norm(_most(np.array([_moves(c, along) for c in cases])), axis=1)
    turned = np.linalg.norm(_most(np.array([_turns(c, along) for c in cases])), axis=1)
    more, more_turned = _between(cases, float(along[1] - along[0]), float(turned.max()))
    corner = _corner(assembly)
    return float(off.max() + more + (turned.max() + more_turned) * corner)


def _between(cases: Sequence[BentBar], step: float, slope: float) -> tuple[float, float]:
    """Most that deflection (mm) and turn (radians) exceed those at places a step apart.

    Args:
        cases: the states of the bar.
        step: between two places, mm.
        slope: greatest turn at the places, radians.
    """
    curved = sum(_curvature(plane, step) for c in cases for plane in (c.upright, c.level))
    wound = sum(
        float(np.abs(c.turned.torques).sum()) / c.turned.stiffness for c in cases
    )  # no torque inside is more than all of them together
    turned = (curved + wound) * step / 2.0
    return (slope + turned) * step / 2.0, turned


def _curvature(plane: Bending, step: float) -> float:
    """Greatest bending moment over E·I, 1/mm."""
    ends = (plane.start, plane.start + plane.length)
    places = np.concatenate((plane.places, np.linspace(*ends, SAMPLES)))
    bow = abs(plane.spread) * step**2 / 8.0
    return (float(np.abs(plane.moments(places)).max()) + bow) / plane.stiffness


def _corner(assembly: Assembly) -> float:
    """Most that a point of the bar is away from its axis, mm."""
    return assembly.scene.tube.size / math.sqrt(2.0)


def _beside(assembly: Assembly, cases: Sequence[BentBar], station: StationPlace) -> float:
    """Most that the bar, as far as a station stands beside its clamp, leaves the station, mm."""
    at = station.place_mm
    middle = at + assembly.scene.spec.toolbar.offset
    parts = [assembly.at_work(assembly.mechanism.part(name)) for name in station.parts]
    edges = [edge - middle for part in parts for edge in part.extent((0.0, 1.0, 0.0))]
    wide = max(map(abs, edges), default=0.0)
    half = assembly.scene.spec.toolbar.length / 2.0
    y = np.clip(np.linspace(at - wide, at + wide, _STEPS), -half, half)
    here = np.array([at])
    off, turned = [], []
    for case in cases:
        slopes = np.column_stack((case.level.slope(here), case.upright.slope(here)))
        off.append(_moves(case, y) - _moves(case, here) - slopes * (y - at)[:, None])
        turned.append(_turns(case, y) - _turns(case, here))
    bent = np.linalg.norm(_most(np.array(off)), axis=1)
    leant = np.linalg.norm(_most(np.array(turned)), axis=1)
    more, more_turned = _between(cases, 2.0 * wide / (_STEPS - 1), float(leant.max()))
    return float(bent.max() + more + (leant.max() + more_turned) * _corner(assembly))


def _reach(assembly: Assembly, frame: int) -> float:
    """Most that a frame's origin can be away from the middle of its station's clamp, mm."""
    frames = assembly.mechanism.frames
    bar = assembly.mechanism.part("bar").frame
    far = 0.0
    while frames[frame].parent != bar and frame > 0:
        link = frames[frame]
        far += float(np.linalg.norm(link.placement[:3, 3]))
        if link.joint is not None and not link.joint.turns:
            far += max(abs(link.joint.low), abs(link.joint.high))
        frame = link.parent
    return far


def _radius(solid: Solid) -> float:
    """Most that a point of a solid is away from its frame's origin, mm."""
    return max(
        float(np.linalg.norm(piece.placement[:3, 3])) + piece.shape.bounding_radius
        for piece in solid.pieces
    )
