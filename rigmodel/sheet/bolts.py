"""Spanners and tightening torques, as they stand on the sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rigmodel.sheet.facts import Facts
from rigmodel.sheet.words import counted, joined, printable
from rigmodel.shop.fasteners import WITH_BOLT, FastenerLine, torque_table
from rigmodel.shop.torque import NO_GRADE, Torque
from rigmodel.shop.words import thread_unit
from rigmodel.units import Unit, format_length


@dataclass(frozen=True)
class BoltRow:
    """All that one spanner turns on one thread.

    Attributes:
        size: thread.
        spanner: width across flats.
        what: how many of what.
        torque: torque of each kind, or why there is none.
    """

    size: str
    spanner: str
    what: str
    torque: str


@dataclass(frozen=True)
class GradeTable:
    """Torques of threads whose grade is not given, for every grade in their tables.

    Attributes:
        grades: names of the grades.
        rows: thread, then the torque for each grade.
    """

    grades: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def bolt_rows(facts: Facts) -> tuple[BoltRow, ...]:
    """Every thread and spanner on the rig, with all that it holds."""
    groups: dict[tuple[str, str], list[FastenerLine]] = {}
    for line in facts.fasteners:
        spanner = format_length(line.spanner_mm, thread_unit(line.size))
        groups.setdefault((line.size, spanner), []).append(line)
    return tuple(
        BoltRow(
            printable(size), spanner, printable(_counts(lines)), printable(_torques(facts, lines))
        )
        for (size, spanner), lines in groups.items()
    )


def _counts(lines: Iterable[FastenerLine]) -> str:
    counts: dict[str, int] = {}
    for line in lines:
        counts[line.what] = counts.get(line.what, 0) + line.count
    return ", ".join(counted(count, what) for what, count in counts.items())


def _torques(facts: Facts, lines: Iterable[FastenerLine]) -> str:
    told: dict[str, list[str]] = {}
    for line in lines:
        text = _torque(line, facts.unit)
        if text and text != WITH_BOLT and line.what not in told.setdefault(text, []):
            told[text].append(line.what)
    return "; ".join(f"{joined(kinds)}: {text}" for text, kinds in told.items())


def grade_tables(facts: Facts) -> tuple[GradeTable, ...]:
    """Torques by grade for what clamps something and whose grade is not given: inch, metric."""
    wanted = {line.size for line in facts.fasteners if line.torque_note == NO_GRADE}
    found: dict[str, dict[str, str]] = {}
    for row in torque_table(facts.fasteners):
        if row.size in wanted:
            words = f"{_amount(row.dry, facts.unit)} dry, {_amount(row.oiled, facts.unit)} oiled"
            found.setdefault(row.size, {})[row.dry.grade] = words
    groups: dict[tuple[str, ...], list[tuple[str, ...]]] = {}
    for size, torques in found.items():
        groups.setdefault(tuple(torques), []).append((printable(size), *torques.values()))
    return tuple(GradeTable(grades, tuple(rows)) for grades, rows in groups.items())


def _torque(line: FastenerLine, unit: Unit) -> str:
    if line.dry is None or line.oiled is None:
        return line.torque_note
    return f"{_amount(line.dry, unit)} dry, {_amount(line.oiled, unit)} oiled, grade {line.grade}"


def _amount(torque: Torque, unit: Unit) -> str:
    if unit in (Unit.IN, Unit.FT):
        return f"{torque.torque_lbf_ft:.0f} lbf ft"
    return f"{torque.torque_nm:.0f} N m"
