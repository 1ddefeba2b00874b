"""Reads a YAML file as raw text with line numbers: every scalar stays as it was written.

YAML would turn ``12:30`` into 750, ``on`` into true and ``010`` into 8. Here only the structure
of the file is taken: each field decides what its text means, and a fault shows it as written.
"""

from __future__ import annotations

import math
import os
import re
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import yaml

from rigmodel.errors import Fault, InputError, shown

MAX_BYTES = 1024 * 1024
MAX_DEPTH = 32
MAX_NODES = 20_000

Plain = None | str | list["Plain"] | dict[str, "Plain"]

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # the C one is several times faster
_NULLS = frozenset(("", "~", "null", "Null", "NULL"))
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_TAB = re.compile(r" *\t[ \t]*(?=[^\s#])")
_FORMATS = (b"\x89PNG", b"\xff\xd8\xff", b"%PDF", b"PK\x03\x04", b"\x1f\x8b")
_TEXT_FILE = "a plain text file in YAML, saved as UTF-8"
_SECTIONS = "keys with values, such as 'units: in'"

# Words of the YAML reader (of either of its two versions), and the same in plain words with a cure.
_LINE_UP = ("lines of one section do not line up, or text follows a closed quote",
            "indent each key of a section alike")  # fmt: skip
_QUOTE = "put the value in quotes"
_PLAIN_WORDS: dict[str, tuple[str, str]] = {
    "end of stream": ("a quote is opened and never closed", "close it, or leave it away"),
    "values are not": ("a ':' stands where none can be", f"check the indentation, or {_QUOTE}"),
    "expected ':'": ("a line has no ': ' after its key", "write 'key: value' with a space"),
    "',' or": ("a bracket is not closed or a comma is missing", "close every [ and {"),
    "start any token": ("a value begins with a character that YAML keeps for itself", _QUOTE),
    "entries are not": ("a '- ' stands where no list can begin", "begin a new line for each '- '"),
    "'-' indicator": ("items of a list do not line up", "give each '- ' the same indentation"),
    "expected key": _LINE_UP,
    "<block end>": _LINE_UP,
    "escape character": ("a backslash in double quotes has its own meaning", "use single quotes"),
    "nesting depth": ("sections lie too deep in each other here", ""),
    "a tab": ("a tab stands where only spaces can be", "use spaces"),
    "alphabetic or": ("'*' and '&' have their own meaning in YAML", _QUOTE),
    "tag": ("'!' has its own meaning in YAML", _QUOTE),
}


@dataclass(frozen=True)
class TextNode:
    """A scalar as written; `quoted` if in quotes or a block. Line and column count from 1."""

    text: str
    quoted: bool
    line: int
    column: int

    def plain(self) -> str | None:
        """The text; None for an empty value, ``~`` or ``null`` without quotes."""
        return None if not self.quoted and self.text in _NULLS else self.text


@dataclass(frozen=True)
class ListNode:
    """A list; line and column, from 1, tell where it begins."""

    items: tuple[Node, ...]
    line: int
    column: int

    def plain(self) -> list[Plain]:
        """The items as plain lists, dicts, texts and None."""
        return [item.plain() for item in self.items]


@dataclass(frozen=True)
class MapNode:
    """Keys with values in the order of the file, and line and column (from 1) of each key."""

    entries: Mapping[str, Node]
    key_marks: Mapping[str, tuple[int, int]]
    line: int
    column: int

    def plain(self) -> dict[str, Plain]:
        """The entries as plain lists, dicts, texts and None."""
        return {key: node.plain() for key, node in self.entries.items()}


Node = TextNode | ListNode | MapNode


