"""Where a value is written: the line of a file at which a place of its tree stands."""

from __future__ import annotations

from pathlib import PurePath

from rigmodel.reading.source import ListNode, MapNode, Node, Source

Loc = tuple[str | int, ...]


def line_of(source: Source, loc: Loc) -> int | None:
    """Line, from 1, of the place `loc` of a file, or None where nothing is written there.

    List items count from 0. A section or list stands in the line of its key.
    """
    node: Node = source.root
    for step in loc:
        if isinstance(node, MapNode) and step in node.entries:
            node = node.entries[str(step)]
        elif isinstance(node, ListNode) and isinstance(step, int) and 0 <= step < len(node.items):
            node = node.items[step]
        else:
            return None
    return source.locate(loc)[0]


def written_at(source: Source, loc: Loc) -> str:
    """The same with the file's own name, such as ``rig.yaml:12``; or an empty string."""
    line = line_of(source, loc)
    return "" if line is None else f"{PurePath(source.name).name}:{line}"
