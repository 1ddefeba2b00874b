"""Which rows of a hoe may lie beyond the drill pass that its middle follows."""

from __future__ import annotations

import math


def beyond_pass(drill_rows: int | None, index: int, count: int) -> bool:
    """Whether row `index` of a hoe of `count` rows may belong to another pass of the drill.

    The driver follows the rows in the middle; where two passes meet there, either of them. A hoe
    as wide as the drill, or of a number of rows that goes into the drill's, never spans two
    passes; any other does now and then, at places that step by the greatest common divisor of
    both numbers, and each is looked at.

    Args:
        drill_rows: rows the drill sets in one pass, or None where it is not known.
        index: row from the left, from 0.
        count: rows of the hoe.
    """
    if drill_rows is None or drill_rows % count == 0:
        return False
    middles = {(count - 1) // 2, count // 2}
    for start in range(0, drill_rows, math.gcd(drill_rows, count)):
        own = (start + index) // drill_rows
        if any((start + middle) // drill_rows != own for middle in middles):
            return True
    return False
