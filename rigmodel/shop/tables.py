"""The shop's list as tables of plain values, ready for CSV and spreadsheets.

Numbers stay numbers: their unit stands in the heading of their column. Lengths are inches in an
inch scene, else mm; masses lb or kg; torques lbf ft or N m.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rigmodel.shop import words
from rigmodel.shop.columns import Column, Row, Table, Units, units_of
from rigmodel.shop.listing import ShopList
from rigmodel.shop.load_tables import load_tables
from rigmodel.shop.marks import Mark, ToolMark
from rigmodel.shop.parts import PartLine
from rigmodel.shop.stack import Stack
from rigmodel.sides import CENTRE
from rigmodel.units import format_length


def tables(listing: ShopList, cautions: Sequence[str] = ()) -> tuple[Table, ...]:
    """All tables: parts, weights, pull, fasteners, cut list, marks, torque by grade, notes."""
    units = units_of(listing.unit)
    return (
        parts_table(listing, units),
        *load_tables(listing, units),
        _fasteners(listing, units),
        _cuts(listing, units),
        _marks(listing, units),
        _torque(listing, units),
        _notes(listing, cautions),
    )


def parts_table(listing: ShopList, units: Units) -> Table:
    """The parts list, its total in the last row."""
    parts = listing.parts
    columns = [
        Column("Group", 18),
        Column("Id", 25),
        Column("What", 36),
        Column("Size", 38),
        Column("Count", 9),
        Column("Material", 15),
        Column(f"Mass each ({units.mass})", 11, "0.00"),
        Column(f"Mass total ({units.mass})", 11, "0.00"),
    ]
    if parts.priced:
        columns += [Column("Price each", 11, "0.00"), Column("Price total", 11, "0.00")]
    rows = [_part(line, units, parts.priced) for line in parts.lines]
    missing = parts.without_price
    told = f"incomplete: {len(missing)} without a price" if parts.priced and missing else ""
    count = sum(line.count for line in parts.lines)
    total: Row = ("Total", None, told or None, None, count, None, None, units.kg(parts.total_kg))
    if parts.priced:
        total = (*total, None, parts.total_price)
    return Table("Parts", tuple(columns), (*rows, total), total=True)


def _part(line: PartLine, units: Units, priced: bool) -> Row:
    row: Row = (
        line.group,
        line.part_id,
        line.what,
        line.size,
        line.count,
        line.material,
        units.kg(line.mass_kg),
        units.kg(line.total_kg),
    )
    if not priced:
        return row
    if line.price is None:
        return (*row, words.NO_PRICE, words.NO_PRICE)
    return (*row, line.price, line.total_price)


def _fasteners(listing: ShopList, units: Units) -> Table:
    columns = (
        Column("What", 12),
        Column("Thread", 10),
        Column("Length", 24),
        Column("Count", 9),
        Column("Grade", 10),
        Column("Spanner", 10),
        Column("Clamps", 30),
        Column(f"Grip ({units.length})", 9, "0.00"),
        Column(f"Least length ({units.length})", 9, "0.00"),
        Column(f"Torque dry ({units.torque})", 11, "0.0"),
        Column(f"Torque oiled ({units.torque})", 11, "0.0"),
        Column("Torque", 25),
        Column("Belongs to", 26),
    )
    inch = units.torque == "lbf ft"
    rows = []
    for line in listing.fasteners:
        stack = line.stack if isinstance(line.stack, Stack) else None
        pair = [
            None if t is None else round(t.torque_lbf_ft if inch else t.torque_nm, 1)
            for t in (line.dry, line.oiled)
        ]
        rows.append(
            (
                line.what,
                line.size,
                words.bolt_length(line) or None,
                line.count,
                line.grade or (None if line.stack is None else "not given"),
                format_length(line.spanner_mm, words.thread_unit(line.size)),
                words.clamped(line) or None,
                None if stack is None else units.mm(stack.grip_mm),
                None if stack is None else units.mm(stack.least_mm),
                *pair,
                line.torque_note or None,
                ", ".join(line.parts),
            )
        )
    return Table("Fasteners", columns, tuple(rows))


def _cuts(listing: ShopList, units: Units) -> Table:
    columns = (
        Column("Section", 46),
        Column("Stock no.", 8),
        Column("Buy", 10),
        Column("Piece", 38),
        Column("Cut to", 18),
        Column(f"Cut to ({units.length})", 10, units.exact),
        Column(f"From the stock's end ({units.length})", 12, units.exact),
        Column(f"Left over ({units.length})", 10, units.exact),
    )
    return Table("Cut list", columns, tuple(_cut_rows(listing, units)))


def _cut_rows(listing: ShopList, units: Units) -> Iterator[Row]:
    unit = listing.unit
    for section in listing.cuts.sections:
        for number, stick in enumerate(section.nesting.sticks, 1):
            bought = words.stock_text(stick.length, unit)
            for i, cut in enumerate(stick.cuts):
                last = i == len(stick.cuts) - 1
                yield (
                    section.section,
                    number,
                    bought if i == 0 else None,
                    cut.label,
                    format_length(cut.length, unit),
                    units.mm(cut.length),
                    units.mm(cut.start),
                    units.mm(stick.remnant) if last else None,
                )
        for label in section.nesting.too_long:
            length = next(p.length for p in section.pieces if label in p.labels)
            told = "longer than any stock"
            yield (
                section.section,
                None,
                told,
                label,
                format_length(length, unit),
                units.mm(length),
                None,
                None,
            )


def _marks(listing: ShopList, units: Units) -> Table:
    side = units.sided("left", "right", CENTRE)
    columns = (
        Column("Station", 18),
        Column("Clamp", 16),
        Column(f"From the bar's centre ({units.on_tape}), left +", 15, side),
        Column(f"From the bar's left end ({units.on_tape})", 11, units.tape),
        Column(f"Left edge ({units.on_tape}), left +", 14, side),
        Column(f"Right edge ({units.on_tape}), left +", 14, side),
        Column("Face", 7),
        Column("Bar hole from centre", 10),
        Column(f"Rank ({units.on_tape}), ahead +", 15, units.sided("ahead", "behind", "")),
        Column("Cross tube hole", 8),
        Column("Tool", 17),
        Column(f"Tool's centre if it differs ({units.on_tape}), left +", 15, side),
        Column(f"Shank: foot to holder's middle ({units.on_tape})", 12, units.tape),
        Column(f"Shank above holder ({units.on_tape})", 10, units.tape),
        Column("Shank hole", 8),
        Column("Arm (deg)", 8, "0.0"),
    )
    rows = []
    for mark in listing.marks:
        tools: tuple[ToolMark | None, ...] = mark.tools or (None,)
        rows += [(*_clamp(mark, units), *_tool(mark, tool, units)) for tool in tools]
    return Table("Marks", columns, tuple(rows))


def _clamp(mark: Mark, units: Units) -> Row:
    return (
        mark.station,
        mark.part_id,
        units.taped(mark.centre_mm),
        units.taped(mark.from_left_mm),
        units.taped(mark.left_edge_mm),
        units.taped(mark.right_edge_mm),
        mark.face,
        words.hole(mark) or None,
        units.taped(mark.rank_mm) or None,
        mark.rank_hole,
    )


def _tool(mark: Mark, tool: ToolMark | None, units: Units) -> Row:
    if tool is None:
        return (None,) * 6
    shank = tool.shank
    return (
        tool.name.removeprefix(f"{mark.station}."),
        units.taped(tool.centre_mm) if tool.differs else None,
        None if shank is None else units.taped(shank.slide_mm),
        None if shank is None else units.taped(shank.above_mm),
        None if shank is None else shank.hole,
        None if tool.arm_deg is None else round(tool.arm_deg, 1) + 0.0,
    )


def _torque(listing: ShopList, units: Units) -> Table:
    columns = (
        Column("Thread", 10),
        Column("Grade on the bolt's head", 14),
        Column(f"Dry, K 0.20 ({units.torque})", 12, "0.0"),
        Column(f"Oiled, K 0.15 ({units.torque})", 12, "0.0"),
        Column("Clamp load (N)", 12),
    )
    inch = units.torque == "lbf ft"
    rows = [
        (
            line.size,
            line.dry.grade,
            round(line.dry.torque_lbf_ft if inch else line.dry.torque_nm, 1),
            round(line.oiled.torque_lbf_ft if inch else line.oiled.torque_nm, 1),
            round(line.dry.clamp_n),
        )
        for line in listing.torque
    ]
    return Table("Torque", columns, tuple(rows))


def _notes(listing: ShopList, cautions: Sequence[str]) -> Table:
    notes = (("Note", note) for note in words.notes(listing))
    told = [("Scene", listing.name), *words.struts(listing), *notes]
    told += [("Caution", caution) for caution in cautions]
    return Table("Notes", (Column("Kind", 10), Column("Text", 110)), tuple(told))
