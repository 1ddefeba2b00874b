"""The shop's list as CSV and as a spreadsheet. Text never becomes a formula."""

from __future__ import annotations

import csv
import io
import re
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

from rigmodel.shop.columns import Cell, Table, units_of
from rigmodel.shop.listing import ShopList
from rigmodel.shop.tables import parts_table, tables

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell as SheetCell
    from openpyxl.worksheet.worksheet import Worksheet

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
_HEAD_FILL, _LINE = "FFE3E8ED", "FFB4BCC4"
_LINE_POINTS, _FILL = 14.0, 1.0
_LONGEST_TEXT = 32_000  # a spreadsheet's cell holds 32 767 characters


def table_csv(table: Table) -> bytes:
    """A table as CSV after RFC 4180, in UTF-8 with a byte order mark so that ½ reads right.

    A text that begins like a formula gets an apostrophe in front.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([_plain(column.heading) for column in table.columns])
    for row in table.rows:
        writer.writerow([_plain(cell) for cell in row])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def parts_csv(listing: ShopList) -> bytes:
    """The parts list as CSV."""
    return table_csv(parts_table(listing, units_of(listing.unit)))


def parts_xlsx(listing: ShopList, cautions: Sequence[str] = ()) -> bytes:
    """The whole list as a spreadsheet: Parts, Fasteners, Cut list, Marks, Torque, Notes."""
    return workbook_bytes(tables(listing, cautions))


def workbook_bytes(sheets: Sequence[Table]) -> bytes:
    """The tables as the sheets of one workbook, ready to print on landscape pages."""
    from openpyxl import Workbook  # noqa: PLC0415

    book = Workbook()
    book.remove(book.worksheets[0])
    for table in sheets:
        _fill(book.create_sheet(table.name), table)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _plain(cell: Cell) -> str:
    """A cell as CSV text."""
    if cell is None:
        return ""
    if not isinstance(cell, str):
        return str(cell)
    text = _CONTROL.sub(" ", cell)
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _fill(sheet: Worksheet, table: Table) -> None:
    from openpyxl.cell.cell import Cell as SheetCell  # noqa: PLC0415
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side  # noqa: PLC0415
    from openpyxl.utils import get_column_letter  # noqa: PLC0415

    line = Side(style="thin", color=_LINE)
    for i, column in enumerate(table.columns, 1):
        head = sheet.cell(1, i)
        assert isinstance(head, SheetCell)  # nothing is merged here
        _set(head, column.heading, "@")
        head.font = Font(bold=True)
        head.fill = PatternFill("solid", fgColor=_HEAD_FILL)
        head.alignment = Alignment("left", "center", wrap_text=True, indent=1)
        head.border = Border(bottom=line)
        sheet.column_dimensions[get_column_letter(i)].width = column.width
    sheet.row_dimensions[1].height = _height(table, [c.heading for c in table.columns])
    for r, row in enumerate(table.rows, 2):
        is_total = table.total and r == len(table.rows) + 1
        for i, (column, value) in enumerate(zip(table.columns, row, strict=True), 1):
            cell = sheet.cell(r, i)
            assert isinstance(cell, SheetCell)
            _set(cell, value, column.shown)
            across = "left" if isinstance(value, str) else "right"
            indent = 1 if isinstance(value, str) else 0
            cell.alignment = Alignment(across, "top", wrap_text=True, indent=indent)
            cell.border = Border(top=line if is_total else None, bottom=line)
            cell.font = Font(bold=is_total)
        sheet.row_dimensions[r].height = _height(table, row)
    sheet.freeze_panes = "A2"
    _page(sheet)


def _height(table: Table, row: Sequence[Cell]) -> float:
    """Height in points that shows the whole of a row's longest text."""
    most = 1
    for column, cell in zip(table.columns, row, strict=True):
        if isinstance(cell, str):
            room = max(int(column.width * _FILL) - 2, 4)
            most = max(most, len(textwrap.wrap(cell, room)))
    return _LINE_POINTS * most + 2.0


def _set(cell: SheetCell, value: Cell, shown: str) -> None:
    if isinstance(value, str):
        cell.value = _CONTROL.sub(" ", value)[:_LONGEST_TEXT]
        cell.data_type = "s"  # text stays text, whatever it begins with
        if value.startswith(FORMULA_STARTS):
            cell.quotePrefix = True
        return
    cell.value = value
    if value is not None:
        cell.number_format = shown


def _page(sheet: Worksheet) -> None:
    from openpyxl.worksheet.properties import PageSetupProperties  # noqa: PLC0415

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    margins = sheet.page_margins
    margins.left = margins.right = 0.4  # inches
    margins.top = margins.bottom = 0.6
    sheet.print_title_rows = "1:1"
    footer = sheet.oddFooter
    assert footer is not None  # every new sheet has one
    footer.left.text = sheet.title
    footer.right.text = "&P / &N"
