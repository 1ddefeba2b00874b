"""What a study varies: reads a study file into a plan that any process can work on alone."""

from __future__ import annotations

import hashlib
import json
import math
import random
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError, model_validator

from rigmodel.catalog.entry import Entry
from rigmodel.errors import Fault, InputError, ReadingError, RigmodelError
from rigmodel.reading.faults import faults_from
from rigmodel.reading.fields import Count, RelativePath, inside
from rigmodel.reading.source import Source, read_source
from rigmodel.sheet.fields import steps
from rigmodel.units import parse_number

MAX_CASES = 1_000_000
_MOST_VALUES = 1000
_BATCH, _LEAST_BATCHES = 16, 64
_ROOT = Path(__file__).parents[3]
# All that a result depends on besides the study's own files.
_PROGRAM = (
    "meshes_generic",
    *(f"rigmodel/{room}" for room in ("reading", "catalog", "spec", "assembly", "clearance")),
    "rigmodel/advise/study",
)
_AMOUNT = re.compile(r"\s*(.*?\d)\s*([a-zA-Z°\"'′″]*)\s*", re.DOTALL)


class StudyError(RigmodelError):
    """A study cannot go on."""


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

    @model_validator(mode="after")
    def _one_form(self) -> Vary:
        if (self.values is None) == (self.range is None):
            raise ValueError("give either values or range")
        if self.values is not None and not 1 <= len(self.values) <= _MOST_VALUES:
            raise ValueError(f"values needs 1 to {_MOST_VALUES} of them")
        if self.range is not None:
            spaced(self.range)
        for path in self.paths:
            steps(path)
        return self

    @property
    def paths(self) -> tuple[str, ...]:
        """The dotted names that are set."""
        return (self.set,) if isinstance(self.set, str) else self.set


class Sample(Entry):
    """A part of the grid, drawn by chance but always the same for the same seed."""

    cases: Count = Field(description="How many cases to draw, none twice", ge=1, le=MAX_CASES)
    seed: Count = Field(default=1, description="Start of the draw", ge=0, le=2**31)


class StudySpec(Entry):
    """A whole study file."""

    name: str = Field(description="Title", min_length=1, max_length=120)
    scene: RelativePath = Field(description="Scene to vary, in this file's folder")
    vary: tuple[Vary, ...] = Field(description="What is varied; each with each", min_length=1)
    sample: Sample | None = Field(default=None, description="Draw from the grid; none = all of it")


@dataclass(frozen=True)
class Axis:
    """One thing that is varied.

    Attributes:
        name: what it is called.
        paths: dotted names of the values that are set.
        values: each value as JSON.
        labels: each value for people.
    """

    name: str
    paths: tuple[str, ...]
    values: tuple[str, ...]
    labels: tuple[str, ...]


