"""The list in files and on the terminal: read back, numbers as numbers, text never a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from rigmodel.assembly.rig import Assembly
from rigmodel.errors import RigmodelError
from rigmodel.shop.columns import Column, Table
from rigmodel.shop.files import parts_csv, parts_xlsx, table_csv, workbook_bytes
from rigmodel.shop.listing import OptionError, ShopList, read_kerf, read_stock, shop_list
from rigmodel.shop.prices import Price
from rigmodel.shop.tables import tables
from rigmodel.shop.text import list_text
from rigmodel.units import Unit

SHEETS = ["Parts", "Weights", "Balance", "Fasteners", "Cut list", "Marks", "Torque", "Notes"]
FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", '=HYPERLINK("x")', "\t=1", "-cmd|' /C calc'!A1"]


def sheets(data: bytes) -> Any:
    return load_workbook(io.BytesIO(data))


def test_the_workbook_holds_every_table(any_list: ShopList, tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    listing = any_list
    path.write_bytes(parts_xlsx(listing, ("Mind the rig.",)))
    book = load_workbook(path)
    assert [name for name in book.sheetnames if name != "Pull"] == SHEETS
    assert ("Pull" in book.sheetnames) == (listing.loads.pull is not None)
    for table in tables(listing, ("Mind the rig.",)):
        sheet = book[table.name]
        assert [cell.value for cell in sheet[1]] == [c.heading for c in table.columns]
        assert sheet.max_row == len(table.rows) + 1
        for read, row in zip(sheet.iter_rows(min_row=2, values_only=True), table.rows, strict=True):
            for got, wanted in zip(read, row, strict=True):
                if isinstance(wanted, int | float):
                    assert got == pytest.approx(wanted)
                else:
                    assert got == wanted


def test_the_csv_says_what_the_sheet_says(belly: Assembly) -> None:
    listing = shop_list(belly, prices={"clip-stem": Price(Decimal("0.80"))})
    data = parts_csv(listing)
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert rows[0][:4] == ["Group", "Id", "What", "Size"]
    assert rows[0][6] == "Mass each (lb)"
    assert len({len(row) for row in rows}) == 1
    clips = next(row for row in rows if row[1] == "clip-stem")
    assert clips[-2:] == ["0.80", "4.80"]
    assert next(row for row in rows if row[1] == "blade-10")[-1] == "no price"
    assert rows[-1][0] == "Total"
    assert "incomplete" in rows[-1][2]


@pytest.mark.parametrize("text", FORMULAS)
def test_text_is_never_a_formula(text: str) -> None:
    table = Table(text[:5], (Column(text, 10),), ((text,),))
    read = list(csv.reader(io.StringIO(table_csv(table).decode("utf-8-sig"), newline="")))
    assert read == [["'" + text], ["'" + text]]
    sheet = sheets(workbook_bytes([Table("T", table.columns, table.rows)]))["T"]
    for row in (1, 2):
        assert sheet.cell(row, 1).value == text
        assert sheet.cell(row, 1).data_type == "s"
        assert sheet.cell(row, 1).quotePrefix


def test_numbers_below_0_stay_numbers() -> None:
    table = Table("T", (Column("a", 10, "0.0"),), ((-1.5,), (Decimal("-2.25"),), (None,)))
    assert table_csv(table).decode("utf-8-sig").split("\r\n")[1:3] == ["-1.5", "-2.25"]
    sheet = sheets(workbook_bytes([table]))["T"]
    assert [sheet.cell(row, 1).value for row in (2, 3, 4)] == [-1.5, -2.25, None]


def test_control_characters_do_not_stop_a_file() -> None:
    table = Table("T", (Column("a", 10),), (("a\x00b\x0cc",), ("x" * 40_000,)))
    assert sheets(workbook_bytes([table]))["T"].cell(2, 1).value == "a b c"
    assert b"\x00" not in table_csv(table)


def test_a_users_words_cannot_break_out(
    built: Callable[[str, str], Assembly], tmp_path: Path
) -> None:
    rig = built("name: Three rows under the belly", 'name: "=1+1"')
    path = tmp_path / "x.xlsx"
    path.write_bytes(parts_xlsx(shop_list(rig)))
    cell = load_workbook(path)["Notes"].cell(2, 2)
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_the_text_tells_every_mark_and_part(any_list: ShopList) -> None:
    listing = any_list
    text = list_text(listing, 100, ("Mind the rig.",))
    for line in listing.parts.lines:
        assert f"{line.count:>3} × {line.part_id}" in text
    for mark in listing.marks:
        assert f"{mark.station} ({mark.part_id})" in text
    assert "Mind the rig." in text
    assert "\x1b" not in text


@pytest.mark.parametrize("width", [60, 80, 120])
def test_the_text_keeps_to_its_width(any_list: ShopList, width: int) -> None:
    lines = list_text(any_list, width).splitlines()
    assert max(len(line) for line in lines) <= max(width, 80)


def test_the_text_says_what_a_price_file_leaves_out(belly: Assembly) -> None:
    text = list_text(shop_list(belly, prices={"blade-10": Price(Decimal("19.5"))}), 100)
    assert "Total price: 78.00 (incomplete: no price for" in text
    assert "no price" in text


@pytest.mark.parametrize(
    ("text", "unit", "wanted"),
    [
        ("20ft,6m", Unit.IN, (6096.0, 6000.0)),
        ("6000", Unit.MM, (6000.0,)),
        (" 240 , 20 ft ", Unit.IN, (6096.0, 6096.0)),
    ],
)
def test_stock_lengths_are_read(text: str, unit: Unit, wanted: tuple[float, ...]) -> None:
    assert read_stock(text, unit) == pytest.approx(wanted)


@pytest.mark.parametrize("text", ["", ",", "0", "-6m", "6 furlongs", "51 m", ",".join(["6m"] * 11)])
def test_stock_that_cannot_be_is_refused(text: str) -> None:
    with pytest.raises(OptionError) as caught:
        read_stock(text, Unit.M)
    assert isinstance(caught.value, RigmodelError)


def test_saw_cuts_are_read() -> None:
    assert read_kerf("2mm", Unit.IN) == 2.0
    assert read_kerf("0", Unit.MM) == 0.0
    for text in ("-1", "2 in", "wide"):
        with pytest.raises(OptionError):
            read_kerf(text, Unit.MM)
