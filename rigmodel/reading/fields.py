"""Field types that read a text as written, for pydantic models of scenes and catalogues.

A bare number takes the unit found in the validation context under ``unit`` (a `Unit` or its value;
millimetres if there is none), whether it comes as text or as a Python number. Lengths become mm,
angles degrees. Every refusal is a `ReadingError`, which says in plain words what was read and what
is expected.
"""

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, NoReturn

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import core_schema

from rigmodel.errors import ReadingError, shown
from rigmodel.units import (
    ANGLE_EXPECTED,
    COUNT_EXPECTED,
    LENGTH_EXPECTED,
    NUMBER_EXPECTED,
    AngleError,
    LengthError,
    NumberError,
    Unit,
    format_setting,
    parse_angle,
    parse_count,
    parse_length,
    parse_number,
)

LONGEST_MM = 100_000.0  # far beyond any rig; keeps slips of the unit and overflow out
LARGEST_ANGLE = 360.0
FLAG_EXPECTED = "true, false, yes or no"
NAME_EXPECTED = (
    "a name of 1 to 60 letters, digits, spaces, '_', '-' or '.', beginning with a letter or digit"
)
IDENT_EXPECTED = "an id of 1 to 60 small letters, digits, '-' or '_', such as row-blade"
PATH_EXPECTED = "a file in the scene's own folder, such as parts/own.yaml"

_LARGEST_INT = 10**15
_LONGEST_NAME = 60
_LONGEST_PATH = 255
_NAME = re.compile(r"[^\W_](?:[\w .-]*[\w.-])?")
_IDENT = re.compile(r"[a-z0-9][a-z0-9_-]*")
_FLAGS = {"true": True, "yes": True, "false": False, "no": False}
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff]")


