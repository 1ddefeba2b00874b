"""What a table of the shop's list is: columns, rows of plain values, and the units of numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from rigmodel.loads.words import KG_PER_LB
from rigmodel.units import Unit, to_unit

Cell = str | int | float | Decimal | None
Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes:
        heading: what it holds, with the unit of its numbers.
        width: in characters.
        shown: number format of a spreadsheet.
    """

    heading: str
    width: int
    shown: str = "0"


@dataclass(frozen=True)
class Table:
    """One table.

    Attributes:
        name: its title, also the sheet's name.
        columns: headings.
        rows: values, each row as long as `columns`.
        total: whether the last row is a total.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    total: bool = False


@dataclass(frozen=True)
class Units:
    """Units of the numbers in a table.

    Attributes:
        length: unit of lengths.
        mass: unit of masses.
        torque: unit of torques.
        on_tape: unit of lengths that are read off a tape, with how fine it is read.
        tape: number format of such a length.
        to_length: mm to the unit of lengths.
        to_mass: kg to the unit of masses.
    """

    length: str
    mass: str
    torque: str
    on_tape: str
    tape: str
    to_length: Callable[[float], float]
    to_mass: Callable[[float], float]

    @property
    def exact(self) -> str:
        """Number format of a length that is measured, not read off a tape."""
        return "0.000" if self.length == "in" else "0.0"

    def sided(self, above: str, below: str, zero: str) -> str:
        """Number format of a length whose sign is said in words."""
        return f'{self.tape} "{above}";{self.tape} "{below}";"{zero}"'

    def mm(self, value: float | None) -> float | None:
        """A length in mm as the table shows it."""
        return None if value is None else round(self.to_length(value), 3) + 0.0

    def taped(self, value: float | None) -> float | None:
        """A length in mm as it is read off a tape."""
        if value is None:
            return None
        length = self.to_length(value)
        return (round(length * 16) / 16 if self.length == "in" else round(length, 1)) + 0.0

    def kg(self, value: float | None) -> float | None:
        """A mass in kg as the table shows it."""
        return None if value is None else round(self.to_mass(value), 3) + 0.0


def units_of(unit: Unit) -> Units:
    """The units that go with a scene's unit."""
    if unit in (Unit.IN, Unit.FT):
        return Units(
            "in",
            "lb",
            "lbf ft",
            "in to 1/16",
            "# ??/??",
            lambda mm: to_unit(mm, Unit.IN),
            lambda kg: kg / KG_PER_LB,
        )
    return Units("mm", "kg", "N m", "mm", "0.0", lambda mm: mm, lambda kg: kg)