@dataclass(frozen=True)
class Source:
    """What a file holds; `name` is the file's name as the user gave it."""

    name: str
    root: MapNode

    def locate(self, loc: tuple[str | int, ...]) -> tuple[int, int, str]:
        """Line, column (from 1) and text of the place `loc`, or of the last place on the way to it.

        List items count from 0. Words that are no key where they stand are passed over. A section
        or list gives the line of its key and an empty text.
        """
        node: Node = self.root
        line, column = node.line, node.column
        for step in loc:
            if isinstance(node, MapNode) and step in node.entries:
                line, column = node.key_marks[str(step)]
                node = node.entries[str(step)]
                if isinstance(node, TextNode) and (node.text or node.quoted):
                    line, column = node.line, node.column
            elif isinstance(node, ListNode) and isinstance(step, int):
                if not 0 <= step < len(node.items):
                    break
                node = node.items[step]
                line, column = node.line, node.column
            elif isinstance(step, int):
                break
        return line, column, node.text if isinstance(node, TextNode) else ""


def read_source(path: Path) -> Source:
    """Read a file of at most 1 MiB.

    Raises:
        InputError: the file cannot be read, or its text is at fault as in `parse_source`.
    """
    name = os.fsencode(path).decode("utf-8", "replace")
    try:
        data = _bytes_of(path, name)
    except (OSError, ValueError) as error:
        reason = str(getattr(error, "strerror", None) or error).lower()
        missing = isinstance(error, FileNotFoundError)
        message = "there is no such file" if missing else f"this file cannot be read ({reason})"
        raise _one(name, message, "a file that can be read") from None
    return parse_source(_decoded(data, name), name)


def parse_source(text: str, name: str) -> Source:
    """Read a text; `name` stands for the file in messages.

    Raises:
        InputError: with every fault found: YAML that cannot be read, keys given twice, tags, more
            than one document, nothing at all, no keys at the top, or nesting without end.
    """
    size = len(text.encode("utf-8", "replace"))
    if size > MAX_BYTES:
        raise _one(name, _too_big(size), "a file of at most 1 MiB")
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    control = _CONTROL.search(text)
    if control is not None:
        line = text.count("\n", 0, control.start()) + 1
        message = f"there is a control character {shown(control.group())} in this line"
        raise _one(name, message, _TEXT_FILE, "", line)
    reader = _Reader(name, text)
    reader.run()
    if isinstance(reader.root, MapNode) and not reader.faults:
        return Source(name, reader.root)
    raise InputError(reader.faults or [_no_sections(name, reader.root)])


def _one(name: str, message: str, expected: str, hint: str = "", line: int = 0) -> InputError:
    return InputError((Fault(message, name, line, 0, "", expected, hint),))


def _no_sections(name: str, root: Node | None) -> Fault:
    if root is None or root.plain() is None:
        return Fault("there is nothing in this file", name, 0, 0, "", _SECTIONS)
    text = root.text if isinstance(root, TextNode) else ""
    what = "a single text" if isinstance(root, TextNode) else "a list"
    return Fault(f"the file holds {what} at its top", name, root.line, root.column, text, _SECTIONS)


def _bytes_of(path: Path, name: str) -> bytes:
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "a device or a pipe"
        raise _one(name, f"this is {what}", "a file")
    if status.st_size > MAX_BYTES:
        raise _one(name, _too_big(status.st_size), "a file of at most 1 MiB")
    with path.open("rb") as stream:
        return stream.read(MAX_BYTES + 1)


def _too_big(size: int) -> str:
    return f"the file is too big ({math.ceil(size * 10 / MAX_BYTES) / 10} MiB; the limit is 1 MiB)"


def _decoded(data: bytes, name: str) -> str:
    if data.startswith(_FORMATS):
        raise _one(name, "this is a picture, a PDF or an archive, not a text", _TEXT_FILE)
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _one(name, "the file is saved as UTF-16", _TEXT_FILE, "save it as UTF-8")
    if b"\x00" in data:
        raise _one(name, "the file holds NUL bytes, so it is not plain text", _TEXT_FILE)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        line = before.count(b"\n") + 1
        message = f"byte 0x{data[error.start]:02x} in this line is not UTF-8"
        raise _one(name, message, _TEXT_FILE, "save it as UTF-8", line) from None


