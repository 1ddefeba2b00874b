"""Spanner sizes of the built-in catalogue against published tables."""

from __future__ import annotations

import pytest

from rigmodel.catalog.part import Fastener
from rigmodel.catalog.store import builtin_catalogue

IN = 25.4
PARTS = builtin_catalogue().parts
FASTENERS = [
    pytest.param(fastener, id=f"{name}-{fastener.what}")
    for name, part in PARTS.items()
    for fastener in part.fasteners
]

# Widths across flats of inch bolt heads:
# garagesanctum.com/size-chart/bolt-chart-with-wrench-size/.
HEADS = {
    "5/16-18": 1 / 2,
    "3/8-16": 9 / 16,
    "7/16-14": 5 / 8,
    "1/2-13": 3 / 4,
    "9/16-12": 13 / 16,
    "5/8-11": 15 / 16,
    "3/4-10": 9 / 8,
}
# Inch hexagon nuts, ASME B18.2.2 tables: astmf467.com/hex-nuts-asme-b18-2-2 and
# fastenrsc.com/standard/asme/asme-b18-2-2/. Nuts of 7/16 and 9/16 are wider than the heads.
NUTS = HEADS | {"7/16-14": 11 / 16, "9/16-12": 7 / 8}
# Inch flange nuts, ASME B18.2.2, from memory.
FLANGE_NUTS = {size: NUTS[size] for size in ("5/16-18", "3/8-16", "1/2-13", "5/8-11", "3/4-10")}
# ISO 4014, 4017 and 4032: bd-warehouse 0.4.0 CSV, and
# ficientdesign.com/category/mechanical-design-tools/threaded-joints/. Heads and nuts are alike.
METRIC = {"M8": 13.0, "M10": 16.0, "M12": 18.0, "M14": 21.0, "M16": 24.0}


def published_mm(fastener: Fastener) -> float:
    """Width across flats in mm of what a spanner turns on a fastener: a U-bolt's nuts."""
    if fastener.size in METRIC:
        return METRIC[fastener.size]
    if fastener.what == "flange nut":
        return FLANGE_NUTS[fastener.size] * IN
    is_nut = fastener.what.endswith("nut") or fastener.what == "U-bolt"
    return (NUTS if is_nut else HEADS)[fastener.size] * IN


@pytest.mark.parametrize("fastener", FASTENERS)
def test_spanners_fit_their_fasteners(fastener: Fastener) -> None:
    assert fastener.spanner == pytest.approx(published_mm(fastener), abs=1e-9)


def test_no_metric_flange_nut_is_listed() -> None:
    """Sources differ on the M10 flange nut: 15 mm in bd-warehouse 0.4.0, 16 mm from memory."""
    listed = [fastener for part in PARTS.values() for fastener in part.fasteners]
    assert not [f for f in listed if f.what == "flange nut" and f.size.startswith("M")]


def test_every_u_bolt_has_two_nuts() -> None:
    for part in PARTS.values():
        for bolt in part.fasteners:
            if bolt.what == "U-bolt":
                nuts = [n.count for n in part.fasteners if "nut" in n.what and n.size == bolt.size]
                assert sum(nuts) == 2 * bolt.count


def test_clamps_bolts_are_as_thick_as_their_thread() -> None:
    thickness = {"3/8-16": 3 / 8 * IN, "1/2-13": IN / 2, "M10": 10.0, "M12": 12.0}
    clamps = [part for part in PARTS.values() if part.kind in ("bar-clamp", "tee-clamp")]
    assert clamps
    for clamp in clamps:
        for fastener in clamp.fasteners:
            assert getattr(clamp, "bolt_diameter", None) == pytest.approx(thickness[fastener.size])
