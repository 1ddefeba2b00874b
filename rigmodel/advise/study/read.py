"""Reads a study file, its scene and the files that belong to it into a plan."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from rigmodel.advise.study.faults import fault_at, path_faults, value_faults
from rigmodel.advise.study.plan import Axis, StudyPlan
from rigmodel.advise.study.program import program_digest
from rigmodel.advise.study.spec import MAX_CASES, Sample, StudySpec, Vary, spaced
from rigmodel.catalog.store import nearest, read_catalogue_file
from rigmodel.errors import Fault, InputError
from rigmodel.reading.faults import faults_from
from rigmodel.reading.fields import inside
from rigmodel.reading.source import Source, read_source

_SECTIONS = frozenset({"rows", "tractor", "toolbar", "stations"})


def read_study(path: Path, catalogues: Sequence[Path] = ()) -> StudyPlan:
    """Reads a study file, its scene and every file that refers to.

    Args:
        path: the study file.
        catalogues: further catalogue files, given explicitly.

    Raises:
        InputError: with every fault found, each with file and line.
    """
    source = read_source(path)
    try:
        spec = StudySpec.model_validate(source.root.plain(), context={"folder": path.parent})
    except ValidationError as error:
        raise InputError(faults_from(error, source, StudySpec)) from None
    scene_path = _scene_path(source, path.parent, spec.scene)
    scene = read_source(scene_path)
    tree = scene.root.plain()
    if not (isinstance(tree, Mapping) and _SECTIONS & tree.keys()):
        told = f"'{spec.scene}' is no scene: it has no rows, tractor, toolbar or stations"
        raise InputError((fault_at(source, ("scene",), told, "the scene file to vary"),))
    axes = tuple(_axis(vary) for vary in spec.vary)
    grid = math.prod(len(axis.values) for axis in axes)
    faults = (*path_faults(source, spec, tree), *_size_faults(source, spec, grid))
    if faults:
        raise InputError(faults)
    given = tuple(_given(catalogues))
    plan = StudyPlan(
        spec.name,
        json.dumps(tree, ensure_ascii=False),
        scene_path.name,
        axes,
        _drawn(spec.sample, grid),
        tuple(sorted({*_files(scene_path.parent, tree, axes, scene_path), *(f for _, f in given)})),
        program_digest(),
        tuple(dict.fromkeys(name for name, _ in given)),
    )
    faults = tuple(value_faults(source, scene, plan))
    if faults:
        raise InputError(faults)
    return plan


def _scene_path(source: Source, folder: Path, name: str) -> Path:
    try:
        found = inside(folder, name)
    except ValueError as error:
        raise InputError((fault_at(source, ("scene",), str(error)),)) from None
    if not found.is_file():
        others = sorted(p.name for p in folder.glob("*.y*ml") if p.name != Path(source.name).name)
        near = nearest(name, others)
        hint = f"did you mean '{near}'?" if near else ""
        told = fault_at(
            source, ("scene",), f"there is no file '{name}'", "a scene in this file's folder", hint
        )
        raise InputError((told,))
    return found


def _size_faults(source: Source, spec: StudySpec, grid: int) -> Iterator[Fault]:
    if grid > MAX_CASES:
        problem = f"{grid} cases are more than the {MAX_CASES} a study may have"
        yield fault_at(source, ("vary",), problem, "fewer values, or sample: {cases: …}")
    if spec.sample is not None and spec.sample.cases > grid:
        problem = f"the grid has only {grid} cases to draw from"
        yield fault_at(source, ("sample", "cases"), problem, f"at most {grid}")


def _given(catalogues: Sequence[Path]) -> Iterator[tuple[str, tuple[str, bytes]]]:
    """Name of each catalogue that was given, and every file that comes with it."""
    for i, path in enumerate(catalogues):
        read_catalogue_file(path)  # what is wrong with it is told now, with its own lines
        name = f"given-{i + 1}/{path.name}"
        yield name, (name, path.read_bytes())
        for other, data in _files(path.parent, read_source(path).root.plain(), (), path):
            yield name, (f"given-{i + 1}/{other}", data)


def _drawn(sample: Sample | None, grid: int) -> tuple[int, ...] | None:
    if sample is None:
        return None
    return tuple(sorted(random.Random(sample.draw).sample(range(grid), sample.cases)))


def _axis(vary: Vary) -> Axis:
    values: Sequence[Any] = vary.values or vary.together or ()
    if vary.range is not None:
        values = spaced(vary.range)
    together = vary.together is not None
    labels = (", ".join(map(_label, v)) if together else _label(v) for v in values)
    return Axis(
        vary.name or " + ".join(vary.paths),
        vary.paths,
        tuple(json.dumps(value, ensure_ascii=False) for value in values),
        tuple(labels if vary.called is None else vary.called),
        together,
    )


def _label(value: object) -> str:
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_label(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{k}: {_label(v)}" for k, v in value.items()) + "}"
    return "–" if value is None else str(value)


def _files(
    folder: Path, tree: Any, axes: Sequence[Axis], start: Path
) -> Iterator[tuple[str, bytes]]:
    """Every file that a text of the tree or a value names, and what catalogues among them name.

    Args:
        folder: what the files' names count from.
        tree: what the first file holds.
        axes: whose values are looked at as well.
        start: the first file; it is not one of those found, whatever names it.
    """
    values = [json.loads(value) for axis in axes for value in axis.values]
    left: list[tuple[Path, Any]] = [(folder, [tree, *values])]
    seen = {start.resolve()}
    while left:
        base, held = left.pop()
        for text in _texts(held):
            try:
                path = inside(base, text)
                if path in seen or not path.is_file():
                    continue
                data = path.read_bytes()
            except (ValueError, OSError):  # not the name of a file
                continue
            seen.add(path)
            yield path.relative_to(folder.resolve()).as_posix(), data
            if path.suffix.lower() in (".yaml", ".yml"):
                left.append((path.parent, read_source(path).root.plain()))


def _texts(tree: Any) -> Iterator[str]:
    if isinstance(tree, str):
        yield tree
    elif isinstance(tree, Mapping):
        for value in tree.values():
            yield from _texts(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _texts(value)