class _StopError(Exception):  # reading further makes no sense; the fault is already noted
    pass


class _Reader:
    """Builds the tree from the YAML reader's events, so that limits hold before memory is used."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.lines = text.split("\n")
        self._events: Iterator[yaml.Event] = yaml.parse(text, Loader=_LOADER)
        self.faults: list[Fault] = []
        self.root: Node | None = None
        self._anchors: dict[str, Node | None] = {}  # None while it is still being read
        self._nodes = 0
        self._covered: list[tuple[int, int]] = []  # lines where a leading tab is allowed, from 1
        self._open_flows: list[int] = []

    def run(self) -> None:
        """Read it all; what is wrong ends up in `faults`."""
        try:
            self._documents()
        except _StopError:
            return
        except yaml.YAMLError as error:
            fault = self._plain_words(error)
            if "quote is opened" in fault.message or not self._tabs(fault.line):
                self.faults.append(fault)
            return
        self._tabs(len(self.lines))

    def _fault(self, message: str, mark: tuple[int, int], value: str, expected: str) -> None:
        self.faults.append(Fault(message, self.name, *mark, value, expected))

    def _documents(self) -> None:
        count = 0
        for event in self._events:
            if isinstance(event, yaml.DocumentStartEvent):
                count += 1
                if count > 1:
                    message = "a second document begins here ('---')"
                    self._fault(message, _mark(event), "---", "one document in a file")
                    return
            elif isinstance(event, yaml.NodeEvent):
                self.root = self._node(event, 1)

    def _node(self, event: yaml.Event, depth: int) -> Node:
        """The node that begins with `event`, as the `depth`-th level of the tree."""
        self._count(1, depth, event)
        if isinstance(event, yaml.AliasEvent):
            return self._alias(event.anchor or "", depth, event)
        tag: str | None = getattr(event, "tag", None)
        if tag is not None:
            short = tag.replace("tag:yaml.org,2002:", "!!")
            expected = "plain values without tags"
            self._fault(f"there is a YAML tag, {shown(short)}", _mark(event), short, expected)
        anchor: str | None = getattr(event, "anchor", None)
        if anchor is not None:
            self._anchors[anchor] = None
        node = self._content(event, depth)
        if anchor is not None:
            self._anchors[anchor] = node
        return node

    def _content(self, event: yaml.Event, depth: int) -> Node:
        line, column = _mark(event)
        if isinstance(event, yaml.ScalarEvent):
            end: Any = event.end_mark
            if event.style and end.line >= line:  # over several lines; a block ends in the next one
                last = end.line if event.style in "|>" else end.line + 1
                self._covered.append((line + 1, last))
            return TextNode(event.value, bool(event.style), line, column)
        flow = [line + 1] if getattr(event, "flow_style", False) else []
        self._open_flows += flow
        children = self._children(depth + 1)
        is_list = isinstance(event, yaml.SequenceStartEvent)
        node = ListNode(tuple(children), line, column) if is_list else self._map(event, children)
        del self._open_flows[len(self._open_flows) - len(flow) :]
        return node

    def _map(self, event: yaml.Event, children: Iterator[Node]) -> MapNode:
        entries: dict[str, Node] = {}
        marks: dict[str, tuple[int, int]] = {}
        for key_node in children:
            key = self._key(key_node, marks)
            value = next(children)
            if key is not None:
                entries[key] = value
        return MapNode(MappingProxyType(entries), MappingProxyType(marks), *_mark(event))

    def _children(self, depth: int) -> Iterator[Node]:
        for event in self._events:
            if isinstance(event, yaml.CollectionEndEvent):
                if len(self._open_flows) == 1:
                    self._covered.append((self._open_flows[0], _mark(event)[0]))
                return
            yield self._node(event, depth)

    def _alias(self, anchor: str, depth: int, event: yaml.Event) -> Node:
        node = self._anchors.get(anchor)
        if node is None:
            own = "refers to what it is itself part of"
            problem = own if anchor in self._anchors else "names nothing"
            message = f"{shown('*' + anchor)} {problem}"
            self._fault(message, _mark(event), "*" + anchor, f"an earlier '&{anchor}'")
            return TextNode("", False, *_mark(event))
        size, height = _measure(node)
        self._count(size - 1, depth + height, event)
        if isinstance(node, TextNode):
            return TextNode(node.text, node.quoted, *_mark(event))
        return node

    def _count(self, more: int, depth: int, event: yaml.Event) -> None:
        self._nodes += more
        if depth > MAX_DEPTH:
            message = f"sections lie more than {MAX_DEPTH} deep in each other here"
        elif self._nodes > MAX_NODES:
            message = f"the file holds more than {MAX_NODES} values, repeated ones ('*') included"
        else:
            return
        self._fault(message, _mark(event), "", "a simpler file")
        raise _StopError

    def _key(self, node: Node, marks: dict[str, tuple[int, int]]) -> str | None:
        """The key's text, noted in `marks`; None if its value is to be dropped."""
        mark, key = (node.line, node.column), node.text if isinstance(node, TextNode) else ""
        if not isinstance(node, TextNode):
            self._fault("a key is a list or a section", mark, "", "a word; quote { and [")
        elif node.plain() is None:
            self._fault("a key is empty", mark, key, "a word as key")
        elif key == "<<" and not node.quoted:
            self._fault("merge keys ('<<') are not read", mark, key, "every key written out")
        elif key in marks:
            message = f"key {shown(key)} is given twice, first in line {marks[key][0]}"
            self._fault(message, mark, key, "each key only once")
        else:
            marks[key] = mark
            return key
        return None

    def _tabs(self, last: int) -> bool:
        """Note the first tab used as indentation up to line `last`; True if there is one."""
        covered = self._covered + [(first, len(self.lines)) for first in self._open_flows[:1]]
        for number, line in enumerate(self.lines[:last], start=1):
            if _TAB.match(line) and not any(low <= number <= high for low, high in covered):
                mark = (number, line.index("\t") + 1)
                message = "this line is indented with a tab"
                self._fault(message, mark, line.strip(), "spaces as indentation")
                return True
        return False

    def _plain_words(self, error: yaml.YAMLError) -> Fault:
        mark = getattr(error, "problem_mark", None)
        context = getattr(error, "context_mark", None)
        said = str(getattr(error, "problem", None) or error)
        filled = len("\n".join(self.lines).rstrip().split("\n"))
        at_end = mark is not None and mark.line >= filled
        if context is not None and (at_end or "end of stream" in said or "expected ':'" in said):
            mark = context  # where it began, not where it was found out
        line, column = (min(mark.line + 1, filled), mark.column + 1) if mark else (0, 0)
        value = self.lines[line - 1].strip() if line else ""
        said = "a tab" if self.lines[line - 1][column - 1 : column] == "\t" else said
        found = (words for needle, words in _PLAIN_WORDS.items() if needle in said)
        message, hint = next(found, (f"{shown(value)} is not YAML that can be read", ""))
        if '"' in value and ("'" in value or '""' in value):
            hint = "write lengths without quotes round them, such as 7 ft 3 in"
        return Fault(message, self.name, line, column, value, "", hint)


def _mark(event: yaml.Event) -> tuple[int, int]:
    """Line and column, from 1, where `event` begins."""
    mark: Any = event.start_mark
    return int(mark.line) + 1, int(mark.column) + 1


def _measure(node: Node) -> tuple[int, int]:
    """Number of nodes in a tree with all repeats written out, and of levels below its first."""
    if isinstance(node, TextNode):
        return 1, 0
    below = node.items if isinstance(node, ListNode) else node.entries.values()
    measures = [_measure(child) for child in below]
    size = 1 + sum(size for size, _ in measures)
    return size, max((height + 1 for _, height in measures), default=0)
