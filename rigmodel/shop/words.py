"""Words for the values on the shop's list, the same in every output."""

from __future__ import annotations

from rigmodel.catalog.threads import BOLT_LENGTHS, U_BOLT_LENGTHS, thread
from rigmodel.shop.cuts import KERF_SOURCE, STOCK_SOURCE
from rigmodel.shop.fasteners import FastenerLine
from rigmodel.shop.listing import ShopList
from rigmodel.shop.marks import Mark, StrutMark
from rigmodel.shop.stack import Stack
from rigmodel.shop.torque import BASIS
from rigmodel.sides import ahead, at_side, way
from rigmodel.units import Unit, format_length

NO_PRICE = "no price"


def rank(mm: float, unit: Unit) -> str:
    """A rank: ``8 in behind``, or nothing where there is none."""
    if mm == 0.0:
        return ""
    return f"{format_length(abs(mm), unit)} {ahead(mm)}"


def strut(mark: StrutMark, unit: Unit) -> str:
    """Where a strut's upper pin goes, and how its tube is cut."""
    x, left, up = mark.top_mm
    told = [f"{format_length(up, unit)} over the bar's centre", at_side(left, unit)]
    told += [rank(x, unit)] if x else []
    return (
        f"upper pin on the frame that hangs the bar, {', '.join(told)}; tube {mark.tube_id} cut "
        f"{format_length(mark.cut_mm, unit)} long, {format_length(mark.pins_mm, unit)} from pin "
        f"to pin, {format_length(mark.end_mm, unit)} past each"
    )


def struts(listing: ShopList) -> list[tuple[str, str]]:
    """Every strut by name, with where its foot's clamp goes and the rest."""
    unit = listing.unit
    return [
        (one.name, f"{one.clamp_id} on top of the bar, {at_side(one.centre_mm, unit)}; "
                   f"{strut(one, unit)}.")
        for one in listing.struts
    ]  # fmt: skip


def hole(mark: Mark) -> str:
    """A hole of a perforated bar: ``12 left``; counted from the one at its centre, which is 0."""
    if mark.hole is None:
        return ""
    return f"{abs(mark.hole)} {way(mark.hole)}" if mark.hole else "0"


def thread_unit(size: str) -> Unit:
    """The unit that belongs to a thread, whatever the scene is written in."""
    of = thread(size)
    return Unit.MM if (of.metric if of else size.upper().startswith("M")) else Unit.IN


def bolt_length(line: FastenerLine) -> str:
    """Length of a bolt as it is bought, why it is not known, or nothing for a nut."""
    stack = line.stack
    if not isinstance(stack, Stack):
        return stack or ""
    unit = thread_unit(line.size)
    if stack.length_mm is None:
        return f"none sold so long: {format_length(stack.least_mm, unit)} at least"
    length = format_length(stack.length_mm, unit)
    if not stack.u_bolt:
        return length
    return f"{length} inside, {format_length(stack.width_mm, unit)} wide"


def clamped(line: FastenerLine) -> str:
    """What a bolt clamps: ``bar + plate``."""
    if not isinstance(line.stack, Stack):
        return ""
    names = [name for name, _ in line.stack.layers]
    washer = ["washer"] if line.stack.washer_mm else []
    return " + ".join([*names, *washer, line.stack.nut])


def notes(listing: ShopList) -> tuple[str, ...]:
    """What the list is based on and what it leaves out."""
    cuts = listing.cuts
    stock = ", ".join(format_length(mm, _stock_unit(mm, listing.unit)) for mm in cuts.stock_mm)
    found = [
        f"Stock lengths: {stock} ({STOCK_SOURCE}; --stock sets your own). Saw cut: "
        f"{format_length(cuts.kerf_mm, Unit.MM)} ({KERF_SOURCE}; --kerf sets your own).",
        "Bolt length = what it clamps + washer under a plain nut + nut + two threads, at the "
        f"greatest heights the standards allow, rounded up. {BOLT_LENGTHS[0].upper()}"
        f"{BOLT_LENGTHS[1:]}. U-bolts: {U_BOLT_LENGTHS}.",
        f"Torque: {BASIS}",
        "Masses are those of the solids as modelled: bolts are in them only where they are drawn, "
        "and a part from a mesh file is solid all through.",
        "Marks hold for a level bar and are measured from the middle of the bar's length. Arms: 0° "
        "is level to the rear, minus hangs down.",
    ]
    for section in cuts.sections:
        found += [f"{section.section}: {note}." for note in section.notes]
    if cuts.too_long:
        found.append(f"Longer than any stock length: {', '.join(cuts.too_long)}.")
    found += [
        f"{section.section}: too many ways to cut for all to be tried; less stock may do."
        for section in cuts.sections
        if not section.nesting.least
    ]
    if listing.parts.not_weighed:
        found.append(f"Not weighed: {', '.join(listing.parts.not_weighed)}.")
    if listing.parts.priced:
        found.append("Prices are yours; fasteners and stock lengths are not priced.")
    return tuple(found)


def stock_text(mm: float, unit: Unit) -> str:
    """A stock length as it is sold: whole feet in an inch scene, else the scene's own unit."""
    return format_length(mm, _stock_unit(mm, unit))


def _stock_unit(mm: float, unit: Unit) -> Unit:
    feet = mm / 304.8
    if abs(feet - round(feet)) < 1e-6:
        return Unit.FT
    return Unit.M if abs(mm / 500.0 - round(mm / 500.0)) < 1e-6 else unit
