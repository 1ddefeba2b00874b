"""How far parts move as the loaded bar bends and turns, bounded for every pose. mm and radians.

A station moves with the bar at its clamp: by the bar's deflection d there, and turned by a small
angle θ (bending in both planes and torsion). A point r away from the clamp moves by d + θ x r,
so two points on two stations move against each other by no more than

    |d_a - d_b| + |θ_a| |r_a| + |θ_b| |r_b|,

and from the tractor by |d| + |θ| |r|. From the bar beside its own clamp a station moves only by
what the bar bends and twists between there and the clamp. No joint takes a point farther from the
clamp than the sum of the lengths of its chain, so the bound holds over all motion. A strut stands
still at its upper pin and moves with the bar at its lower one.

Any tool may be in the soil or out of it, and any load may act in part. The bar is elastic, so what
it does is a sum of its states under all weight and under each tool's draft alone, each taken by a
share between 0 and 1; a component of a sum is greatest with the positive ones whole and the
negative ones left out, and least the other way round (`_most`).

Along the bar it is looked at in places a step h apart. Between two of them a value is off the
nearer by no more than h/2 times its greatest slope, and that of a slope is the greatest bending
moment over E·I, which for each state has its greatest value at a load, at a hanger, or where the
bar's own weight makes it bow by no more than q·h²/8 beyond those places (`_Steepest`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, StationPlace, StrutPlace
from rigmodel.loads.bar import SAMPLES
from rigmodel.loads.beam import Bending
from rigmodel.loads.hung import BentBar, Tie, tie_of

IntArray = NDArray[np.int64]
_BAR, _OFF = -1, -2  # in place of a station's number
_STEPS = 41  # places beside a clamp that are looked at


@dataclass(frozen=True, eq=False)
class PartSags:
    """How the loaded bar moves each part of the mechanism, with any of the tools in the soil.

    Attributes:
        station: number of each part's station, -1 for the bar, -2 for what is not on the rig, (n,);
            the clamps of struts stand as stations behind the others, then the struts themselves.
        apart: most that two stations' places on the bar move against each other, (s + 1, s + 1);
            the last is the tractor, which stands still.
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


def part_sags(assembly: Assembly, cases: Sequence[BentBar]) -> PartSags:
    """How the loaded bar moves each part.

    Args:
        assembly: the rig.
        cases: its bar under all weight, then under the draft of each tool alone.
    """
    parts, index = assembly.mechanism.parts, assembly.mechanism.part_index
    stations, struts = assembly.stations, assembly.struts
    number = {s.name: k for k, s in enumerate(stations)}
    at = [s.place_mm for s in stations] + [s.clamp.centre_mm for s in struts]
    places = np.array(at, dtype=np.float64)
    moved = np.array([case.moved(places) for case in cases])  # (cases, s, 3)
    still = np.concatenate((moved, np.zeros((len(cases), 1, 3))), axis=1)
    apart = np.linalg.norm(_most(still[:, :, None] - still[:, None, :]), axis=-1)
    angles = np.linalg.norm(_most(np.array([case.turns(places) for case in cases])), axis=-1)
    station = np.array([number.get(p.station, _BAR if p.name == "bar" else _OFF) for p in parts])
    reach = np.array(
        [_reach(assembly, p.frame) + _radius(p.solid) if p.station else 0.0 for p in parts]
    )
    on = station >= 0
    swings, beside = np.zeros(len(parts)), np.zeros(len(parts))
    swings[on] = angles[station[on]] * reach[on]
    steepest = _steepest(cases)
    by_station = [_beside(assembly, cases, steepest, s) for s in stations]
    beside[on] = np.array(by_station)[station[on]]
    bar = _bar(assembly, cases, steepest)
    for k, strut in enumerate(struts, start=len(stations)):
        clamp, tube = index[strut.clamp.part], index[strut.name]
        station[clamp], station[tube] = k, k + len(struts)
        pin = angles[k] * float(np.linalg.norm(tie_of(assembly, strut).arm_mm))
        far = float(apart[k, -1]) + pin
        swings[clamp] = angles[k] * _radius(parts[clamp].solid, (0.0, strut.clamp.centre_mm, 0.0))
        swings[tube] = pin + far * _past(assembly, strut)
        beside[clamp] = beside[tube] = bar + far + max(swings[clamp], swings[tube])
    return PartSags(station, _with_tubes(apart, len(struts)), swings, beside, bar)


def _with_tubes(apart: FloatArray, struts: int) -> FloatArray:
    """Adds the tubes of struts, the last before the tractor, to what their clamps move apart.

    A point of a strut's tube moves by a share of what its lower pin does, for its upper pin stands
    still; and a share of a move is never farther from another than both the whole and none of it.
    """
    last = len(apart) - 1
    clamps = np.arange(last - struts, last)
    whole = np.concatenate((np.arange(last), clamps, [last]))
    none = np.concatenate((np.arange(last), np.full(struts, last), [last]))
    ways = [apart[np.ix_(a, b)] for a in (whole, none) for b in (whole, none)]
    found: FloatArray = np.max(ways, axis=0)
    return found


