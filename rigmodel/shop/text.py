"""The shop's list as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rigmodel.lines import wrapped
from rigmodel.loads.pull_words import pull_lines
from rigmodel.loads.words import balance_point
from rigmodel.shop import words
from rigmodel.shop.columns import units_of
from rigmodel.shop.cuts import SectionCuts
from rigmodel.shop.fasteners import FastenerLine
from rigmodel.shop.listing import ShopList
from rigmodel.shop.marks import Mark, ToolMark
from rigmodel.shop.stack import Stack
from rigmodel.sides import at_side
from rigmodel.units import Unit, format_length, format_setting

NARROWEST = 60


def list_text(listing: ShopList, width: int = 100, cautions: Sequence[str] = ()) -> str:
    """The whole list as text, no line longer than `width` columns where words allow it."""
    width = max(width, NARROWEST)
    lines: list[str] = [listing.name, "=" * min(len(listing.name), width), ""]
    for heading, body in (
        ("Parts", _parts(listing, width)),
        ("Weights and balance", _weights(listing, width)),
        ("Draft and yaw", _pull(listing, width)),
        ("Fasteners", _fasteners(listing, width)),
        ("Torque by the grade on the bolt's head", _torque(listing)),
        ("Cut list", _cuts(listing, width)),
        ("Marks, from left to right", _marks(listing, width)),
        ("Notes", _bullets(words.notes(listing), width)),
        ("Caution", _bullets(cautions, width)),
    ):
        shown = list(body)
        if shown:
            lines += [heading, "-" * len(heading), *shown, ""]
    return "\n".join(lines[:-1]) + "\n"


def _parts(listing: ShopList, width: int) -> Iterator[str]:
    units = units_of(listing.unit)
    group = ""
    for line in listing.parts.lines:
        if line.group != group:
            group = line.group
            yield group
        mass = units.kg(line.total_kg)
        heavy = "not weighed" if mass is None else f"{mass:.1f} {units.mass}"
        tail = f"{heavy:>12}"
        if listing.parts.priced:
            price = line.total_price
            tail += f"{words.NO_PRICE if price is None else f'{price:.2f}':>12}"
        head = f"  {line.count:>3} × {line.part_id:<28}"
        room = width - len(head) - len(tail) - 2
        size = wrapped(line.size, max(room, 20))
        yield f"{head} {size[0]:<{room}}{tail}"
        for more in size[1:]:
            yield " " * (len(head) + 1) + more
    total = f"{units.kg(listing.parts.total_kg):.1f} {units.mass}"
    yield f"  Total mass: {total}"
    if listing.parts.priced:
        missing = listing.parts.without_price
        told = f" (incomplete: no price for {', '.join(missing)})" if missing else ""
        yield from wrapped(f"  Total price: {listing.parts.total_price:.2f}{told}", width, 4)


def _weights(listing: ShopList, width: int) -> Iterator[str]:
    unit, loads = listing.unit, listing.loads
    units = units_of(unit)
    named = [(f"{one.station}:", one.mass_kg) for one in loads.hung]
    named += [("toolbar alone:", loads.bar_kg), ("whole rig:", loads.rig_kg)]
    wide = max(len(name) for name, _ in named)
    for name, kg in named:
        yield f"  {name:<{wide}} {units.kg(kg):>8.1f} {units.mass}"
    yield "  Centre of gravity of the whole rig:"
    for one in loads.balances:
        yield from wrapped(f"    {one.pose}: {balance_point(one.centre_mm, unit)}", width, 6)


def _pull(listing: ShopList, width: int) -> Iterator[str]:
    for line in pull_lines(listing.loads):
        yield from wrapped(f"  {line.what}: {line.text}", width, 6)


def _fasteners(listing: ShopList, width: int) -> Iterator[str]:
    units = units_of(listing.unit)
    inch = units.torque == "lbf ft"
    for line in listing.fasteners:
        spanner = format_length(line.spanner_mm, words.thread_unit(line.size))
        head = f"  {line.count:>3} × {f'{line.what} {line.size}':<20} spanner {spanner:<9}"
        told = [told for told in (_length_text(line), _grip_text(line, listing.unit)) if told]
        if line.dry is not None and line.oiled is not None:
            dry, oiled = (
                f"{t.torque_lbf_ft if inch else t.torque_nm:.0f}" for t in (line.dry, line.oiled)
            )
            told.append(f"grade {line.grade}: {dry} {units.torque} dry, {oiled} oiled")
        elif line.torque_note and isinstance(line.stack, Stack | str):
            told.append(f"torque {line.torque_note}")
        told.append(f"for {', '.join(line.parts)}")
        body = wrapped("; ".join(told), max(width - len(head) - 1, 20))
        yield f"{head} {body[0]}"
        yield from (" " * (len(head) + 1) + more for more in body[1:])


def _length_text(line: FastenerLine) -> str:
    length = words.bolt_length(line)
    return f"length {length}" if length else ""


def _grip_text(line: FastenerLine, unit: Unit) -> str:
    if not isinstance(line.stack, Stack):
        return ""
    grip = format_length(line.stack.grip_mm, unit)
    varies = line.stack.grip_mm - line.thinnest_mm > 0.05
    return f"grip {'at most ' if varies else ''}{grip} ({words.clamped(line)})"


def _torque(listing: ShopList) -> Iterator[str]:
    units = units_of(listing.unit)
    inch = units.torque == "lbf ft"
    for line in listing.torque:
        dry, oiled = (t.torque_lbf_ft if inch else t.torque_nm for t in (line.dry, line.oiled))
        yield (
            f"  {line.size:<10} grade {line.dry.grade:<6} {dry:>6.0f} {units.torque} dry "
            f"{oiled:>6.0f} {units.torque} oiled"
        )


def _cuts(listing: ShopList, width: int) -> Iterator[str]:
    for section in listing.cuts.sections:
        yield from wrapped(f"{section.section}: {_bought(section, listing.unit)}", width, 2)
        for number, stick in enumerate(section.nesting.sticks, 1):
            yield f"  {words.stock_text(stick.length, listing.unit)} no. {number}"
            for cut in stick.cuts:
                yield f"    {format_length(cut.length, listing.unit):<18} {cut.label}"
            yield f"    {format_setting(stick.remnant, listing.unit):<18} left over"
        for label in section.nesting.too_long:
            yield f"    longer than any stock: {label}"


def _bought(section: SectionCuts, unit: Unit) -> str:
    lengths = [stick.length for stick in section.nesting.sticks]
    counts = {length: lengths.count(length) for length in dict.fromkeys(lengths)}
    told = ", ".join(f"{n} × {words.stock_text(mm, unit)}" for mm, n in counts.items())
    return f"buy {told}" if told else "nothing can be cut"


def _marks(listing: ShopList, width: int) -> Iterator[str]:
    half = format_length(listing.bar_mm / 2.0, listing.unit)
    yield f"The bar's centre is {half} from either end."
    for mark in listing.marks:
        yield from wrapped("  " + _mark_text(mark, listing.unit), width, 6)
        for tool in mark.tools:
            yield from wrapped("      " + _tool_text(tool, listing.unit), width, 8)
    for name, told in words.struts(listing):
        yield from wrapped(f"  {name}: {told}", width, 6)


def _mark_text(mark: Mark, unit: Unit) -> str:
    told = [f"{at_side(mark.centre_mm, unit):<26} {mark.station} ({mark.part_id})"]
    if mark.face != "rear":
        told.append(f"{mark.face} face")
    if mark.hole is not None:
        told.append(f"hole {words.hole(mark)} from the centre one")
    if mark.rank_mm:
        told.append(words.rank(mark.rank_mm, unit))
    if mark.rank_hole is not None:
        told.append(f"cross tube's hole {mark.rank_hole} from its tool's end under the bar")
    return ", ".join(told)


def _tool_text(tool: ToolMark, unit: Unit) -> str:
    told = []
    if tool.differs:
        told.append(f"tool's centre {at_side(tool.centre_mm, unit)}")
    if tool.shank is not None:
        slide = format_length(tool.shank.slide_mm, unit)
        above = format_setting(tool.shank.above_mm, unit)
        hole = "" if tool.shank.hole is None else f", hole {tool.shank.hole} from the lowest"
        short = "" if tool.shank.in_range else " (OUT OF RANGE)"
        told.append(f"shank's foot {slide} under the holder's middle{hole}{short}")
        told.append(f"{above} of it above the holder")
    if tool.arm_deg is not None:
        told.append(f"arm at {tool.arm_deg + 0.0:.1f}°")
    return "; ".join(told) or tool.name


def _bullets(lines: Sequence[str], width: int) -> Iterator[str]:
    for line in lines:
        yield from wrapped(f"  - {line}", width, 4)
