"""Unit prices that the user keeps in a file, by catalogue id."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from rigmodel.errors import Fault, InputError, shown
from rigmodel.reading.source import MAX_BYTES, MapNode, Node, TextNode, parse_source

PRICE_EXPECTED = "a price such as 12.50, without a currency"
PER = ("each", "m", "ft")
_PER_MM = {"m": Decimal(1000), "ft": Decimal("304.8")}
_CENT = Decimal("0.01")
_PRICE = re.compile(r"\d{1,9}(?:\.\d{1,4})?", re.ASCII)
_COMMA = re.compile(r"(\d+),(\d{1,2})", re.ASCII)


@dataclass(frozen=True)
class Price:
    """A price for one item, or for a length of it.

    Attributes:
        amount: in the user's own currency.
        per: ``each``, ``m`` or ``ft``.
    """

    amount: Decimal
    per: str = "each"

    def of(self, length_mm: float) -> Decimal:
        """Price of one item, rounded to a hundredth; `length_mm` matters only per m or ft."""
        if self.per == "each":
            return self.amount.quantize(_CENT)
        return (self.amount * Decimal(repr(length_mm)) / _PER_MM[self.per]).quantize(_CENT)


Prices = Mapping[str, Price]


def read_prices(path: Path) -> Prices:
    """Reads a price file.

    A CSV file has the columns id, price and, if wanted, per; a YAML file has lines ``id: price``
    or ``id: {price: 9.80, per: m}``.

    Raises:
        InputError: with every fault found in the file.
    """
    text = _text(path)
    faults: list[Fault] = []
    found: dict[str, Price] = {}
    if path.suffix.lower() in (".yaml", ".yml"):
        entries = _yaml_entries(text, str(path), faults)
    else:
        entries = _csv_entries(text, str(path), faults)
    for line, name, amount, per in entries:
        fault = _fault_in(found, name, amount, per)
        if fault is None:
            found[name] = Price(Decimal(amount), per)
        else:
            message, value, expected = fault
            faults.append(Fault(message, str(path), line, 0, value, expected, path=name))
    if faults:
        raise InputError(faults)
    return found


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError([_whole(path, f"this file cannot be read ({reason})")]) from None
    if len(data) > MAX_BYTES:
        raise InputError([_whole(path, "this file is larger than 1 MiB")])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError([_whole(path, "this is not a text file in UTF-8")]) from None


def _whole(path: Path, message: str) -> Fault:
    return Fault(message, str(path), 0, 0, "", "a CSV or YAML file of ids and prices")


_Entry = tuple[int, str, str, str]


def _csv_entries(text: str, name: str, faults: list[Fault]) -> Iterator[_Entry]:
    first = text.split("\n", 1)[0]
    delimiter = ";" if ";" in first and "," not in first else ","
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row in rows:
            cells = [cell.strip() for cell in row]
            if not any(cells) or (rows.line_num == 1 and cells[0].lower() == "id"):
                continue
            if not 2 <= len(cells) <= 3:
                message = f"this line has {len(cells)} columns"
                expected = "id, price and, if wanted, per; decimals with a point"
                faults.append(Fault(message, name, rows.line_num, 0, ",".join(cells), expected))
                continue
            per = cells[2].lower() if len(cells) == 3 and cells[2] else "each"
            yield rows.line_num, cells[0], cells[1], per
    except csv.Error as error:
        message = f"this line is not CSV ({error})"
        faults.append(Fault(message, name, rows.line_num, 0, "", "id, price"))


def _yaml_entries(text: str, name: str, faults: list[Fault]) -> Iterator[_Entry]:
    root = parse_source(text, name).root
    for key, node in root.entries.items():
        line = root.key_marks[key][0]
        if isinstance(node, TextNode):
            yield line, key, node.text.strip(), "each"
        elif isinstance(node, MapNode) and set(node.entries) <= {"price", "per"}:
            yield line, key, _scalar(node.entries.get("price")), _scalar(node.entries.get("per"))
        else:
            expected = "a price, or price and per"
            faults.append(Fault("this is not a price", name, line, 0, "", expected, path=key))


def _scalar(node: Node | None) -> str:
    if node is None:
        return "each"
    return node.text.strip() if isinstance(node, TextNode) else ""


def _fault_in(
    found: Mapping[str, Price], name: str, amount: str, per: str
) -> tuple[str, str, str] | None:
    """Message, value and what was expected for an entry that cannot be taken."""
    if not name:
        return "an id is missing here", "", "a catalogue id"
    if name in found:
        return f"{shown(name)} has two prices", name, "each id once"
    if not _PRICE.fullmatch(amount):
        comma = _COMMA.fullmatch(amount)
        better = f"{comma[1]}.{comma[2]}" if comma else PRICE_EXPECTED
        return f"{shown(amount)} is not a price", amount, better
    if per not in PER:
        return f"{shown(per)} is not what a price is for", per, "each, m or ft"
    return None
