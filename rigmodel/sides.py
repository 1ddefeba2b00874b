"""Left and right, ahead and behind: how every output tells a place across or along the rig."""

from __future__ import annotations

from rigmodel.units import Unit, format_length

CENTRE = "the centre"
CENTRE_MM = 0.5  # a place nearer to a line than this is on it: no tape shows the difference


def way(mm: float) -> str:
    """``left`` or ``right`` of a line that a place stands off by so much, left positive."""
    return "left" if mm > 0.0 else "right"


def ahead(mm: float) -> str:
    """``ahead`` or ``behind``; ahead is positive."""
    return "ahead" if mm > 0.0 else "behind"


def ahead_of(mm: float) -> str:
    """``ahead of`` or ``behind``, before the thing itself."""
    return "ahead of" if mm >= 0.0 else "behind"


def sided(mm: float, length: str, of: str = "") -> str:
    """A place across, as what can follow 'at' or stand between arrows.

    Args:
        mm: how far it is left of a line.
        length: the same without its side, as it is to be told.
        of: what the line is called, such as ``the bar's centre``; left out where that is plain.

    Returns:
        ``22 1/2 in left``, ``22 1/2 in left of the bar's centre``; or ``the centre``.
    """
    if abs(mm) < CENTRE_MM:
        return of or CENTRE
    told = f"{length} {way(mm)}"
    return f"{told} of {of}" if of else told


def side(mm: float, unit: Unit, of: str = "") -> str:
    """The same with the length in some unit."""
    return sided(mm, format_length(abs(mm), unit), of)


def at_side(mm: float, unit: Unit) -> str:
    """The same as what can stand alone: ``22 1/2 in left``, or ``at the centre``."""
    told = side(mm, unit)
    return f"at {told}" if told == CENTRE else told
