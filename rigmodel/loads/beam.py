"""A straight bar on hangers: bending in closed form (Macaulay's brackets), and torsion.

Any consistent units serve; in rigmodel they are N, mm and MPa. Loads act across the bar (positive
one way), couples turn it so that the deflection grows along it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from meshes_generic.transform import FloatArray


@dataclass(frozen=True, eq=False)
class PointLoad:
    """What acts at one place of a bar.

    Attributes:
        at: place along the bar.
        force: force across the bar.
        couple: moment in the plane of bending.
    """

    at: float
    force: float
    couple: float = 0.0


@dataclass(frozen=True, eq=False)
class Bending:
    """A bent bar, solved.

    Attributes:
        start: place of its first end.
        length: its length.
        stiffness: E·I.
        places: places of the loads and reactions, shape (n,).
        forces: forces there, shape (n,).
        couples: couples there, shape (n,).
        spread: force per length, over the whole bar.
        start_deflection: deflection of the first end.
        start_slope: slope of the first end.
        reactions: forces of the hangers, shape (s,).
    """

    start: float
    length: float
    stiffness: float
    places: FloatArray
    forces: FloatArray
    couples: FloatArray
    spread: float
    start_deflection: float
    start_slope: float
    reactions: FloatArray

    def _arms(self, points: FloatArray) -> FloatArray:
        return np.maximum(points[:, None] - self.places[None, :], 0.0)

    def deflection(self, points: FloatArray) -> FloatArray:
        """Deflection at points along the bar, shape (m,)."""
        arms, x = self._arms(points), points - self.start
        bent = arms**3 @ self.forces / 6.0 - arms**2 @ self.couples / 2.0 + self.spread * x**4 / 24
        return self.start_deflection + self.start_slope * x + bent / self.stiffness

    def slope(self, points: FloatArray) -> FloatArray:
        """Slope of the bent bar (radians) at points along it, shape (m,)."""
        arms, x = self._arms(points), points - self.start
        bent = arms**2 @ self.forces / 2.0 - arms @ self.couples + self.spread * x**3 / 6.0
        return self.start_slope + bent / self.stiffness

    def moments(self, points: FloatArray) -> FloatArray:
        """Bending moments just before and just after each point, shape (2, m)."""
        arms, x = self._arms(points), points - self.start
        smooth = arms @ self.forces + self.spread * x**2 / 2.0
        return np.stack([smooth - p @ self.couples for p in self._passed(points)])

    def shears(self, points: FloatArray) -> FloatArray:
        """Shear forces just before and just after each point, shape (2, m)."""
        smooth = self.spread * (points - self.start)
        return np.stack([smooth + p @ self.forces for p in self._passed(points)])

    def _passed(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        away = points[:, None] - self.places[None, :]
        return (away > 0.0).astype(np.float64), (away >= 0.0).astype(np.float64)


def bend(
    ends: tuple[float, float],
    stiffness: float,
    hangers: Sequence[float],
    loads: Sequence[PointLoad],
    spread: float = 0.0,
) -> Bending:
    """Solves a bar on two or more hangers that hold its place and leave it free to turn.

    Args:
        ends: places of the bar's two ends, the lesser first.
        stiffness: E·I.
        hangers: their places, two or more, all different and on the bar.
        loads: what acts on it.
        spread: force per length over the whole bar.

    Raises:
        ValueError: fewer than two hangers, two at one place, or one off the bar.
    """
    start, length = ends[0], ends[1] - ends[0]
    held = _places(ends, hangers)
    at = np.array([load.at for load in loads], dtype=np.float64)
    force = np.array([load.force for load in loads], dtype=np.float64)
    couple = np.array([load.couple for load in loads], dtype=np.float64)
    # All lengths are taken as shares of the bar's, so that the equations are of one size.
    h, a = (held - start) / length, (at - start) / length
    couple_share, whole = couple / length, spread * length
    n = len(held)
    rows = np.zeros((n + 2, n + 2))
    right = np.zeros(n + 2)
    rows[0, :n], right[0] = 1.0, -(force.sum() + whole)
    rows[1, :n], right[1] = h, -(force @ a + couple_share.sum() + whole / 2.0)
    load_arms = np.maximum(h[:, None] - a[None, :], 0.0)
    rows[2:, :n] = np.maximum(h[:, None] - h[None, :], 0.0) ** 3 / 6.0
    rows[2:, n], rows[2:, n + 1] = 1.0, h
    right[2:] = -(
        load_arms**3 @ force / 6.0 - load_arms**2 @ couple_share / 2.0 + whole * h**4 / 24.0
    )
    solved: FloatArray = np.asarray(np.linalg.solve(rows, right), dtype=np.float64)
    reactions = solved[:n]
    scale = length**3 / stiffness
    return Bending(
        start,
        length,
        stiffness,
        np.concatenate([at, held]),
        np.concatenate([force, reactions]),
        np.concatenate([couple, np.zeros(n)]),
        spread,
        float(solved[n]) * scale,
        float(solved[n + 1]) * scale / length,
        reactions,
    )


def _places(ends: tuple[float, float], hangers: Sequence[float]) -> FloatArray:
    held = np.sort(np.array(hangers, dtype=np.float64))
    if len(held) < 2 or bool((np.diff(held) <= 0.0).any()):
        raise ValueError("a bar needs two hangers or more, at different places")
    if held[0] < ends[0] or held[-1] > ends[1]:
        raise ValueError("every hanger must be on the bar")
    return held


@dataclass(frozen=True, eq=False)
class Twist:
    """A twisted bar whose hangers hold it against turning.

    Attributes:
        hangers: their places, in rising order, shape (s,).
        at: places of the torques, shape (n,).
        torques: the torques, shape (n,).
        stiffness: G·J.
    """

    hangers: FloatArray
    at: FloatArray
    torques: FloatArray
    stiffness: float

    def angles(self, points: FloatArray) -> FloatArray:
        """Angle (radians) the bar turns by at points along it, shape (m,)."""
        if not self.torques.any():
            return np.zeros(len(points))
        return _influence(self.hangers, points, self.at) @ self.torques / self.stiffness

    def inside(self, points: FloatArray) -> FloatArray:
        """Torque in the bar just before and just after each point, shape (2, m)."""
        shares = _shares(self.hangers, self.at)
        forces = np.concatenate([self.torques, -(shares @ self.torques)])
        places = np.concatenate([self.at, self.hangers])
        away = points[:, None] - places[None, :]
        return -np.stack([(away > 0.0) @ forces, (away >= 0.0) @ forces])

    @property
    def reactions(self) -> FloatArray:
        """Torques of the hangers on the bar, shape (s,)."""
        shares: FloatArray = -(_shares(self.hangers, self.at) @ self.torques)
        return shares


def twist(hangers: Sequence[float], stiffness: float, at: FloatArray, torques: FloatArray) -> Twist:
    """A bar under torques (positive all the same way), held against turning at its hangers."""
    return Twist(np.sort(np.array(hangers, dtype=np.float64)), at, torques, stiffness)


def _shares(hangers: FloatArray, at: FloatArray) -> FloatArray:
    """Share of each torque that each hanger takes, shape (s, n)."""
    eye = np.eye(len(hangers))
    return np.stack([np.interp(at, hangers, row) for row in eye])


def _influence(hangers: FloatArray, points: FloatArray, at: FloatArray) -> FloatArray:
    """Twist times G·J at each point for a unit torque at each place, shape (m, n)."""
    found = np.zeros((len(points), len(at)))
    first, last = float(hangers[0]), float(hangers[-1])
    for left, right in pairwise(hangers):
        both = ((points >= left) & (points <= right))[:, None] & ((at >= left) & (at <= right))
        near = np.minimum(points[:, None], at) - left
        far = right - np.maximum(points[:, None], at)
        found += np.where(both, near * far / (right - left), 0.0)
    beyond = np.minimum(np.maximum(points[:, None] - last, 0.0), np.maximum(at - last, 0.0))
    below = np.minimum(np.maximum(first - points[:, None], 0.0), np.maximum(first - at, 0.0))
    return found + beyond + below


def cantilever_tip(force: float, length: float, stiffness: float) -> float:
    """How far the tip of a bar held at one end goes under a force there: F·L³ / 3·E·I."""
    return force * length**3 / (3.0 * stiffness)
