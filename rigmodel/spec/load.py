"""Reads a scene file: `load_scene(path) -> Scene`, or one error that names every fault."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from pydantic import ValidationError

from rigmodel.catalog.store import Catalogue, builtin_catalogue, read_catalogue_file
from rigmodel.errors import Fault, InputError
from rigmodel.reading.faults import faults_from, path_text
from rigmodel.reading.fields import inside
from rigmodel.reading.source import Source, parse_source, read_source
from rigmodel.spec.bodies import scene_bodies
from rigmodel.spec.problem import Problem
from rigmodel.spec.resolve import Scene, resolve
from rigmodel.spec.scene import SceneSpec
from rigmodel.units import Unit


def load_scene(path: str | Path, catalogues: Iterable[Path] = ()) -> Scene:
    """Reads, validates and resolves a scene file.

    Args:
        path: the scene's YAML file.
        catalogues: further catalogue files, given explicitly.

    Raises:
        InputError: with every fault found, each with file, line, value and what was expected.
    """
    path = Path(path)
    return _scene(read_source(path), path.parent, catalogues)


def scene_from_text(
    text: str,
    name: str = "scene",
    folder: Path | None = None,
    catalogues: Iterable[Path] = (),
) -> Scene:
    """Like `load_scene`, for a scene held as text.

    Raises:
        InputError: with every fault found.
    """
    return _scene(parse_source(text, name), folder or Path(), catalogues)


def _scene(source: Source, folder: Path, catalogues: Iterable[Path]) -> Scene:
    spec = _spec(source, folder)
    catalogue = builtin_catalogue()
    for extra in catalogues:
        catalogue = catalogue.with_file(read_catalogue_file(extra))
    catalogue = _with_own_files(catalogue, spec, source, folder)
    found = resolve(spec, catalogue, source.name)
    if isinstance(found, Scene):
        bodies = scene_bodies(found)
        if isinstance(bodies, Mapping):
            return replace(found, catalogue=found.catalogue.with_bodies(bodies))
        found = bodies
    raise InputError(tuple(_fault(problem, source) for problem in found))


def _spec(source: Source, folder: Path) -> SceneSpec:
    raw = source.root.plain()
    unit = raw.get("units") if isinstance(raw, dict) else None
    known = Unit(unit) if unit in {u.value for u in Unit} else Unit.MM
    try:
        return SceneSpec.model_validate(raw, context={"unit": known, "folder": folder})
    except ValidationError as error:
        raise InputError(faults_from(error, source, SceneSpec)) from None


def _with_own_files(
    catalogue: Catalogue, spec: SceneSpec, source: Source, folder: Path
) -> Catalogue:
    faults: list[Fault] = []
    for i, text in enumerate(spec.catalogue):
        try:
            catalogue = catalogue.with_file(read_catalogue_file(inside(folder, text)))
        except ValueError as error:
            problem = Problem(("catalogue", i), str(error), "a file in the scene's own folder")
            faults.append(_fault(problem, source))
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(tuple(faults))
    return catalogue


def _fault(problem: Problem, source: Source) -> Fault:
    line, column, value = source.locate(problem.loc)
    return Fault(
        message=problem.message,
        file=source.name,
        line=line,
        column=column,
        value=value,
        expected=problem.expected,
        hint=f"did you mean '{problem.hint}'?" if problem.hint else "",
        path=path_text(problem.loc),
    )
