"""How far parts move as the loaded bar bends and turns, bounded for every pose. mm and radians.

A station moves with the bar at its clamp: by the bar's deflection d there, and turned by a small
angle θ (bending in both planes and torsion). A point r away from the clamp moves by d + θ x r,
so two points on two stations move against each other by no more than

    |d_a - d_b| + |θ_a| |r_a| + |θ_b| |r_b|,

and from the tractor by |d| + |θ| |r|. From the bar beside its own clamp a station moves only by
what the bar bends and twists between there and the clamp. No joint takes a point farther from the
clamp than the sum of the lengths of its chain, so the bound holds over all motion, and for a bar
bent any share of the whole way by loads that grow together. Along the bar it is looked at in
`SAMPLES` places.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.loads.bar import SAMPLES, BarResult

IntArray = NDArray[np.int64]
_BAR, _OFF = -1, -2  # in place of a station's number
_STEPS = 41  # places beside a clamp that are looked at


@dataclass(frozen=True, eq=False)
class PartSags:
    """How the loaded bar moves each part of the mechanism.

    Attributes:
        station: number of each part's station, -1 for the bar, -2 for what is not on the rig, (n,).
        shifts: deflection of the bar at the part's clamp, bar's axes, 0 for others, shape (n, 3).
        swings: most that turning moves any point of the part, mm, shape (n,).
        beside: most that the bar beside a part's clamp leaves the part's station, mm, shape (n,).
        bar_mm: most that any point of the bar is off where a straight bar would have it.
    """

    station: IntArray
    shifts: FloatArray
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
        apart = np.linalg.norm(self.shifts[one] - self.shifts[other], axis=1)
        found = apart + self.swings[one] + self.swings[other]
        found = np.where(least == _BAR, self.beside[one] + self.beside[other], found)
        found = np.where((least == _OFF) & (most == _BAR), self.bar_mm, found)
        alike = (a == b) | (one < 0) | (other < 0)
        return np.where(alike, 0.0, found)


def part_sags(assembly: Assembly, bar: BarResult) -> PartSags:
    """How a solved bar moves each part.

    Args:
        assembly: the rig.
        bar: its bar, solved.
    """
    parts = assembly.mechanism.parts
    number = {s.name: k for k, s in enumerate(assembly.stations)}
    places = np.array([s.place_mm for s in assembly.stations], dtype=np.float64)
    zero = np.zeros(len(places))
    shifts = np.column_stack((bar.level.deflection(places), zero, bar.upright.deflection(places)))
    angles = np.linalg.norm(_turns(bar, places), axis=1)
    station = np.array([number.get(p.station, _BAR if p.name == "bar" else _OFF) for p in parts])
    reach = np.array(
        [_reach(assembly, p.frame) + _radius(p.solid) if p.station else 0.0 for p in parts]
    )
    on = station >= 0
    found = np.zeros((len(parts), 3))
    found[on] = shifts[station[on]]
    swings = np.zeros(len(parts))
    swings[on] = angles[station[on]] * reach[on]
    beside = np.zeros(len(parts))
    beside[on] = np.array([_beside(assembly, bar, s) for s in assembly.stations])[station[on]]
    half = assembly.scene.spec.toolbar.length / 2.0
    along = np.linspace(-half, half, SAMPLES)
    off = np.hypot(bar.level.deflection(along), bar.upright.deflection(along))
    off += np.linalg.norm(_turns(bar, along), axis=1) * _corner(assembly)
    return PartSags(station, found, swings, beside, float(off.max()))


def _turns(bar: BarResult, places: FloatArray) -> FloatArray:
    """Sizes of the small turns of the bar at places along it, by axis, radians, shape (m, 3)."""
    return np.column_stack(
        (bar.upright.slope(places), bar.turned.angles(places), bar.level.slope(places))
    )


def _corner(assembly: Assembly) -> float:
    """Most that a point of the bar is away from its axis, mm."""
    return assembly.scene.tube.size / math.sqrt(2.0)


def _beside(assembly: Assembly, bar: BarResult, station: StationPlace) -> float:
    """Most that the bar, as far as a station stands beside its clamp, leaves the station, mm."""
    at = station.place_mm
    middle = at + assembly.scene.spec.toolbar.offset
    parts = [assembly.at_work(assembly.mechanism.part(name)) for name in station.parts]
    edges = [edge - middle for part in parts for edge in part.extent((0.0, 1.0, 0.0))]
    wide = max(map(abs, edges), default=0.0)
    y = np.linspace(at - wide, at + wide, _STEPS)
    here = np.array([at])
    half = assembly.scene.spec.toolbar.length / 2.0
    y = np.clip(y, -half, half)
    bent = [
        plane.deflection(y) - plane.deflection(here) - plane.slope(here) * (y - at)
        for plane in (bar.upright, bar.level)
    ]
    turned = np.linalg.norm(_turns(bar, y) - _turns(bar, here), axis=1)
    return float((np.hypot(*bent) + turned * _corner(assembly)).max())


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
