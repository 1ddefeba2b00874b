"""What a study file may say."""

from __future__ import annotations

import math
import re
from typing import Any

from pydantic import Field, model_validator

from rigmodel.catalog.entry import Entry
from rigmodel.errors import ReadingError
from rigmodel.reading.fields import Count, RelativePath
from rigmodel.sheet.fields import steps
from rigmodel.units import Unit, parse_length, parse_number, to_unit

MAX_CASES = 1_000_000
_MOST_VALUES = 1000
_AMOUNT = re.compile(r"\s*(.*?\d)\s*([a-zA-Z°\"'′″]*)\s*", re.DOTALL)


class Steps(Entry):
    """Evenly spaced values: from `low` to `high`, both with the same unit."""

    low: str = Field(description="First value, such as 14 in")
    high: str = Field(description="Last value; it is taken if a step falls on it")
    step: str = Field(description="From value to value, more than 0")


class Vary(Entry):
    """One thing that is varied: one or more values of the scene that change together."""

    set: str | tuple[str, ...] = Field(
        description="Dotted name in the scene, such as rows.spacing or stations[2].depth; or a list"
    )
    name: str = Field(default="", description="What to call it", max_length=60)
    values: tuple[Any, ...] | None = Field(
        default=None, description="The values, as the scene file would hold them"
    )
    range: Steps | None = Field(default=None, description="Evenly spaced values instead")
    together: tuple[tuple[Any, ...], ...] | None = Field(
        default=None,
        description="Lists of values instead, one for each name in set: [[15, blade-10], …]",
    )
    called: tuple[str, ...] | None = Field(
        default=None, description="What to call each of the values, in their order"
    )

    @model_validator(mode="after")
    def _one_form(self) -> Vary:
        forms = [self.values, self.range, self.together]
        if sum(form is not None for form in forms) != 1:
            raise ValueError("give one of values, range and together")
        for form in (self.values, self.together):
            if form is not None and not 1 <= len(form) <= _MOST_VALUES:
                raise ValueError(f"values needs 1 to {_MOST_VALUES} of them")
            told = [repr(value) for value in form or ()]
            twice = next((text for i, text in enumerate(told) if text in told[:i]), None)
            if twice is not None:
                raise ValueError(f"{twice} is given twice; each value only once")
        for place, row in enumerate(self.together or (), 1):
            if len(row) != len(self.paths):
                raise ValueError(
                    f"list {place} of together holds {len(row)} values; set names "
                    f"{len(self.paths)}, so expected {len(self.paths)}"
                )
        if self.range is not None:
            spaced(self.range)
        if self.called is not None:
            _named(self.called, self.values or self.together)
        for path in self.paths:
            try:
                steps(path)
            except ValueError:
                raise ValueError(
                    f"'{path}' names no place in a scene; write it such as rows.spacing or "
                    "stations[2].depth, counted from 1"
                ) from None
        return self

    @property
    def paths(self) -> tuple[str, ...]:
        """The dotted names that are set."""
        return (self.set,) if isinstance(self.set, str) else self.set


class Sample(Entry):
    """A part of the grid, drawn by chance but always the same for the same number."""

    cases: Count = Field(description="How many cases to draw, none twice", ge=1, le=MAX_CASES)
    draw: Count = Field(default=1, description="Another number draws others", ge=0, le=2**31)


class StudySpec(Entry):
    """A whole study file."""

    name: str = Field(description="Title", min_length=1, max_length=120)
    scene: RelativePath = Field(description="Scene to vary, in this file's folder")
    vary: tuple[Vary, ...] = Field(description="What is varied; each with each", min_length=1)
    sample: Sample | None = Field(default=None, description="Draw from the grid; none = all of it")


def _named(called: tuple[str, ...], values: tuple[Any, ...] | None) -> None:
    """Whether names go with the values they are for: one each, all different.

    Raises:
        ValueError: they do not.
    """
    if values is None:
        raise ValueError("called goes with values or together; a range names its values itself")
    if len(called) != len(values):
        raise ValueError(f"called holds {len(called)} names for {len(values)} values")
    wrong = next((n for i, n in enumerate(called) if not n.strip() or n in called[:i]), None)
    if wrong is not None:
        raise ValueError(f"called holds {wrong!r} twice, or it is empty; each value has its own")


def spaced(steps_: Steps) -> tuple[str, ...]:
    """The values of an evenly spaced range as texts, each with the range's unit.

    Raises:
        ValueError: a value does not read, the units differ, or there are too many values or none.
    """
    read = [_AMOUNT.fullmatch(text) for text in (steps_.low, steps_.high, steps_.step)]
    try:
        low, high, step = (_amount(found[1] if found else "") for found in read)
    except ReadingError as error:
        raise ValueError(str(error)) from None
    units = {found[2] for found in read if found}
    if len(units) != 1:
        raise ValueError("write low, high and step with the same unit, or all without")
    if step <= 0.0 or high < low:
        raise ValueError("step must be more than 0, and high no less than low")
    count = math.floor((high - low) / step + 1e-9) + 1
    if count > _MOST_VALUES:
        raise ValueError(f"{count} values are more than the {_MOST_VALUES} that may be given")
    return tuple(
        f"{low + i * step:.10g} {units_}".strip() for units_ in units for i in range(count)
    )


def _amount(text: str) -> float:
    """A number, with a fraction as the shop writes it or with a decimal point."""
    return to_unit(parse_length(text, Unit.IN), Unit.IN) if "/" in text else parse_number(text)
