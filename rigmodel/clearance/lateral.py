"""How far steel may stray sideways from where it was meant, in the worst case and by chance.

Errors add along y. In the worst case every one is at its end. By chance, an error that has play
(a clamp's setting, a hole, worn links, the gap between two drill passes, the bar's roll) is taken
as evenly spread over its range, and one that wanders (steering, a side hill) as a bell curve whose
range is two standard deviations each way; both are assumptions, and the finding says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.spec.passes import beyond_pass

ASSUMED = "play evenly spread, steering and side hill as bell curves of two deviations"
DRAWS = 40_000
SEED = 20_000
BELL_SIGMAS = 2.0
SHARE = 0.95


class Spread(StrEnum):
    """How an error is spread over its range."""

    EVEN = "even"
    BELL = "bell"


@dataclass(frozen=True)
class LateralError:
    """One cause of error.

    Attributes:
        field: where it stands in the scene's tolerances.
        name: what a report calls it.
        reach_mm: how far it moves steel each way.
        spread: how it is spread over that.
    """

    field: str
    name: str
    reach_mm: float
    spread: Spread


@dataclass(frozen=True)
class Odds:
    """What chance makes of a row's stand-off.

    Attributes:
        usual_mm: the steel stays farther than this from the row with a chance of `SHARE`.
        touching: share of draws in which steel comes nearer than the limit.
    """

    usual_mm: float
    touching: float


def miss_share(half_band: float, deviation: float) -> float:
    """Share of a bell-shaped error beyond ±half_band: erfc(c / (s √2)).

    Args:
        half_band: c, mm.
        deviation: standard deviation s, mm.
    """
    return math.erfc(half_band / (deviation * math.sqrt(2.0)))


def shared_errors(assembly: Assembly, index: int) -> tuple[LateralError, ...]:
    """Errors that move the whole rig against row `index`."""
    tolerances, spec = assembly.scene.spec.tolerances, assembly.scene.spec
    roll = spec.toolbar.height * math.sin(math.radians(tolerances.roll or 0.0))
    guess = tolerances.guess_row or 0.0
    if not beyond_pass(spec.rows.drill_rows, index, len(assembly.rows)):
        guess = 0.0
    every = (
        LateralError("link_play", "play in the links", tolerances.link_play or 0.0, Spread.EVEN),
        LateralError("steering", "steering", tolerances.steering or 0.0, Spread.BELL),
        LateralError("side_hill", "side hill", tolerances.side_hill or 0.0, Spread.BELL),
        LateralError("guess_row", "guess row", guess, Spread.EVEN),
        LateralError("roll", "roll of the bar", roll, Spread.EVEN),
    )
    return tuple(error for error in every if error.reach_mm > 0.0)


def own_error(assembly: Assembly) -> LateralError:
    """The error of each station by itself: its clamp's setting, or its pin's hole."""
    tolerances = assembly.scene.spec.tolerances
    if assembly.scene.tube.hole_pitch is not None:
        return LateralError("hole_play", "hole play", tolerances.hole_play or 0.0, Spread.EVEN)
    return LateralError("setting", "setting of clamps", tolerances.setting, Spread.EVEN)


@dataclass(frozen=True, eq=False)
class SteelStrips:
    """Where each piece of steel on the rig stands across at work, mm, all of shape (n,).

    Attributes:
        low: right edge.
        high: left edge.
        bottom: height of its lowest point.
        parts: names of the parts.
    """

    low: FloatArray
    high: FloatArray
    bottom: FloatArray
    parts: tuple[str, ...]

    def beside(self, row: RowPlace, top_mm: float) -> tuple[float, float, str]:
        """Distance from a row to the nearest steel left and right of it, and the nearer's part.

        Only pieces that reach below `top_mm` over the row's soil count; infinite and an empty name
        where there are none.
        """
        deep = self.bottom <= row.soil_mm + top_mm
        on_left = self.low + self.high >= 2.0 * row.y_mm
        left = np.where(deep & on_left, self.low - row.y_mm, math.inf)
        right = np.where(deep & ~on_left, row.y_mm - self.high, math.inf)
        nearest = np.minimum(left, right)
        if not np.isfinite(nearest.min(initial=math.inf)):
            return math.inf, math.inf, ""
        return float(left.min()), float(right.min()), self.parts[int(nearest.argmin())]


@lru_cache(maxsize=4)  # the rows of a rig share their errors
def _sideways(
    shared: tuple[LateralError, ...], own: LateralError
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Draws of what moves both sides of a row, of the left side's own error and of the right's."""
    random = np.random.default_rng(SEED)

    def drawn(error: LateralError) -> FloatArray:
        if error.spread is Spread.EVEN:
            return random.uniform(-error.reach_mm, error.reach_mm, DRAWS)
        return random.normal(0.0, error.reach_mm / BELL_SIGMAS, DRAWS)

    common = np.zeros(DRAWS)
    for error in shared:
        common += drawn(error)
    found = (common, drawn(own), drawn(own))
    for draws in found:
        draws.setflags(write=False)
    return found


def odds(
    left: float, right: float, shared: tuple[LateralError, ...], own: LateralError, limit: float
) -> Odds:
    """Chance of steel near a row, by `DRAWS` seeded draws.

    Args:
        left: stand-off of the steel left of the row, mm.
        right: stand-off of the steel right of it, mm.
        shared: errors that move both together.
        own: error of each side by itself.
        limit: distance that counts as touching, mm.
    """
    common, own_left, own_right = _sideways(shared, own)
    nearest = np.minimum(left - common + own_left, right + common + own_right)
    return Odds(_usual(nearest), float(np.count_nonzero(nearest < limit) / DRAWS))


def _usual(draws: FloatArray) -> float:
    """What `SHARE` of the draws is above, interpolated; numpy's own brings in masked arrays."""
    place = (1.0 - SHARE) * (DRAWS - 1)
    k = int(place)
    low, high = np.partition(draws, (k, k + 1))[k : k + 2].tolist()
    found: float = low + (high - low) * (place - k)
    return found