class Rule(ABC):
    """Turns one written value into one Python value; used as metadata in ``Annotated``.

    Attributes:
        expected: what the field takes, in words that can follow 'expected'.
    """

    expected: str

    @abstractmethod
    def read(self, value: object, unit: Unit) -> object:
        """The value read.

        Raises:
            ReadingError: it is not what `expected` says.
        """

    @abstractmethod
    def schema(self) -> dict[str, Any]:
        """JSON schema of the forms that can be written."""

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        # The inner schema holds the field's own bounds (ge, le, ...), so it must follow.
        return core_schema.with_info_before_validator_function(self._validate, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        inner = handler(schema)
        kept = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")
        return {key: inner[key] for key in kept if key in inner} | self.schema()

    def _validate(self, value: object, info: ValidationInfo) -> object:
        context = info.context
        unit = context.get("unit", Unit.MM) if isinstance(context, Mapping) else Unit.MM
        return self.read(value, Unit(unit))


@dataclass(frozen=True)
class LengthRule(Rule):
    """A length between `low_mm` and `high_mm`; `low_mm` itself only if `low_too`."""

    low_mm: float
    high_mm: float
    low_too: bool = True
    expected: str = LENGTH_EXPECTED

    @property
    def bounds(self) -> str:
        """The bounds in shop words, such as ``more than 0 and at most 10 m``."""
        first = "at least" if self.low_too else "more than"
        return f"{first} {_bound(self.low_mm)} and at most {_bound(self.high_mm)}"

    def read(self, value: object, unit: Unit) -> float:
        """The length in mm.

        Raises:
            ReadingError: it is not a length, or lies outside the bounds.
        """
        text = _text(value, self.expected)
        mm = parse_length(text, unit)
        too_small = mm < self.low_mm or (mm == self.low_mm and not self.low_too)
        if too_small or mm > self.high_mm:
            size = "small" if too_small else "large"
            expected = f"a length, which must be {self.bounds}"
            raise LengthError(text, f"{shown(text)} is too {size}", expected)
        return mm

    def schema(self) -> dict[str, Any]:
        """JSON schema; the bounds stand in ``x-`` keys, as a text has no ``minimum``."""
        low = "x-minimum-mm" if self.low_too else "x-exclusive-minimum-mm"
        return {
            "type": ["string", "number"],
            "description": f"{LENGTH_EXPECTED}, {self.bounds}; a bare number is in 'units'",
            "examples": [15, "2 1/2 in", "380 mm", "7' 3\""],
            "x-unit": "mm",
            low: self.low_mm,
            "x-maximum-mm": self.high_mm,
        }


def length(
    min_mm: float | None = None, max_mm: float | None = None, above_mm: float | None = None
) -> LengthRule:
    """The rule of a bounded field, for metadata of ``Annotated[float, ...]``.

    Args:
        min_mm: least length allowed, in mm.
        max_mm: greatest length allowed, in mm; 100 m if not given.
        above_mm: the length must be more than this, in mm; not together with `min_mm`.

    Raises:
        ValueError: both lower bounds are given, or the bounds leave nothing between them.
    """
    if min_mm is not None and above_mm is not None:
        raise ValueError("give min_mm or above_mm, not both")
    high = LONGEST_MM if max_mm is None else max_mm
    given = above_mm if above_mm is not None else min_mm
    low = -LONGEST_MM if given is None else given
    if not low < high:
        raise ValueError(f"no length lies between {low} mm and {high} mm")
    return LengthRule(low, high, above_mm is None)


@dataclass(frozen=True)
class AngleRule(Rule):
    """An angle in degrees, at most one turn either way."""

    expected: str = ANGLE_EXPECTED

    def read(self, value: object, unit: Unit) -> float:
        """The angle in degrees."""
        text = _text(value, self.expected)
        angle = parse_angle(text)
        if abs(angle) > LARGEST_ANGLE:
            raise AngleError(text, f"{shown(text)} is over a full turn", self.expected)
        return angle

    def schema(self) -> dict[str, Any]:
        """JSON schema of an angle."""
        forms: list[Any] = [15, "-12.5", "5 deg"]
        return _schema(["string", "number"], ANGLE_EXPECTED, forms) | {"x-unit": "deg"}


@dataclass(frozen=True)
class NumberRule(Rule):
    """A finite number without a unit."""

    expected: str = NUMBER_EXPECTED

    def read(self, value: object, unit: Unit) -> float:
        """The number."""
        text = _text(value, self.expected)
        if isinstance(value, float) and math.isfinite(value):
            return float(value)  # a Python float may print with an exponent
        return parse_number(text)

    def schema(self) -> dict[str, Any]:
        """JSON schema of a number."""
        return _schema(["string", "number"], NUMBER_EXPECTED, [3, "0.25"])


@dataclass(frozen=True)
class CountRule(Rule):
    """A whole number, 0 or more."""

    expected: str = COUNT_EXPECTED

    def read(self, value: object, unit: Unit) -> int:
        """The number."""
        text = _text(value, self.expected)
        if isinstance(value, float):
            raise NumberError(
                text, f"{shown(text)} is not a whole number, 0 or more", self.expected
            )
        return parse_count(text)

    def schema(self) -> dict[str, Any]:
        """JSON schema of a whole number."""
        return _schema(["string", "integer"], COUNT_EXPECTED, [3])


@dataclass(frozen=True)
class FlagRule(Rule):
    """Yes or no, in the words true, false, yes and no only."""

    expected: str = FLAG_EXPECTED

    def read(self, value: object, unit: Unit) -> bool:
        """True for true and yes, False for false and no."""
        if isinstance(value, bool):
            return value
        text = _text(value, self.expected)
        if text not in _FLAGS:
            hint = f"write {text.lower()}" if text.lower() in _FLAGS else ""
            raise ReadingError(text, f"{shown(text)} is neither yes nor no", FLAG_EXPECTED, hint)
        return _FLAGS[text]

    def schema(self) -> dict[str, Any]:
        """JSON schema of a flag."""
        words: list[Any] = [True, False, *_FLAGS]
        return {"enum": words, "description": FLAG_EXPECTED}


@dataclass(frozen=True)
class PatternRule(Rule):
    """A short text of allowed characters only: a name for people, or an id."""

    expected: str
    pattern: re.Pattern[str]

    def read(self, value: object, unit: Unit) -> str:
        """The text, unchanged."""
        text = _written(value, self.expected)
        if len(text) > _LONGEST_NAME or not self.pattern.fullmatch(text):
            what = "is too long" if len(text) > _LONGEST_NAME else "cannot be used here"
            problem = f"{shown(text)} {what}" if text else "an empty text is given here"
            raise ReadingError(text, problem, self.expected, self._cure(text))
        return text

    def _cure(self, text: str) -> str:
        other = text.strip().lower().replace(" ", "-")
        fits = len(other) <= _LONGEST_NAME and bool(_IDENT.fullmatch(other))
        return f"write {other}" if fits else ""

    def schema(self) -> dict[str, Any]:
        """JSON schema of the text."""
        pattern = f"^(?:{self.pattern.pattern})$"
        return _schema(["string"], self.expected, []) | {"pattern": pattern, "maxLength": 60}


@dataclass(frozen=True)
class PathRule(Rule):
    """A path below the scene's own folder, with forward slashes."""

    expected: str = PATH_EXPECTED

    def read(self, value: object, unit: Unit) -> str:
        """The path as written."""
        text = _written(value, PATH_EXPECTED)
        problem = path_problem(text)
        if problem:
            raise ReadingError(text, problem, PATH_EXPECTED)
        return text

    def schema(self) -> dict[str, Any]:
        """JSON schema of the path."""
        return _schema(["string"], PATH_EXPECTED, ["parts/own.yaml"])


Length = Annotated[float, length()]
PositiveLength = Annotated[float, length(above_mm=0.0)]
NonNegativeLength = Annotated[float, length(min_mm=0.0)]
Angle = Annotated[float, AngleRule()]
Number = Annotated[float, NumberRule()]
Count = Annotated[int, CountRule()]
Flag = Annotated[bool, FlagRule()]
Name = Annotated[str, PatternRule(NAME_EXPECTED, _NAME)]
Ident = Annotated[str, PatternRule(IDENT_EXPECTED, _IDENT)]
RelativePath = Annotated[str, PathRule()]


def inside(folder: Path, text: str) -> Path:
    """The file `text` below `folder`, with symbolic links followed.

    The file need not be there.

    Raises:
        ValueError: the path is absolute, climbs out with ``..``, or a link leads out of `folder`.
    """
    problem = path_problem(text)
    if problem:
        raise ReadingError(text, problem, PATH_EXPECTED)
    try:
        home = folder.resolve()
        path = (home / text).resolve()
    except (OSError, RuntimeError):  # links that lead round in a circle
        raise ReadingError(text, f"{shown(text)} cannot be followed", PATH_EXPECTED) from None
    if not path.is_relative_to(home):
        raise ReadingError(text, f"{shown(text)} leads out of the folder", PATH_EXPECTED)
    return path


def path_problem(text: str) -> str:
    """Why `text` is no path below a folder; empty if it is one."""
    if not text.strip():
        return "an empty text is given here"
    if len(text.encode("utf-8", "replace")) > _LONGEST_PATH:
        return f"{shown(text)} is too long"
    if _CONTROL.search(text):
        return f"{shown(text)} holds a control character"
    if "\\" in text:
        return f"{shown(text)} holds a backslash where '/' is needed"
    if text.startswith(("/", "~")) or re.match("[A-Za-z]:", text):
        return f"{shown(text)} does not begin in the folder"
    return f"{shown(text)} climbs out with '..'" if ".." in text.split("/") else ""


def _written(value: object, expected: str) -> str:
    """`value` if it is a text.

    Raises:
        ReadingError: it is anything else.
    """
    return value if isinstance(value, str) else _refuse(value, expected)


def _text(value: object, expected: str) -> str:
    """`value` as it would be written: a text unchanged, a number in full.

    Raises:
        ReadingError: it is neither.
    """
    if isinstance(value, float):
        return float.__repr__(value)
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) < _LARGEST_INT:
        return int.__repr__(value)
    return _written(value, expected)


def _refuse(value: object, expected: str) -> NoReturn:
    if isinstance(value, bool):
        text = str(value).lower()
        raise ReadingError(text, f"{shown(text)} cannot be used here", expected)
    kinds = {
        type(None): "nothing is given here",
        dict: "a section is given where one value is needed",
        list: "a list is given where one value is needed",
        tuple: "a list is given where one value is needed",
        int: "the number is too large",
    }
    other = f"a value of type {type(value).__name__} cannot be used here"
    raise ReadingError("", kinds.get(type(value), other), expected)


def _bound(mm: float) -> str:
    if mm == 0.0:
        return "0"
    whole = abs(mm) >= 1000.0 and mm % 100.0 == 0.0
    return format_setting(mm, Unit.M if whole else Unit.MM)


def _schema(types: list[str], description: str, examples: list[Any]) -> dict[str, Any]:
    schema = {"type": types if len(types) > 1 else types[0], "description": description}
    return schema | ({"examples": examples} if examples else {})
