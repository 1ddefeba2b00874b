"""Reads a flat list of named values, as people fill one in: CSV with a head, or YAML."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from rigmodel.errors import Fault, InputError, shown
from rigmodel.reading.source import MAX_BYTES, ListNode, TextNode, read_source


@dataclass(frozen=True)
class NamedValue:
    """One value that stands in the list.

    Attributes:
        name: its name.
        text: what was written, or an empty string; several values have commas between.
        line: line in the file, from 1.
    """

    name: str
    text: str
    line: int


def read_named_values(
    path: Path, names: Sequence[str], values: Sequence[str]
) -> tuple[NamedValue, ...]:
    """The values of a file, those left empty too, in its order.

    Args:
        path: a file whose name ends in ``.csv``, with comma, semicolon or tab between its columns;
            else YAML with one ``name: value`` a line.
        names: what a CSV's column of names may be called, in lower case; the first one found is
            taken.
        values: the same for its column of values.

    Raises:
        InputError: the file does not read, or a line holds more or less than a name and a value.
    """
    if path.suffix.lower() != ".csv":
        return _yaml(path)
    table = _Table(path, tuple(names), tuple(values))
    return tuple(table.read())


def _yaml(path: Path) -> tuple[NamedValue, ...]:
    source = read_source(path)
    found, faults = [], []
    for name, node in source.root.entries.items():
        line = source.root.key_marks[name][0]
        if isinstance(node, TextNode):
            found.append(NamedValue(name, node.plain() or "", line))
        elif isinstance(node, ListNode) and all(isinstance(i, TextNode) for i in node.items):
            texts = [i.text for i in node.items if isinstance(i, TextNode)]
            found.append(NamedValue(name, ", ".join(texts), line))
        else:
            problem = f"{shown(name)} holds a section where one value is needed"
            hint = f"write every value on one line, such as {name}.key: 15"
            faults.append(Fault(problem, source.name, line, 1, "", "", hint))
    if faults:
        raise InputError(faults)
    return tuple(found)


@dataclass(frozen=True)
class _Table:
    path: Path
    names: tuple[str, ...]
    values: tuple[str, ...]

    def read(self) -> Iterator[NamedValue]:
        text = self._text()
        mark = max(",;\t", key=text.partition("\n")[0].count)
        reader = csv.reader(io.StringIO(text), delimiter=mark, strict=True)
        try:
            rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader]
        except csv.Error as error:
            raise self._bad(str(error), reader.line_num) from None
        head = [cell.lower() for cell in rows[0][1]] if rows else []
        name_at = [head.index(name) for name in self.names if name in head]
        value_at = [head.index(name) for name in self.values if name in head]
        if not name_at or not value_at:
            raise self._bad("the first line is not the head of a table of measures", 1)
        for line, row in rows[1:]:
            # A decimal comma makes two cells of one number: never drop the second one.
            if any(row[len(head) :]):
                problem = f"there are more values on this line than columns: {shown(row[-1])}"
                hint = "a decimal comma? write a point, or put the value in double quotes"
                raise self._bad(problem, line, hint)
            cells = [*row, *[""] * len(head)]
            name, value = cells[name_at[0]], cells[value_at[0]]
            if value and not name:
                raise self._bad(f"{shown(value)} has no {self.names[0]} beside it", line)
            if name:
                yield NamedValue(name, value, line)

    def _text(self) -> str:
        try:
            with self.path.open("rb") as file:
                data = file.read(MAX_BYTES + 1)
        except OSError as error:
            raise self._bad(f"cannot be read ({error.strerror})", 0) from None
        if len(data) > MAX_BYTES:
            raise self._bad("the file is too large", 0)
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
            raise self._bad("the file is not UTF-8", line) from None
        if "\x00" in text:
            raise self._bad("the file is not plain text", 0)
        return text

    def _bad(self, problem: str, line: int, hint: str = "") -> InputError:
        columns = f"the columns {self.names[0]} and {self.values[0]}"
        expected = f"a CSV file with {columns}, saved as UTF-8"
        return InputError((Fault(problem, self.path.name, line, 0, "", expected, hint),))
