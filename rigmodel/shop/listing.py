"""Everything on the shop's list of one rig, and how its options are read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.errors import RigmodelError, shown
from rigmodel.loads.account import Account
from rigmodel.shop.cuts import KERF_MM, CutList, cut_list
from rigmodel.shop.fasteners import FastenerLine, TorqueLine, fastener_list, torque_table
from rigmodel.shop.marks import Mark, StrutMark, marks, strut_marks
from rigmodel.shop.parts import PartsList, parts_list
from rigmodel.shop.prices import Prices
from rigmodel.units import LengthError, Unit, parse_length

MAX_STOCK = 10
LONGEST_STOCK_MM = 50_000.0
WIDEST_KERF_MM = 25.0


class OptionError(RigmodelError):
    """An option of the shop's list that cannot be used."""


@dataclass(frozen=True)
class ShopList:
    """All that the shop needs.

    Attributes:
        name: the scene's title.
        unit: unit the scene is written and answered in.
        bar_mm: length of the toolbar.
        parts: what to pick.
        loads: what it weighs, where it balances and how it pulls.
        fasteners: bolts and nuts.
        torque: torques by grade, for grades read off the bolts' heads.
        cuts: what to saw.
        marks: where to clamp, and what to set.
        struts: where they go.
    """

    name: str
    unit: Unit
    bar_mm: float
    parts: PartsList
    loads: Account
    fasteners: tuple[FastenerLine, ...]
    torque: tuple[TorqueLine, ...]
    cuts: CutList
    marks: tuple[Mark, ...]
    struts: tuple[StrutMark, ...]


def shop_list(
    assembly: Assembly,
    stock_mm: Sequence[float] | None = None,
    kerf_mm: float = KERF_MM,
    prices: Prices | None = None,
    loads: Account | None = None,
) -> ShopList:
    """Puts the whole list together.

    Args:
        assembly: the rig.
        stock_mm: lengths that stock is sold in, mm; the usual ones where None.
        kerf_mm: width of a saw cut, mm.
        prices: prices by catalogue id, or None.
        loads: its weights and forces, where some have been worked out already.
    """
    fasteners = fastener_list(assembly)
    return ShopList(
        assembly.scene.spec.name,
        assembly.scene.unit,
        assembly.scene.spec.toolbar.length,
        parts_list(assembly, prices),
        Account(assembly) if loads is None else loads,
        fasteners,
        torque_table(fasteners),
        cut_list(assembly, stock_mm, kerf_mm),
        marks(assembly),
        strut_marks(assembly),
    )


def read_stock(text: str, unit: Unit) -> tuple[float, ...]:
    """Reads stock lengths such as ``20ft,6m``; in mm.

    Raises:
        OptionError: one of them is not a length that stock can have.
    """
    words = [word.strip() for word in text.split(",")]
    if len(words) > MAX_STOCK:
        raise OptionError(f"{len(words)} stock lengths are too many; give at most {MAX_STOCK}")
    return tuple(_length(word, unit, "stock length", LONGEST_STOCK_MM, above=0.0) for word in words)


def read_kerf(text: str, unit: Unit) -> float:
    """Reads the width of a saw cut such as ``2 mm`` or ``3/32 in``; in mm.

    Raises:
        OptionError: it is not a width that a saw can cut.
    """
    return _length(text, unit, "saw cut", WIDEST_KERF_MM, above=-1e-9)


def _length(text: str, unit: Unit, what: str, most: float, above: float) -> float:
    try:
        mm = parse_length(text, unit)
    except LengthError as error:
        raise OptionError(f"{what}: {error}") from None
    if not above < mm <= most:
        low = "above 0" if above >= 0.0 else "from 0"
        raise OptionError(f"{what}: {shown(text)} must be {low} to {most:g} mm")
    return mm
