"""Masses, forces and moments as a person of either system reads them."""

from __future__ import annotations

from rigmodel.units import Unit

KG_PER_LB = 0.45359237
"""The international pound (exact by definition, from memory)."""

N_PER_LBF = KG_PER_LB * 9.80665
"""The pound-force under standard gravity, N."""

NM_PER_LBF_FT = N_PER_LBF * 0.3048
"""The pound-force foot, N m."""


def mass(kg: float, unit: Unit) -> str:
    """A mass, pounds first where lengths are in inches or feet."""
    return _both(kg, "kg", KG_PER_LB, "lb", unit)


def force(n: float, unit: Unit) -> str:
    """A force, pounds-force first where lengths are in inches or feet."""
    return _both(n, "N", N_PER_LBF, "lbf", unit)


def moment(nm: float, unit: Unit) -> str:
    """A moment, pound-force feet first where lengths are in inches or feet."""
    return _both(nm, "N m", NM_PER_LBF_FT, "lbf ft", unit)


def _both(value: float, name: str, size: float, other: str, unit: Unit) -> str:
    metric = f"{_short(value)} {name}"
    return f"{_short(value / size)} {other} ({metric})" if unit in (Unit.IN, Unit.FT) else metric


def _short(value: float) -> str:
    """A number with three figures that count, and never more places than a tenth's."""
    text = f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.1f}"
    return "0" if text in ("-0", "0.0", "-0.0") else text
