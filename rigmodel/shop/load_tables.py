"""Tables of what the rig weighs, where it balances and how it pulls."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.loads.pull_words import pull_lines
from rigmodel.shop.columns import Column, Row, Table, Units
from rigmodel.shop.listing import ShopList
from rigmodel.sides import CENTRE


def load_tables(listing: ShopList, units: Units) -> Iterator[Table]:
    """Weights, balance, and the pull where it is known."""
    yield _weights(listing, units)
    yield _balance(listing, units)
    yield from _pull(listing)


def _weights(listing: ShopList, units: Units) -> Table:
    loads = listing.loads
    columns = (
        Column("Station", 25),
        Column(f"Mass ({units.mass})", 11, "0.00"),
        _along("Balances from the bar", "under", units),
        _across(units),
    )
    rows: list[Row] = [
        (
            one.station,
            units.kg(one.mass_kg),
            units.taped(one.ahead_mm),
            units.taped(one.left_mm),
        )
        for one in loads.hung
    ]
    rows.append(("Toolbar alone", units.kg(loads.bar_kg), None, None))
    rows.append(("Whole rig", units.kg(loads.rig_kg), None, None))
    return Table("Weights", columns, tuple(rows), total=True)


def _balance(listing: ShopList, units: Units) -> Table:
    columns = (
        Column("Pose", 25),
        Column(f"Mass ({units.mass})", 11, "0.00"),
        _along("From the rear axle", "over it", units),
        _across(units),
        Column(f"Over the soil ({units.on_tape})", 13, units.tape),
    )
    rows = [
        (one.pose, units.kg(one.mass_kg), *(units.taped(value) for value in one.centre_mm.tolist()))
        for one in listing.loads.balances
    ]
    return Table("Balance", columns, tuple(rows))


def _along(what: str, zero: str, units: Units) -> Column:
    shown = units.sided("ahead", "behind", zero)
    return Column(f"{what} ({units.on_tape}), ahead +", 16, shown)


def _across(units: Units) -> Column:
    shown = units.sided("left", "right", CENTRE)
    return Column(f"From the tractor's centre ({units.on_tape}), left +", 16, shown)


def _pull(listing: ShopList) -> Iterator[Table]:
    lines = pull_lines(listing.loads)
    if lines:
        columns = (Column("What", 52), Column("Middle", 26), Column("Range or side", 60))
        yield Table("Pull", columns, tuple((x.what, x.value, x.more or None) for x in lines))
