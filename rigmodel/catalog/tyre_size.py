"""Outside size of a tyre from its designation."""

from __future__ import annotations

import re
from dataclasses import dataclass

INCH_MM = 25.4
_METRIC = re.compile(r"^(\d{2,4})/(\d{2,3})\s*(?:R|B|-)\s*(\d{1,2}(?:\.\d)?)$", re.IGNORECASE)


@dataclass(frozen=True)
class TyreSize:
    """Unloaded outside size of a tyre.

    Attributes:
        width_mm: section width.
        diameter_mm: overall diameter.
        source: where the size comes from.
    """

    width_mm: float
    diameter_mm: float
    source: str


def metric_size(designation: str) -> TyreSize | None:
    """Size from a metric designation such as ``280/70R16``; None for any other form.

    D = d + 2 H with H = 0.01 · width · aspect rounded to a millimetre and d = rim code · 25.4 mm
    (UN Regulation 106, paragraph 6.1.2, from memory). The section width is the nominal one, on the
    rim that the designation stands for.
    """
    match = _METRIC.match(designation.strip())
    if match is None:
        return None
    width, aspect, rim = (float(group) for group in match.groups())
    section_height = round(0.01 * width * aspect)
    return TyreSize(
        width_mm=width,
        diameter_mm=rim * INCH_MM + 2.0 * section_height,
        source="UN Regulation 106, D = d + 2H",
    )
