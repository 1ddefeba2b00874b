"""Numbers as every JSON of ours has them."""

from __future__ import annotations

import math

DIGITS = 6


def number(value: float | None) -> float | None:
    """A finite number without noise in its last digits; -0 becomes 0, what is no number null."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, DIGITS) + 0.0
