"""The fastener list: bolts, U-bolts and nuts with spanner, length and torque."""

from __future__ import annotations

from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.part import Fastener
from rigmodel.catalog.threads import Thread, thread
from rigmodel.shop.items import Item, items
from rigmodel.shop.stack import (
    Stack,
    is_bolt,
    is_nut,
    is_pivot,
    is_set_bolt,
    stack_of,
)
from rigmodel.shop.torque import DRY, NO_GRADE, OILED, Torque, torque, torques

WITH_BOLT = "with its bolt"
NOT_TURNED = "none: it is neither a bolt nor a nut"
SET_BOLT_TORQUE = "none from this table: it presses on the shank"
PIVOT_TORQUE = "none from this table: the part must turn on it"


@dataclass(frozen=True)
class FastenerLine:
    """One line of the fastener list.

    Attributes:
        what: what it is.
        size: thread.
        grade: as the catalogue gives it, or an empty string.
        count: how many on the whole rig.
        spanner_mm: width across flats.
        parts: catalogue ids it belongs to.
        stack: what a bolt clamps and its length; a text where that is not known; None for nuts.
            Where equal bolts clamp unlike stacks it is the thickest of them.
        thinnest_mm: the thinnest grip among them, else 0.
        dry: torque dry, or None.
        oiled: torque oiled, or None.
        torque_note: why there is no torque, or an empty string.
    """

    what: str
    size: str
    grade: str
    count: int
    spanner_mm: float
    parts: tuple[str, ...]
    stack: Stack | str | None
    thinnest_mm: float
    dry: Torque | None
    oiled: Torque | None
    torque_note: str


@dataclass(frozen=True)
class TorqueLine:
    """Torques of one thread and grade, for a grade that is read off the bolt's head.

    Attributes:
        size: thread.
        dry: torque dry.
        oiled: torque oiled.
    """

    size: str
    dry: Torque
    oiled: Torque


def fastener_list(assembly: Assembly) -> tuple[FastenerLine, ...]:
    """Every fastener of every item; equal ones of equal length on one line, thick ones first."""
    groups: dict[tuple[object, ...], list[tuple[Item, Fastener, Stack | str | None]]] = {}
    for item in items(assembly):
        for fastener in item.entry.fasteners:
            stack = None if is_nut(fastener) else _stack(item, fastener)
            bought = _bought(stack)
            key = (fastener.what, fastener.size, fastener.grade, fastener.spanner, bought)
            groups.setdefault(key, []).append((item, fastener, stack))
    lines = [_line(found) for found in groups.values()]
    return tuple(sorted(lines, key=_order))


def torque_table(lines: tuple[FastenerLine, ...]) -> tuple[TorqueLine, ...]:
    """Torque for every grade in the tables, for each thread that clamps something on the rig."""
    never = (WITH_BOLT, SET_BOLT_TORQUE, PIVOT_TORQUE)
    sizes = dict.fromkeys(
        line.size for line in lines if line.stack is not None and line.torque_note not in never
    )
    found = []
    for size in sizes:
        of = thread(size)
        pairs = torques(of) if of is not None else ()
        found += [TorqueLine(size, dry, oiled) for dry, oiled in pairs]
    return tuple(found)


def _stack(item: Item, fastener: Fastener) -> Stack | str | None:
    return stack_of(fastener, item.entry, item.on) if is_bolt(fastener) else None


def _bought(stack: Stack | str | None) -> object:
    """What tells a bolt on the shelf from another one of its thread."""
    if isinstance(stack, Stack):
        return round(stack.length_mm or stack.least_mm, 2), round(stack.width_mm, 2)
    return stack


def _line(found: list[tuple[Item, Fastener, Stack | str | None]]) -> FastenerLine:
    _, fastener, stack = found[0]
    known = [one for _, _, one in found if isinstance(one, Stack)]
    if known:
        stack = max(known, key=lambda one: one.least_mm)
    dry, oiled, note = _torque(fastener)
    return FastenerLine(
        fastener.what,
        fastener.size,
        fastener.grade,
        sum(one.count for _, one, _ in found),
        fastener.spanner,
        tuple(dict.fromkeys(item.part_id for item, _, _ in found)),
        stack,
        min((one.grip_mm for one in known), default=0.0),
        dry,
        oiled,
        note,
    )


def _torque(fastener: Fastener) -> tuple[Torque | None, Torque | None, str]:
    """Torque dry and oiled, or why there is none."""
    note = _why_none(fastener)
    of = thread(fastener.size)
    if note or of is None:
        return None, None, note
    dry, oiled = torque(of, fastener.grade, DRY), torque(of, fastener.grade, OILED)
    return dry, oiled, _unknown_grade(of, fastener) if dry is None else ""


def _why_none(fastener: Fastener) -> str:
    """Why a fastener has no torque of its own; empty where a table may know it."""
    if is_nut(fastener):
        return WITH_BOLT
    if is_set_bolt(fastener):
        return SET_BOLT_TORQUE
    if is_pivot(fastener):
        return PIVOT_TORQUE
    if is_bolt(fastener) and not fastener.grade.strip():
        return NO_GRADE
    if is_bolt(fastener) and thread(fastener.size) is None:
        return f"not known: '{fastener.size}' is not a thread in the tables"
    return "" if is_bolt(fastener) else NOT_TURNED


def _unknown_grade(of: Thread, fastener: Fastener) -> str:
    standard = "ISO 898-1" if of.metric else "SAE J429"
    return (
        f"not known: grade '{fastener.grade}' of {fastener.size} is not in the tables ({standard})"
    )


def _order(line: FastenerLine) -> tuple[float, str, bool, str, float]:
    of = thread(line.size)
    length = line.stack.length_mm if isinstance(line.stack, Stack) else None
    return (
        -of.diameter_mm if of is not None else 0.0,
        line.size,
        line.stack is None,
        line.what,
        length or 0.0,
    )
