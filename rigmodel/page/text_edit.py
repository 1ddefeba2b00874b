"""Changes single values in a scene's YAML text and leaves every other character as it was.

Each edit cuts or pastes at the places the YAML reader reports. Afterwards the new text is read
again: it must hold exactly what was wanted and nothing else, or the edit is refused. So an edit can
fail, but it can never quietly change something else, lose a comment, or reorder the file.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from functools import lru_cache
from typing import Any, TypeAlias

import yaml

from rigmodel.errors import InputError, RigmodelError
from rigmodel.reading.faults import path_text
from rigmodel.reading.source import parse_source

Path = tuple[str | int, ...]
Written: TypeAlias = "str | list[str] | list[Written] | dict[str, Written]"

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)  # the C one is several times faster
_PLAIN = re.compile(r"[A-Za-z0-9](?:[\w ./+-]*[\w.+])?|-\d(?:[\d ./]*\d)?(?: ?(?:mm|cm|m|in|ft))?")
_WORDS = frozenset(("null", "true", "false", "yes", "no", "on", "off", "y", "n"))
_IN_TEXT = "change it in the scene's text"


class EditError(RigmodelError):
    """A change that cannot be written into this text."""


def set_value(text: str, path: Path, value: Written | None) -> str:
    """The text with `value` written at `path`.

    Args:
        text: a scene's YAML text.
        path: keys and list places (from 0), such as ``("stations", 1, "rank")``.
        value: a text, a list of texts, or None to take the key away.

    Raises:
        EditError: it cannot be written there without touching something else.
    """
    root, wanted = _root(text), _copied(text)
    if value is None:
        new = _without(text, root, path)
        _drop(wanted, path)
    else:
        new = _written(text, root, path, value)
        _put(wanted, path, value)
    return _proven(new, wanted, path_text(path))


def value_at(text: str, path: Path) -> Any:
    """What is written at `path`: a text, a list, a dict, or None where nothing stands."""
    try:
        here: Any = _plain(text)
    except EditError:
        return None
    for step in path:
        if isinstance(here, dict) and step in here:
            here = here[str(step)]
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        else:
            return None
    return here


def remove_item(text: str, path: Path, index: int) -> str:
    """The text without one item of the list at `path`.

    Raises:
        EditError: it is the last item, or cannot be taken away alone.
    """
    node = _list_at(text, path)
    if len(node.value) < 2:
        raise EditError("the last one cannot be taken away; put another in its place first")
    wanted = _copied(text)
    del _reach(wanted, path)[index]
    start, end = _item_span(text, node, index)
    if node.flow_style:
        if index + 1 < len(node.value):
            end = node.value[index + 1].start_mark.index
        else:
            start = _end(text, node.value[index - 1])
    return _proven(text[:start] + text[end:], wanted, path_text((*path, index)))


def copy_item(text: str, path: Path, index: int) -> str:
    """The text with one item of the list at `path` written once more behind itself.

    Raises:
        EditError: it cannot be copied here.
    """
    node = _list_at(text, path)
    wanted = _copied(text)
    items = _reach(wanted, path)
    items.insert(index, deepcopy(items[index]))
    start, end = _item_span(text, node, index)
    piece = text[start:end]
    if node.flow_style:
        piece = ", " + piece
    elif not piece.endswith("\n"):
        piece = "\n" + piece
    return _proven(text[:end] + piece + text[end:], wanted, path_text((*path, index)))


def add_item(text: str, path: Path, item: Mapping[str, Written]) -> str:
    """The text with a new item at the end of the list at `path`.

    Raises:
        EditError: it cannot be added here.
    """
    node = _list_at(text, path)
    wanted = _copied(text)
    _reach(wanted, path).append(dict(item))
    body = _flow(dict(item))
    start, end = _item_span(text, node, len(node.value) - 1)
    if node.flow_style:
        piece = ", " + body
    else:
        dash = text.index("-", start)
        break_before = "" if text[:end].endswith("\n") else "\n"
        piece = f"{break_before}{text[start:dash]}- {body}" + ("" if break_before else "\n")
    return _proven(text[:end] + piece + text[end:], wanted, path_text(path))


def _root(text: str) -> yaml.MappingNode:
    loader = yaml.SafeLoader if text.startswith("\ufeff") else _LOADER  # the C one passes it over
    try:
        events = yaml.parse(text, Loader=loader) if "*" in text else ()
        if any(isinstance(e, yaml.AliasEvent) for e in events):
            raise EditError(f"this file uses YAML's & and *; {_IN_TEXT}")
        root = yaml.compose(text, Loader=loader)
    except yaml.YAMLError:
        raise EditError(f"the scene's text cannot be read; {_IN_TEXT}") from None
    if not isinstance(root, yaml.MappingNode):
        raise EditError(f"the scene's text holds no keys; {_IN_TEXT}")
    return root


@lru_cache(maxsize=16)  # a control asks after a control, and what was proven is asked for next
def _plain(text: str) -> Any:
    """What a text holds; it is only read."""
    try:
        return parse_source(text, "scene").root.plain()
    except InputError as error:
        raise EditError(error.faults[0].text()) from None


def _copied(text: str) -> Any:
    """What a text holds, to be changed."""
    return deepcopy(_plain(text))


def _proven(new: str, wanted: object, where: str) -> str:
    """The new text, if it holds exactly what was wanted."""
    try:
        found = _plain(new)
    except EditError:
        found = None
    if found != wanted:
        raise EditError(f"{where} cannot be changed here alone; {_IN_TEXT}")
    return new


def _reach(data: Any, path: Path) -> Any:
    for step in path:
        data = data[step]
    return data


def _put(data: Any, path: Path, value: Written) -> None:
    for step in path[:-1]:
        if isinstance(data, dict) and data.get(str(step)) is None:
            data[step] = {}
        data = data[step]
    data[path[-1]] = value


def _drop(data: Any, path: Path) -> None:
    """Takes a key away, and every section that is empty then."""
    holders = [data]
    for step in path[:-1]:
        holders.append(holders[-1][step])
    for holder, step in zip(reversed(holders), reversed(path), strict=True):
        del holder[step]
        if holder:
            return


def _child(node: yaml.Node, step: str | int) -> tuple[yaml.Node | None, yaml.Node] | None:
    """Key and value of a step below a node."""
    if isinstance(node, yaml.MappingNode):
        return next(((k, v) for k, v in node.value if k.value == step), None)
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return None, node.value[step]
    return None


def _written(text: str, root: yaml.Node, path: Path, value: Written) -> str:
    node: yaml.Node = root
    for depth, step in enumerate(path):
        found = _child(node, step)
        if found is None:
            return _inserted(text, node, path[depth:], value)
        key, node = found
        hollow = node.start_mark.index == node.end_mark.index
        if hollow and depth + 1 < len(path):
            return _pasted(text, key, node, _nested(path[depth + 1 :], value))
    return _pasted(text, key, node, _flow(value))


def _pasted(text: str, key: yaml.Node | None, node: yaml.Node, new: str) -> str:
    start, end = node.start_mark.index, _end(text, node)
    block = isinstance(node, yaml.CollectionNode) and not node.flow_style
    if key is not None and (block or start == end):
        start = text.index(":", key.end_mark.index) + 1
        end = max(end, start)
        new = " " + new
    return text[:start] + new + text[end:]


def _inserted(text: str, node: yaml.Node, rest: Path, value: Written) -> str:
    key = rest[0]
    if not isinstance(node, yaml.MappingNode) or not isinstance(key, str):
        raise EditError(f"there is no place for {path_text(rest)} yet; {_IN_TEXT}")
    line = f"{key}: {_nested(rest[1:], value)}"
    if node.flow_style:
        if not node.value:
            at = node.start_mark.index + 1
            return text[:at] + line + text[at:]
        at = _end(text, node.value[-1][1])
        return f"{text[:at]}, {line}{text[at:]}"
    at = _line_end(text, max(_end(text, n) for n in node.value[-1]))
    pad = " " * node.value[0][0].start_mark.column
    break_before = "" if text[:at].endswith("\n") else "\n"
    return f"{text[:at]}{break_before}{pad}{line}{'' if break_before else chr(10)}{text[at:]}"


def _without(text: str, root: yaml.MappingNode, path: Path) -> str:
    nodes: list[yaml.Node] = [root]
    for step in path:
        found = _child(nodes[-1], step)
        if found is None:
            raise EditError(f"nothing is written at {path_text(path)}")
        nodes.append(found[1])
    while len(path) > 1 and len(nodes[len(path) - 1].value) == 1:
        path = path[:-1]
    parent = nodes[len(path) - 1]
    if not isinstance(parent, yaml.MappingNode):
        raise EditError(f"{path_text(path)} cannot be taken away here; {_IN_TEXT}")
    place = next(i for i, (k, _) in enumerate(parent.value) if k.value == path[-1])
    key, value = parent.value[place]
    start, end = key.start_mark.index, max(_end(text, value), key.end_mark.index)
    more = place + 1 < len(parent.value)
    if parent.flow_style:
        if more:
            end = parent.value[place + 1][0].start_mark.index
        elif place:
            start = _end(text, parent.value[place - 1][1])
    elif text[text.rfind("\n", 0, start) + 1 : start].strip():  # it stands behind a dash
        if not more:
            raise EditError(f"{path_text(path)} cannot be taken away here; {_IN_TEXT}")
        end = parent.value[place + 1][0].start_mark.index
    else:
        start, end = text.rfind("\n", 0, start) + 1, _line_end(text, end)
    return text[:start] + text[end:]


def _list_at(text: str, path: Path) -> yaml.SequenceNode:
    node: yaml.Node = _root(text)
    for step in path:
        found = _child(node, step)
        if found is None:
            raise EditError(f"there is no {path_text(path)} in the scene")
        node = found[1]
    if not isinstance(node, yaml.SequenceNode) or not node.value:
        raise EditError(f"{path_text(path)} is not a list; {_IN_TEXT}")
    return node


def _item_span(text: str, node: yaml.SequenceNode, index: int) -> tuple[int, int]:
    """Start and end of an item; whole lines from its dash on in a block list."""
    if not 0 <= index < len(node.value):
        raise EditError(f"there is no item {index + 1} in this list")
    item = node.value[index]
    if node.flow_style:
        return item.start_mark.index, _end(text, item)
    dash = text.rfind("-", 0, item.start_mark.index)
    return text.rfind("\n", 0, dash) + 1, _line_end(text, _end(text, item))


def _end(text: str, node: yaml.Node) -> int:
    """Where what is written of a node ends; the reader's own mark runs on over comments."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        pair = last if isinstance(last, tuple) else (last,)
        return max(_end(text, part) for part in pair)
    start, end = int(node.start_mark.index), int(node.end_mark.index)
    return start + len(text[start:end].rstrip())


def _line_end(text: str, at: int) -> int:
    """Just behind the end of the line that holds `at`."""
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def _nested(rest: Sequence[str | int], value: Written) -> str:
    if not rest:
        return _flow(value)
    if not isinstance(rest[0], str):
        raise EditError(f"there is no list for {path_text(tuple(rest))} yet; {_IN_TEXT}")
    return f"{{{rest[0]}: {_nested(rest[1:], value)}}}"


def _flow(value: Written) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_flow(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_flow(item)}" for key, item in value.items()) + "}"
    return _scalar(value)


def _scalar(text: str) -> str:
    if _PLAIN.fullmatch(text) and text.lower() not in _WORDS:
        return text
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + escaped.replace("\n", "\\n").replace("\t", "\\t").replace("\r", "\\r") + '"'