@dataclass(frozen=True)
class StudyPlan:
    """Everything that a process needs to work on any case.

    Attributes:
        name: title.
        scene: the scene's tree as JSON, nothing resolved.
        origin: name of the scene's file.
        axes: what is varied.
        drawn: places in the grid, in rising order, if a sample was drawn; else None.
        files: every file the scene refers to, by its path in the scene's folder, and its bytes.
        program: digest of the program that the study is planned with.
    """

    name: str
    scene: str
    origin: str
    axes: tuple[Axis, ...]
    drawn: tuple[int, ...] | None
    files: tuple[tuple[str, bytes], ...]
    program: str

    @property
    def grid(self) -> int:
        """Cases of the whole grid."""
        return math.prod(len(axis.values) for axis in self.axes)

    @property
    def total(self) -> int:
        """Cases of the study."""
        return self.grid if self.drawn is None else len(self.drawn)

    @property
    def batch(self) -> int:
        """Cases worked on together; depends on nothing but the plan."""
        return max(1, min(_BATCH, self.total // _LEAST_BATCHES))

    @cached_property
    def fingerprint(self) -> str:
        """Digest of everything that a result depends on."""
        told = repr((self.program, self.scene, self.origin, self.axes, self.drawn, self.files))
        return hashlib.sha256(told.encode("utf-8")).hexdigest()

    def starts(self) -> range:
        """First case of every batch."""
        return range(0, self.total, self.batch)

    def place(self, case: int) -> tuple[int, ...]:
        """Which value of each axis a case has, counted from 0; the last axis runs fastest."""
        rest = case if self.drawn is None else self.drawn[case]
        found = []
        for axis in reversed(self.axes):
            rest, at = divmod(rest, len(axis.values))
            found.append(at)
        return tuple(reversed(found))

    def labels(self, case: int) -> tuple[str, ...]:
        """The values of a case for people."""
        return tuple(a.labels[i] for a, i in zip(self.axes, self.place(case), strict=True))

    def text(self, case: int) -> str:
        """The scene file of a case; JSON, which is YAML too."""
        tree = json.loads(self.scene)
        for axis, at in zip(self.axes, self.place(case), strict=True):
            for path in axis.paths:
                _put(tree, steps(path), json.loads(axis.values[at]))
        return json.dumps(tree, ensure_ascii=False)


def read_study(path: Path) -> StudyPlan:
    """Reads a study file, its scene and every file that refers to.

    Raises:
        InputError: with every fault found, each with file and line.
    """
    source = read_source(path)
    try:
        spec = StudySpec.model_validate(source.root.plain(), context={"folder": path.parent})
    except ValidationError as error:
        raise InputError(faults_from(error, source, StudySpec)) from None
    try:
        scene_path = inside(path.parent, spec.scene)
    except ValueError as error:
        raise InputError((_fault(source, ("scene",), str(error)),)) from None
    tree = read_source(scene_path).root.plain()
    axes = tuple(_axis(vary) for vary in spec.vary)
    faults = tuple(_path_faults(source, spec, tree))
    grid = math.prod(len(axis.values) for axis in axes)
    if grid > MAX_CASES:
        problem = f"{grid} cases are more than the {MAX_CASES} a study may have"
        faults += (_fault(source, ("vary",), problem),)
    if spec.sample is not None and spec.sample.cases > grid:
        problem = f"the grid has only {grid} cases to draw from"
        faults += (_fault(source, ("sample", "cases"), problem),)
    if faults:
        raise InputError(faults)
    return StudyPlan(
        spec.name,
        json.dumps(tree, ensure_ascii=False),
        scene_path.name,
        axes,
        _drawn(spec.sample, grid),
        tuple(sorted(_files(scene_path.parent, tree))),
        program_digest(),
    )


@cache
def program_digest() -> str:
    """Digest of the parts of this program that results depend on."""
    digest = hashlib.sha256()
    for room in _PROGRAM:
        for path in sorted((_ROOT / room).rglob("*")):
            if path.suffix in (".py", ".yaml"):
                digest.update(path.relative_to(_ROOT).as_posix().encode() + b"\0")
                digest.update(path.read_bytes())
    return digest.hexdigest()


def _drawn(sample: Sample | None, grid: int) -> tuple[int, ...] | None:
    if sample is None:
        return None
    return tuple(sorted(random.Random(sample.seed).sample(range(grid), sample.cases)))


def _axis(vary: Vary) -> Axis:
    values: Sequence[Any] = spaced(vary.range) if vary.range is not None else vary.values or ()
    return Axis(
        vary.name or " + ".join(vary.paths),
        vary.paths,
        tuple(json.dumps(value, ensure_ascii=False) for value in values),
        tuple(_label(value) for value in values),
    )


def _label(value: object) -> str:
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_label(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{k}: {_label(v)}" for k, v in value.items()) + "}"
    return "–" if value is None else str(value)


def spaced(steps_: Steps) -> tuple[str, ...]:
    """The values of an evenly spaced range as texts, each with the range's unit.

    Raises:
        ValueError: a value does not read, the units differ, or there are too many values or none.
    """
    read = [_AMOUNT.fullmatch(text) for text in (steps_.low, steps_.high, steps_.step)]
    try:
        low, high, step = (parse_number(found[1] if found else "") for found in read)
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


def _path_faults(source: Source, spec: StudySpec, tree: Any) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for i, vary in enumerate(spec.vary):
        for path in vary.paths:
            loc = ("vary", i, "set")
            if seen.setdefault(path, i) != i:
                yield _fault(source, loc, f"'{path}' is varied twice")
            try:
                _put(json.loads(json.dumps(tree)), steps(path), "")
            except LookupError as error:
                yield _fault(source, loc, f"the scene has no place '{path}' ({error.args[0]})")


def _put(tree: Any, path: Sequence[str | int], value: Any) -> None:
    """Sets a value; sections that are not there are made, items of lists must be there."""
    here = tree
    for i, step in enumerate(path):
        last = i == len(path) - 1
        if isinstance(step, int):
            if not isinstance(here, list) or step >= len(here):
                raise LookupError(f"it holds no item {step + 1}")
        elif not isinstance(here, dict):
            raise LookupError(f"'{step}' would lie in a plain value")
        elif step not in here or here[step] is None:
            if not last and isinstance(path[i + 1], int):
                raise LookupError(f"'{step}' is not written there")
            here[step] = {}
        if last:
            here[step] = value
        else:
            here = here[step]


def _files(folder: Path, tree: Any, base: Path | None = None) -> Iterator[tuple[str, bytes]]:
    """Every file that a text of the tree names, and what catalogue files among them name."""
    base = folder if base is None else base
    for text in _texts(tree):
        try:
            path = inside(base, text)
            if not path.is_file():
                continue
            data = path.read_bytes()
        except (ValueError, OSError):  # not the name of a file
            continue
        yield path.relative_to(folder.resolve()).as_posix(), data
        if path.suffix.lower() in (".yaml", ".yml"):
            yield from _files(folder, read_source(path).root.plain(), path.parent)


def _texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, Mapping):
        for value in tree.values():
            yield from _texts(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _texts(value)


def _fault(source: Source, loc: tuple[str | int, ...], problem: str) -> Fault:
    line, column, value = source.locate(loc)
    return Fault(problem, source.name, line, column, value, "")
