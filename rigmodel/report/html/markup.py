"""HTML that is safe by the way it is built: text is escaped, only `Html` is taken as it stands."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable, Iterable, Mapping

from rigmodel.lines import bound

_VOID = frozenset(("meta", "link", "input", "img"))
_EMPTY_SVG = frozenset(("path", "rect", "line", "polygon"))
_TYPED = frozenset(("textarea", "pre", "code", "option", "title", "style", "script"))
_IN_SCRIPT = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026"}


class Html(str):
    """Markup; any other text is escaped where it meets markup."""

    __slots__ = ()


Child = str | Iterable[str]
Value = str | int | float | bool


def tag(name: str, attributes: Mapping[str, Value] | None = None, *children: Child) -> Html:
    """One element.

    Args:
        name: of the element.
        attributes: a value of True stands alone, one of False is left out.
        children: texts (escaped), `Html` (taken as it stands), or several of these.
    """
    told = "".join(_attribute(key, value) for key, value in (attributes or {}).items())
    if name in _VOID:
        return Html(f"<{name}{told}>")
    if name in _EMPTY_SVG:
        return Html(f"<{name}{told}/>")
    inside = _joined(children, _as_typed if name in _TYPED else _running)
    return Html(f"<{name}{told}>{inside}</{name}>")


def joined(children: Iterable[Child]) -> Html:
    """Children one after the other; a measure in a text is never broken at the end of a line."""
    return _joined(children, _running)


def _joined(children: Iterable[Child], escaped: Callable[[str], str]) -> Html:
    return Html("".join(_child(child, escaped) for child in children))


def _child(child: Child, escaped: Callable[[str], str]) -> str:
    if isinstance(child, Html):
        return child
    if isinstance(child, str):
        return escaped(child)
    return _joined(child, escaped)


def _as_typed(text: str) -> str:
    return html.escape(text, quote=False)


def _running(text: str) -> str:
    return _as_typed(bound(text))


def _attribute(key: str, value: Value) -> str:
    if value is False:
        return ""
    if value is True:
        return f" {key}"
    text = f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    return f' {key}="{html.escape(text)}"'


def breakable(name: str) -> Html:
    """A dotted name that may be broken after its dots and underscores."""
    return Html(re.sub(r"(?<=[._])", "<wbr>", html.escape(name, quote=False)))


def embedded_json(value: object) -> Html:
    """A value as JSON that no text in it can break out of: ``<``, ``>`` and ``&`` are escaped.

    All that is not ASCII is escaped too, U+2028 and U+2029 with it.
    """
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    for character, escape in _IN_SCRIPT.items():
        text = text.replace(character, escape)
    return Html(text)


def scrolled(name: str, content: Html) -> Html:
    """Content that can be scrolled sideways, by keys too, under a name for who cannot see it."""
    return tag(
        "div", {"class": "scroll", "role": "region", "tabindex": 0, "aria-label": name}, content
    )


def table(
    caption: str, heads: Iterable[Child], rows: Iterable[Iterable[Child]], numbers: Iterable[int]
) -> Html:
    """A table that can be scrolled sideways; the first cell of a row is its head.

    Args:
        caption: what it shows.
        heads: of the columns.
        rows: cells of each row.
        numbers: columns, counted from 0, that hold numbers.
    """
    right = frozenset(numbers)

    def cell(name: str, place: int, content: Child, scope: str = "") -> Html:
        attributes: dict[str, Value] = {"scope": scope} if scope else {}
        if place in right:
            attributes["class"] = "number"
        return tag(name, attributes, content)

    head = tag("tr", None, [cell("th", i, text, "col") for i, text in enumerate(heads)])
    body = [
        tag(
            "tr",
            None,
            [
                cell("td", i, text) if i else cell("th", i, text, "row")
                for i, text in enumerate(row)
            ],
        )
        for row in rows
    ]
    return scrolled(
        caption,
        tag(
            "table",
            None,
            tag("caption", None, caption),
            tag("thead", None, head),
            tag("tbody", None, body),
        ),
    )
