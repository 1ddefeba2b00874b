"""The stamp on drawings of a rig that must not be built as it stands.

It stands in the borders outside the frame, so that it hides no dimension and no view makes it
smaller: along the top, and upright on the filing side. A DXF has it over the views too
(`dxf.dxf_text`), because many shops open those alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.clearance.finding import Findings, Verdict
from rigmodel.drawing.furniture import frame_box, rectangle
from rigmodel.drawing.lettering import shortened, text_width
from rigmodel.drawing.primitives import Item, Layer, Words
from rigmodel.drawing.sheet import Box, Paper

# Office printers leave some 4.3 mm at each edge empty; from memory.
_TOP_MM, _SIDE_MM, _OFF_MM, _PAD_MM = 3.5, 8.0, 1.0, 3.0


def stamp_of(findings: Findings) -> str:
    """What is stamped on every sheet; an empty text where nothing fails."""
    fails = dict.fromkeys(f.check for f in findings.findings if f.verdict is Verdict.FAIL)
    if not fails:
        return ""
    told = "1 check fails" if len(fails) == 1 else f"{len(fails)} checks fail"
    return f"DO NOT BUILD: {told} ({', '.join(fails)})"


def short(stamp: str) -> str:
    """The stamp without the names of the checks."""
    return stamp.partition(" (")[0]


def stamp_items(paper: Paper, stamp: str) -> Iterator[Item]:
    """The stamp on a sheet; nothing for an empty text.

    Args:
        paper: of the sheet.
        stamp: what `stamp_of` returned.
    """
    if not stamp:
        return
    frame = frame_box(paper)
    across = shortened(stamp, _TOP_MM, frame.width - 2.0 * _PAD_MM)
    low = frame.top + _OFF_MM
    box = Box(frame.left, low, frame.left + text_width(across, _TOP_MM) + 2.0 * _PAD_MM, low + 4.5)
    yield rectangle(box, Layer.MARK)
    yield Words(across, (frame.left + _PAD_MM, low + (4.5 - _TOP_MM) / 2.0), _TOP_MM)
    upright = short(stamp)
    room = frame.height - 2.0 * _PAD_MM
    height = _SIDE_MM * min(1.0, room / text_width(upright, _SIDE_MM))
    place = (frame.left - 3.0 * _OFF_MM, (frame.bottom + frame.top) / 2.0)
    yield Words(upright, place, height, "middle", 90.0)
