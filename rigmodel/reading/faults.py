"""Turns pydantic's errors into faults that say in one plain sentence each what is wrong and where.

Pydantic tells a place with the names of union members mixed in between the keys; walking the model
along with the place tells keys from such names, and tells which keys and choices are valid there.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from rigmodel.errors import Fault, ReadingError, in_order, shown

from .fields import LengthRule, Rule
from .source import Source

Loc = tuple[str | int, ...]

_MOST_CHOICES = 16
_PLAIN_KEY = re.compile(r"[\w-]+")
_LISTS = (list, tuple, set, frozenset)
_BOUNDS = {"gt": "more than", "ge": "at least", "lt": "less than", "le": "at most"}
_SIMPLE = {str: "a text", int: "a whole number", float: "a number", bool: "true or false"}


def path_text(loc: Loc) -> str:
    """A place as people read it, such as ``stations[2].depth``.

    List items count from 1 here, as people count; in `loc` they count from 0. A key with unusual
    characters stands in quotes: ``tyres['9.5-24']``.
    """
    text = ""
    for step in loc:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        elif _PLAIN_KEY.fullmatch(step):
            text += f".{step}" if text else step
        else:
            text += f"[{shown(step)}]"
    return text


def faults_from(
    error: ValidationError, source: Source, model: type[BaseModel]
) -> tuple[Fault, ...]:
    """One fault for each place at which `error` finds something wrong, in the order of the file.

    Args:
        error: what pydantic found.
        source: the file the values came from; gives the lines.
        model: the model that was validated; gives the valid keys and choices.
    """
    slips = [_slip(details, model) for details in error.errors(include_url=False)]
    groups: dict[tuple[Loc, bool], list[_Slip]] = {}
    for slip in _one_branch_each(slips):
        groups.setdefault((slip.loc, slip.at_key), []).append(slip)
    meant = {(*slip.loc[:-1], nearest) for slip in slips if (nearest := _misspelt(slip))}
    # A misspelt key is not missing as well, and a list is not too short for its faulty items.
    inside = {slip.loc[:n] for slip in slips for n in range(len(slip.loc))}
    noise = {("missing", loc) for loc in meant} | {("too_short", loc) for loc in inside}
    kept = (g for (loc, _), g in groups.items() if (g[0].kind, loc) not in noise)
    return in_order(_fault(group, source) for group in kept)


@dataclass(frozen=True)
class _Kind:
    """One type a place can take (no union, no None), with its metadata."""

    type: Any
    metadata: tuple[Any, ...]

    @property
    def rule(self) -> Rule | None:
        return next((item for item in self.metadata if isinstance(item, Rule)), None)

    @property
    def model(self) -> type[BaseModel] | None:
        is_model = isinstance(self.type, type) and issubclass(self.type, BaseModel)
        return self.type if is_model else None

    @property
    def base(self) -> Any:
        return get_origin(self.type) or self.type

    def choices(self) -> list[str]:
        if self.base is Literal:
            return list(dict.fromkeys(str(value) for value in get_args(self.type)))
        if isinstance(self.type, type) and issubclass(self.type, Enum):
            return [str(member.value) for member in self.type]
        return []


_Kinds = tuple[_Kind, ...]


@dataclass(frozen=True)
class _Slip:
    """One pydantic error with its place cleaned of union members' names.

    `at_key` tells that the key is wrong, not the value; `kinds` are then those of its section.
    `branches` holds depth and member's name of each undecided union on the way.
    """

    kind: str
    details: ErrorDetails
    loc: Loc
    at_key: bool
    kinds: _Kinds
    branches: tuple[tuple[int, str], ...]

    @property
    def context(self) -> Mapping[str, Any]:
        return self.details.get("ctx", {})

    @property
    def reading(self) -> ReadingError | None:
        raised = self.context.get("error")
        return raised if isinstance(raised, ReadingError) else None

    @property
    def wrong_shape(self) -> bool:
        """True if not the value but its shape is wrong: a list for a text and the like."""
        if self.kind == "literal_error":
            return isinstance(self.details["input"], (Mapping, *_LISTS))
        return self.kind.endswith("_type") or (self.reading is not None and not self.reading.read)


def _kinds(annotation: Any, metadata: tuple[Any, ...] = ()) -> _Kinds:
    if hasattr(annotation, "__value__"):  # a named type alias
        return _kinds(annotation.__value__, metadata)
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *more = get_args(annotation)
        return _kinds(inner, (*more, *metadata))
    if origin in (Union, UnionType):
        return tuple(kind for arg in get_args(annotation) for kind in _kinds(arg, metadata))
    return () if annotation is NoneType else (_Kind(annotation, metadata),)


def _fields(model: type[BaseModel]) -> dict[str, _Kinds]:
    """What each key of a section can take, by key as written."""
    return {
        field.alias or name: _kinds(field.annotation, tuple(field.metadata))
        for name, field in model.model_fields.items()
    }


def _slip(details: ErrorDetails, model: type[BaseModel]) -> _Slip:
    steps = details["loc"]
    own_key = details["type"] in ("missing", "extra_forbidden")
    kinds: _Kinds = _kinds(model)
    loc: Loc = ()
    branches: list[tuple[int, str]] = []
    at_key = own_key
    for step in steps[:-1] if own_key else steps:
        members = _members_named(kinds, step) if len(kinds) > 1 else ()
        below = _below(kinds, step)
        if members:
            if not any(step in tag for kind in members for tag in _tags(kind)):
                branches.append((len(loc), str(step)))
            kinds = members
        elif step == "[key]":
            at_key = True
        elif below is not None:
            loc, kinds = (*loc, step), below
    if own_key:
        loc = (*loc, *steps[-1:])
    if details["type"].startswith("union_tag"):
        loc = (*loc, details.get("ctx", {})["discriminator"].strip("'"))
    return _Slip(details["type"], details, loc, at_key, kinds, tuple(branches))


def _members_named(kinds: _Kinds, name: str | int) -> _Kinds:
    """The members of a union that pydantic means by `name`."""
    tagged = tuple(kind for kind in kinds if any(name in tag for tag in _tags(kind)))
    return tagged or tuple(kind for kind in kinds if _is_named(kind, str(name)))


def _tags(kind: _Kind) -> list[list[str]]:
    if kind.model is None:
        return []
    return [item.choices() for items in _fields(kind.model).values() for item in items]


def _is_named(kind: _Kind, name: str) -> bool:
    if kind.model is not None:
        return bool(kind.model.__name__ == name)
    if kind.rule is not None or kind.base is Literal:
        return name.startswith("literal[" if kind.rule is None else "function-")
    own: str = getattr(kind.base, "__name__", "?")
    return bool(re.match(rf"(?:constrained-)?{re.escape(own)}\b", name))


def _below(kinds: _Kinds, step: str | int) -> _Kinds | None:
    """What can stand at `step` in a place of `kinds`; None if `step` is no key or index there."""
    found: list[_Kind] = []
    known = False
    for kind in kinds:
        args = get_args(kind.type)
        fields = _fields(kind.model) if kind.model is not None else {}
        if step in fields:
            known, found = True, [*found, *fields[str(step)]]
        elif kind.base is dict and isinstance(step, str) and step != "[key]":
            known, found = True, [*found, *(_kinds(args[1]) if args else ())]
        elif kind.base in _LISTS and isinstance(step, int):
            every = kind.base is not tuple or args[1:] == (...,)
            item = args[:1] if every else args[step : step + 1]
            known, found = True, [*found, *(_kinds(item[0]) if item else ())]
    return tuple(found) if known else None


def _one_branch_each(slips: Iterable[_Slip]) -> list[_Slip]:
    """`slips` with only the likeliest member of each undecided union that got further than others.

    Further means that it complains about something inside the place; fewest complaints win.
    """
    left = list(slips)
    for place in sorted({slip.loc[:depth] for slip in left for depth, _ in slip.branches}, key=len):
        by_name: dict[str, list[_Slip]] = {}
        for slip in left:
            name = dict(slip.branches).get(len(place))
            if name is not None and slip.loc[: len(place)] == place:
                by_name.setdefault(name, []).append(slip)
        further = [group for group in by_name.values()
                   if any(len(slip.loc) > len(place) for slip in group)]  # fmt: skip
        best = min(further, key=len, default=None)
        others = [id(s) for group in by_name.values() if group is not best for s in group]
        left = [slip for slip in left if best is None or id(slip) not in others]
    return left


def _fault(group: Sequence[_Slip], source: Source) -> Fault:
    first = next((slip for slip in group if not slip.wrong_shape), group[0])
    line, column, text = source.locate(first.loc)
    given = first.details["input"]
    value = text or (given if isinstance(given, str) else "")
    if first.at_key:
        value = str(first.loc[-1])
    elif first.kind == "union_tag_invalid":
        value = str(first.context["tag"])
    message, expected, hint = _WORDS.get(first.kind, _other)(first, value)
    if len(group) > 1 and expected in (_described(first.kinds), ""):
        expected = _described(tuple(kind for slip in group for kind in slip.kinds))
    in_parent = first.kind in ("missing", "extra_forbidden", "union_tag_not_found")
    path = path_text(first.loc[:-1] if in_parent else first.loc)
    return Fault(message, source.name, line, column, value, expected, hint, path)


_Words = tuple[str, str, str]


def _missing(slip: _Slip, value: str) -> _Words:
    key = slip.loc[-1]
    if isinstance(key, int):
        return f"item {key + 1} of this list is missing", _described(slip.kinds), ""
    kinds = _below(slip.kinds, key) or ()
    sections = any(kind.model is not None or kind.base is dict for kind in kinds)
    lists = any(kind.base in _LISTS for kind in kinds)
    what = "section" if sections else "list" if lists else "field"
    return f"{what} {shown(key)} is missing", _described(kinds), ""


def _unknown_key(slip: _Slip, value: str) -> _Words:
    hint = _meant(_misspelt(slip))
    return f"{shown(value)} is not a key known here", _any_of(_keys(slip.kinds)), hint


def _not_a_choice(slip: _Slip, value: str) -> _Words:
    choices = [choice for kind in slip.kinds for choice in kind.choices()]
    if "expected_tags" in slip.context:
        choices = re.findall(r"'([^']*)'", slip.context["expected_tags"])
    message = f"{shown(value)} is not one of the choices here" if value else _shape(slip, value)
    return message, _any_of(choices), _meant(_nearest(value, choices))


def _raised(slip: _Slip, value: str) -> _Words:
    reading = slip.reading
    if reading is not None:
        return reading.problem, reading.expected, reading.hint
    return " ".join(str(slip.context.get("error", slip.details["msg"])).split()), "", ""


def _out_of_bounds(slip: _Slip, value: str) -> _Words:
    size = "small" if slip.kind.startswith("greater") else "large"
    rule = slip.kinds[0].rule if slip.kinds else None
    limits = dict(slip.context)
    for item in slip.kinds[0].metadata if slip.kinds else ():
        limits |= {name: item_limit for name in _BOUNDS
                   if (item_limit := getattr(item, name, None)) is not None}  # fmt: skip
    bounds = [f"{words} {limits[name]:g}" for name, words in _BOUNDS.items() if name in limits]
    unit = " mm" if isinstance(rule, LengthRule) else ""
    what = rule.expected.partition(" such as")[0] if rule is not None else "a number"
    expected = f"{what}, which must be {' and '.join(bounds)}{unit}"
    return f"{shown(value)} is too {size}", expected, ""


def _wrong_length(slip: _Slip, value: str) -> _Words:
    context = slip.context
    least, most = context.get("min_length"), context.get("max_length")
    expected = f"at least {least}" if least is not None else f"at most {most}"
    if slip.kind.startswith("string"):
        if not value.strip():
            return "nothing is written here", "a text", ""
        size = "short" if least is not None else "long"
        return f"{shown(value)} is too {size}", f"a text of {expected} characters", ""
    size = "few" if least is not None else "many"
    return f"the list holds too {size} items", f"{expected} of them", ""


def _other(slip: _Slip, value: str) -> _Words:
    if slip.kind.endswith(("_type", "_parsing", "_size")):
        return _shape(slip, value), _described(slip.kinds), ""
    message = slip.details["msg"]
    if message.startswith("Input should be "):
        return _shape(slip, value), message.removeprefix("Input should be "), ""
    return message, str(slip.context.get("expected", "")), str(slip.context.get("hint", ""))


def _shape(slip: _Slip, value: str) -> str:
    given = slip.details["input"]
    if given is None:
        return "nothing is given here"
    if isinstance(given, Mapping):
        return "a section is given here"
    if isinstance(given, _LISTS):
        return "a list is given here"
    return f"{shown(value)} cannot be used here"


_WORDS: dict[str, Callable[[_Slip, str], _Words]] = {
    "missing": _missing,
    "union_tag_not_found": _missing,
    "extra_forbidden": _unknown_key,
    **dict.fromkeys(("literal_error", "enum", "union_tag_invalid"), _not_a_choice),
    **dict.fromkeys(("value_error", "assertion_error"), _raised),
    **dict.fromkeys(("too_short", "too_long"), _wrong_length),
    **dict.fromkeys(("string_too_short", "string_too_long"), _wrong_length),
    **dict.fromkeys(("greater_than", "greater_than_equal"), _out_of_bounds),
    **dict.fromkeys(("less_than", "less_than_equal"), _out_of_bounds),
}


def _described(kinds: _Kinds) -> str:
    """What can stand at a place, in words that can follow 'expected'."""
    choices = list(dict.fromkeys(choice for kind in kinds for choice in kind.choices()))
    words = [_any_of(choices)] if choices else []
    if sum(kind.model is not None for kind in kinds) > 1:
        words, kinds = [*words, "a section"], tuple(kind for kind in kinds if kind.model is None)
    words += [_description(kind) for kind in kinds if not kind.choices()]
    return ", or ".join(dict.fromkeys(words))


def _description(kind: _Kind) -> str:
    if kind.rule is not None:
        return kind.rule.expected
    if kind.model is not None:
        return f"a section with {_any_of(_keys((kind,)))}"
    if kind.base in _LISTS:
        args = get_args(kind.type)
        count = f"{len(args)} " if kind.base is tuple and args[1:] != (...,) else ""
        items = [item.rule.expected for item in _kinds(args[0]) if item.rule] if args else []
        return f"a list of {count}values, each {items[0]}" if items else "a list"
    return "a section" if kind.base is dict else _SIMPLE.get(kind.base, "another value")


def _keys(kinds: _Kinds) -> list[str]:
    models = [kind.model for kind in kinds if kind.model is not None]
    return list(dict.fromkeys(key for model in models for key in _fields(model)))


def _any_of(words: Sequence[str]) -> str:
    if len(words) > _MOST_CHOICES:
        return ", ".join(words[:_MOST_CHOICES]) + ", ..."
    return " or ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def _misspelt(slip: _Slip) -> str:
    keys = _keys(slip.kinds) if slip.kind == "extra_forbidden" else []
    return _nearest(str(slip.loc[-1]), keys) if keys else ""


def _meant(nearest: str) -> str:
    return f"did you mean {shown(nearest)}?" if nearest else ""


def _nearest(word: str, choices: Iterable[str]) -> str:
    by_form = {choice.lower().replace("-", "_"): choice for choice in choices}
    form = word.strip().lower().replace("-", "_").replace(" ", "_")
    found = difflib.get_close_matches(form, list(by_form), n=1, cutoff=0.6)
    return by_form[found[0]] if found else ""
