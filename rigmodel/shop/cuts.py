"""The cut list: tubes, shanks and stems of the rig, cut from stock lengths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import FlatShank, RoundShank, SquareTube
from rigmodel.shop.cutting import Nesting, Piece, Stock, nest
from rigmodel.shop.items import Item, items
from rigmodel.shop.sizes import section_text
from rigmodel.units import Unit

KERF_MM = 2.0
KERF_SOURCE = "from memory: a cold saw cuts 2.0 to 2.5 mm wide"
STOCK_SOURCE = "common practice, no source"
_FOOT = 304.8
STOCK_INCH = (20 * _FOOT, 24 * _FOOT)
STOCK_METRIC = (6000.0,)
BENT = "bent from a straight blank as long as its centre line; allow for your own bender"

Section = SquareTube | FlatShank | RoundShank


@dataclass(frozen=True)
class SectionCuts:
    """All pieces of one section.

    Attributes:
        section: the section in the scene's unit.
        pieces: the pieces, longest first.
        nesting: which piece comes from which length of stock.
        notes: what else the saw's user must know.
    """

    section: str
    pieces: tuple[Piece, ...]
    nesting: Nesting
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CutList:
    """The whole cut list.

    Attributes:
        sections: one for each section.
        stock_mm: lengths that stock is sold in.
        kerf_mm: width of a saw cut.
    """

    sections: tuple[SectionCuts, ...]
    stock_mm: tuple[float, ...]
    kerf_mm: float

    @property
    def too_long(self) -> tuple[str, ...]:
        """Pieces that no stock length holds."""
        return tuple(label for s in self.sections for label in s.nesting.too_long)


def usual_stock(unit: Unit) -> tuple[float, ...]:
    """Stock lengths where none are given: 20 and 24 ft, or 6 m."""
    return STOCK_INCH if unit in (Unit.IN, Unit.FT) else STOCK_METRIC


def cut_list(
    assembly: Assembly, stock_mm: Sequence[float] | None = None, kerf_mm: float = KERF_MM
) -> CutList:
    """The bar, cross tubes, struts, shanks and stems on the least stock, section by section.

    Args:
        assembly: the rig.
        stock_mm: lengths that stock is sold in, mm; the usual ones where None.
        kerf_mm: width of a saw cut, mm.

    Raises:
        ValueError: a stock length is not above 0 or the kerf is below 0.
    """
    lengths = tuple(sorted(stock_mm or usual_stock(assembly.scene.unit), reverse=True))
    groups: dict[tuple[object, ...], list[Item]] = {}
    for item in items(assembly):
        if isinstance(item.entry, SquareTube | FlatShank | RoundShank):
            groups.setdefault(_key(item.entry), []).append(item)
    ordered = sorted(groups.values(), key=lambda same: _kind_order(same[0]))
    sections = tuple(_section(assembly, same, lengths, kerf_mm) for same in ordered)
    return CutList(sections, lengths, kerf_mm)


def _key(entry: Section) -> tuple[object, ...]:
    """What makes two pieces come from the same stock."""
    if isinstance(entry, SquareTube):
        pitch = entry.hole_pitch or 0.0
        sizes = (entry.size, entry.wall, pitch, entry.hole_start)
    elif isinstance(entry, FlatShank):
        sizes = (entry.width, entry.thickness, 0.0, 0.0)
    else:
        sizes = (entry.diameter, entry.wall, 0.0, 0.0)
    return (entry.kind, *(round(size, 2) for size in sizes))


def _kind_order(item: Item) -> tuple[int, str]:
    kinds = ("square-tube", "flat-shank", "round-shank")
    return (-1 if item.role is Role.BAR else kinds.index(item.entry.kind), item.part_id)


def _section(
    assembly: Assembly, same: list[Item], lengths: tuple[float, ...], kerf_mm: float
) -> SectionCuts:
    entry = same[0].entry
    assert isinstance(entry, SquareTube | FlatShank | RoundShank)  # chosen so by cut_list
    pitch = (entry.hole_pitch or 0.0) if isinstance(entry, SquareTube) else 0.0
    start = entry.hole_start if isinstance(entry, SquareTube) else 0.0
    labels: dict[tuple[float, float], list[str]] = {}
    for item in same:
        lead = _lead(item, pitch, start)
        labels.setdefault((round(blank_length(item), 3), round(lead, 3)), []).append(item.name)
    pieces = [Piece(length, lead, tuple(names)) for (length, lead), names in labels.items()]
    pieces.sort(key=lambda piece: (-piece.length, piece.lead))
    nesting = nest(pieces, Stock(lengths, kerf_mm, pitch, start))
    say = assembly.scene.say
    notes = _notes(same, pitch, say(start))
    return SectionCuts(section_text(entry, say), tuple(pieces), nesting, notes)


def blank_length(item: Item) -> float:
    """Length of straight stock for a tube or shank, mm: along the centre line of a cranked one."""
    entry = item.entry
    if isinstance(entry, FlatShank) and entry.crank:
        slant = math.hypot(entry.crank, entry.crank_height)
        return entry.length - entry.crank_height + slant
    if isinstance(entry, FlatShank | RoundShank):
        return entry.length
    return item.length_mm


def _lead(item: Item, pitch: float, start: float) -> float:
    """From a piece's end to its first hole: the bar has a hole at its middle."""
    if not pitch:
        return 0.0
    return (item.length_mm / 2.0) % pitch if item.role is Role.BAR else start % pitch


def _notes(same: list[Item], pitch: float, start: str) -> tuple[str, ...]:
    found = []
    if pitch:
        found.append(
            f"perforated stock is taken to begin {start} before its first hole; every piece "
            "starts so that its holes are the stock's"
        )
    if any(isinstance(item.entry, FlatShank) and item.entry.crank for item in same):
        found.append(f"a cranked shank is {BENT}")
    if any(item.role is Role.STRUT for item in same):
        found.append("a strut is slotted over its lugs and drilled for its pins after cutting")
    if any(getattr(item.entry, "hole_pitch", None) and not pitch for item in same):
        found.append("holes are drilled after cutting")
    return tuple(found)