def _past(assembly: Assembly, strut: StrutPlace) -> float:
    """Share of its pin's move by which a point off a strut's line between its pins may move more.

    It leans by no more than that move over its length.
    """
    tie: Tie = tie_of(assembly, strut)
    past = (strut.cut_mm - tie.length_mm) / 2.0
    return (past + tie.corner_mm) / tie.length_mm


def _most(states: FloatArray) -> FloatArray:
    """Greatest size of each component of any sum of shares of states, (cases, ...) to (...)."""
    most: FloatArray = np.maximum(
        np.maximum(states, 0.0).sum(axis=0), -np.minimum(states, 0.0).sum(axis=0)
    )
    return most


def _bar(assembly: Assembly, cases: Sequence[BentBar], steepest: _Steepest) -> float:
    """Most that any point of the bar is off where a straight bar would have it, mm."""
    half = assembly.scene.spec.toolbar.length / 2.0
    along = np.linspace(-half, half, SAMPLES)
    off = np.linalg.norm(_most(np.array([c.moved(along) for c in cases])), axis=1)
    turned = np.linalg.norm(_most(np.array([c.turns(along) for c in cases])), axis=1)
    more, more_turned = steepest.between(float(along[1] - along[0]), float(turned.max()))
    corner = _corner(assembly)
    return float(off.max() + more + (turned.max() + more_turned) * corner)


@dataclass(frozen=True)
class _Steepest:
    """Most that the bar's turn (1/mm) and its stretch (no unit) can change along it."""

    turn: float
    stretch: float

    def between(self, step: float, slope: float) -> tuple[float, float]:
        """Most that deflection (mm) and turn (radians) exceed those at places a step apart.

        Args:
            step: between two places, mm.
            slope: greatest turn at the places, radians.
        """
        turned = self.turn * step / 2.0
        return (slope + turned + self.stretch) * step / 2.0, turned


def _steepest(cases: Sequence[BentBar]) -> _Steepest:
    curved = sum(_curvature(plane) for c in cases for plane in (c.upright, c.level))
    # No torque inside is more than all of them together, and no force along the bar.
    wound, stretched = (
        sum(float(np.abs(one.torques).sum()) / one.stiffness for one in found)
        for found in ([c.turned for c in cases], [c.pushed for c in cases])
    )
    return _Steepest(curved + wound, stretched)


def _curvature(plane: Bending) -> float:
    """Greatest bending moment over E·I, 1/mm."""
    ends = (plane.start, plane.start + plane.length)
    places = np.concatenate((plane.places, np.linspace(*ends, SAMPLES)))
    bow = abs(plane.spread) * (plane.length / (SAMPLES - 1)) ** 2 / 8.0
    return (float(np.abs(plane.moments(places)).max()) + bow) / plane.stiffness


def _corner(assembly: Assembly) -> float:
    """Most that a point of the bar is away from its axis, mm."""
    return assembly.scene.tube.size / math.sqrt(2.0)


def _beside(
    assembly: Assembly, cases: Sequence[BentBar], steepest: _Steepest, station: StationPlace
) -> float:
    """Most that the bar, as far as a station stands beside its clamp, leaves the station, mm."""
    at = station.place_mm
    middle = at + assembly.scene.spec.toolbar.offset
    parts = [assembly.at_work(assembly.mechanism.part(name)) for name in station.parts]
    edges = [edge - middle for part in parts for edge in part.extent((0.0, 1.0, 0.0))]
    wide = max(map(abs, edges), default=0.0)
    half = assembly.scene.spec.toolbar.length / 2.0
    y = np.clip(np.linspace(at - wide, at + wide, _STEPS), -half, half)
    along = np.append(y, at)
    off, turned = [], []
    for case in cases:
        moved, turns = case.moved(along), case.turns(along)
        slope = np.array((-turns[-1, 2], 0.0, turns[-1, 0]))
        off.append(moved[:-1] - moved[-1] - slope * (y - at)[:, None])
        turned.append(turns[:-1] - turns[-1])
    bent = np.linalg.norm(_most(np.array(off)), axis=1)
    leant = np.linalg.norm(_most(np.array(turned)), axis=1)
    more, more_turned = steepest.between(2.0 * wide / (_STEPS - 1), float(leant.max()))
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


def _radius(solid: Solid, middle: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> float:
    """Most that a point of a solid is away from a point of its frame, mm."""
    return max(
        float(np.linalg.norm(piece.placement[:3, 3] - middle)) + piece.shape.bounding_radius
        for piece in solid.pieces
    )
