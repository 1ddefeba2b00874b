"""What rigmodel says when it cannot go on: one error class, and faults with file and line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

MOST_FAULTS_SHOWN = 50
_LONGEST_SHOWN = 60


class RigmodelError(Exception):
    """Base of every error that rigmodel raises on purpose.

    Attributes:
        exit_code: what the command line returns to the shell for it.
    """

    exit_code: int = 2


def shown(text: str) -> str:
    """`text` in quotes for a message: one line, no control characters, cut after 60 characters."""
    cut = text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 3] + "..."
    return "'" + "".join(c if c.isprintable() else _escaped(c) for c in cut) + "'"


def _escaped(character: str) -> str:
    return character.encode("unicode_escape").decode("ascii")


class ReadingError(ValueError):
    """A text that is not what it should be.

    Attributes:
        read: the text as it was read.
        problem: what is wrong with it, a sentence without a full stop that quotes `read`.
        expected: what would be right.
        hint: a cure when one is clear, else empty.
    """

    def __init__(self, read: str, problem: str, expected: str, hint: str = "") -> None:
        self.read = read
        self.problem = problem
        self.expected = expected
        self.hint = hint
        super().__init__(sentence(problem, expected, hint))


def sentence(message: str, expected: str = "", hint: str = "") -> str:
    """`message; expected ...; hint` with the empty parts left out."""
    parts = [message, f"expected {expected}" if expected else "", hint]
    return "; ".join(part for part in parts if part)


@dataclass(frozen=True)
class Fault:
    """One thing wrong in an input file.

    Attributes:
        message: what is wrong, without a full stop.
        file: the file's name as the user gave it.
        line: line counted from 1; 0 when the fault has no line.
        column: column counted from 1; 0 when the fault has no column.
        value: the text found there, empty if none.
        expected: what would be right there, empty if the message says it all.
        hint: a cure when one is clear, such as ``did you mean 'spacing'?``.
        path: the place as keys, such as ``stations[2].depth`` (list items count from 1).
    """

    message: str
    file: str
    line: int
    column: int
    value: str
    expected: str
    hint: str = ""
    path: str = ""

    def text(self) -> str:
        """The fault on one line: ``file:line: path: message; expected ...; hint``."""
        where = f"{self.file}:{self.line}" if self.line else self.file
        places = [where, self.path] if self.path else [where]
        return ": ".join([*places, sentence(self.message, self.expected, self.hint)])


class InputError(RigmodelError):
    """Everything wrong with what the user wrote.

    Attributes:
        faults: the faults in order of file and line, each only once.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = in_order(faults)
        super().__init__(self.text())

    def text(self) -> str:
        """One line for each fault; after 50 of them only how many more there are."""
        lines = list(dict.fromkeys(fault.text() for fault in self.faults))
        rest = len(lines) - MOST_FAULTS_SHOWN
        if rest > 0:
            lines[MOST_FAULTS_SHOWN:] = [f"... and {rest} more"]
        return "\n".join(lines)


def in_order(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """`faults` sorted by file, line and column, each only once."""
    unique = dict.fromkeys(faults)
    return tuple(sorted(unique, key=lambda fault: (fault.file, fault.line, fault.column)))
