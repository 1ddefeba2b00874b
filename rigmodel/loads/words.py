"""Masses, forces, moments and balance as a person of either system reads them."""

from __future__ import annotations

from collections.abc import Sequence

from meshes_generic.transform import FloatArray
from rigmodel.sides import ahead_of, way
from rigmodel.units import Unit, format_setting

KG_PER_LB = 0.45359237
"""The international pound (exact by definition, from memory)."""

N_PER_LBF = KG_PER_LB * 9.80665
"""The pound-force under standard gravity, N."""

NM_PER_LBF_FT = N_PER_LBF * 0.3048
"""The pound-force foot, N m."""


MPA_PER_KSI = N_PER_LBF * 1000.0 / 25.4**2
"""A thousand pounds-force on a square inch, MPa."""


def mass(kg: float, unit: Unit) -> str:
    """A mass, pounds first where lengths are in inches or feet."""
    return _both(kg, "kg", KG_PER_LB, "lb", unit)


def force(n: float, unit: Unit) -> str:
    """A force, pounds-force first where lengths are in inches or feet."""
    return _both(n, "N", N_PER_LBF, "lbf", unit)


def moment(nm: float, unit: Unit) -> str:
    """A moment, pound-force feet first where lengths are in inches or feet."""
    return _both(nm, "N m", NM_PER_LBF_FT, "lbf ft", unit)


def stress(mpa: float, unit: Unit) -> str:
    """A stress, thousands of pounds a square inch first where lengths are in inches or feet."""
    metric = f"{mpa:.1f} MPa"
    return f"{mpa / MPA_PER_KSI:.1f} ksi ({metric})" if unit in (Unit.IN, Unit.FT) else metric


def deflection(mm: float, unit: Unit) -> str:
    """How far something gives, finer than a tape reads: ``0.472 in (11.98 mm)``."""
    metric = f"{abs(mm):.2f} mm"
    return f"{abs(mm) / 25.4:.3f} in ({metric})" if unit in (Unit.IN, Unit.FT) else metric


def balance_point(centre_mm: FloatArray, unit: Unit) -> str:
    """Where a centre of gravity is, shape (3,): from rear axle, centre line and soil."""
    x, y, z = (_whole(value, unit) for value in centre_mm.tolist())
    along = f"{format_setting(abs(x), unit)} {ahead_of(x)} the rear axle"
    across = format_setting(abs(y), unit)
    if across == format_setting(0.0, unit):
        across = "on the centre line"
    else:
        across += f" {way(y)} of the centre line"
    up = format_setting(abs(z), unit)
    over = "over" if z >= 0.0 or up == format_setting(0.0, unit) else "under"
    return f"{along}, {across}, {up} {over} the soil"


def named(parts: Sequence[str]) -> str:
    """Parts that are alike: ``row1.left.blade``, ``row1.left.blade and 3 more``."""
    more = len(parts) - 1
    return f"{parts[0]} and {more} more" if more else parts[0]


def _whole(mm: float, unit: Unit) -> float:
    """A length no finer than a balance is known: whole millimetres, or as inches are written."""
    return mm if unit in (Unit.IN, Unit.FT) else round(mm) + 0.0


def _both(value: float, name: str, size: float, other: str, unit: Unit) -> str:
    metric = f"{_short(value)} {name}"
    return f"{_short(value / size)} {other} ({metric})" if unit in (Unit.IN, Unit.FT) else metric


def _short(value: float) -> str:
    """A number with two figures that count or more, and never more places than a hundredth's."""
    places = 0 if abs(value) >= 100.0 else 1 if abs(value) >= 1.0 else 2
    text = f"{value:.{places}f}"
    return "0" if not text.strip("-0.") else text


def mass_axis(unit: Unit) -> tuple[str, float]:
    """Unit of masses on a drawing's axis, and its size in kg."""
    return ("lb", KG_PER_LB) if unit in (Unit.IN, Unit.FT) else ("kg", 1.0)


def force_axis(unit: Unit) -> tuple[str, float]:
    """Unit of forces on a drawing's axis, and its size in N."""
    return ("lbf", N_PER_LBF) if unit in (Unit.IN, Unit.FT) else ("N", 1.0)


def moment_axis(unit: Unit) -> tuple[str, float]:
    """Unit of moments on a drawing's axis, and its size in N m."""
    return ("lbf ft", NM_PER_LBF_FT) if unit in (Unit.IN, Unit.FT) else ("N m", 1.0)
