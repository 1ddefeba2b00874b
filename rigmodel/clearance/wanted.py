"""What is wanted of pairs of bodies: how far their lower bounds must come."""

from __future__ import annotations

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.clearance.limbs import BoolArray
from rigmodel.clearance.separation import TOUCH_MM

_STRADDLE = 0.125  # share of the error bound to which a value at its limit is worked out


def base_of(limits: FloatArray) -> FloatArray:
    """What the margin of each pair counts from, mm: its limit, 0 where its value is wanted."""
    return np.where(np.isfinite(limits), limits, 0.0)


def wanted_low(
    limits: FloatArray, high: FloatArray, margin: float, error_bound_mm: float
) -> FloatArray:
    """Lower bounds that say all that is wanted of pairs of bodies, shape (k,), mm.

    Args:
        limits: limit of each, mm; infinite to work out the value.
        high: least value found of each, mm.
        margin: least margin of any value found over its limit, mm.
        error_bound_mm: width to which values are worked out.
    """
    base, limits = base_of(limits), limits - TOUCH_MM
    keeps = np.maximum(limits, base + margin - error_bound_mm)
    keeps = np.minimum(keeps, high - error_bound_mm * _STRADDLE)
    return np.where(high < limits, high - error_bound_mm, keeps)


def enough_of(lots: BoolArray, high: FloatArray, base: FloatArray) -> FloatArray:
    """Lower bounds that prove pairs of bodies to be no worse than the worst of their lots, (k,) mm.

    Args:
        lots: which pairs belong to each lot, shape (m, k).
        high: least value found of each, mm, shape (k,).
        base: what the margin of each counts from, mm, shape (k,).
    """
    margins = np.where(lots, high - base, np.inf).min(axis=1, initial=np.inf)
    enough: FloatArray = base + np.where(lots, margins[:, None], -np.inf).max(0, initial=-np.inf)
    return enough
