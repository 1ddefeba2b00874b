"""Reads a scene file: `load_scene(path) -> Scene`, or one error that names every fault."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path

from pydantic import ValidationError

from rigmodel.catalog.store import Catalogue, builtin_catalogue
from rigmodel.errors import Fault, InputError, shown
from rigmodel.reading.faults import faults_from, path_text
from rigmodel.reading.fields import inside
from rigmodel.reading.source import Source, parse_source, read_source
from rigmodel.spec.bodies import scene_bodies
from rigmodel.spec.problem import Problem
from rigmodel.spec.resolve import Planner, Scene, resolve
from rigmodel.spec.scene import SceneSpec
from rigmodel.units import Unit

_UNITS = frozenset(unit.value for unit in Unit)


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
    def told(problem: Problem) -> Fault:
        return fault_of(problem, source.name, *source.locate(problem.loc))

    spec = spec_of(source.root.plain(), folder, lambda: source)
    catalogue = builtin_catalogue()
    for extra in catalogues:
        catalogue = catalogue.with_file(extra)
    catalogue = with_files(catalogue, spec.catalogue, folder, told)
    return replace(scene_of(spec, catalogue, source.name, told), source=source)


def spec_of(tree: object, folder: Path, source: Callable[[], Source]) -> SceneSpec:
    """What a scene's tree says, before it is held against the catalogue.

    Args:
        tree: lists, dicts and texts, nothing resolved.
        folder: where the scene's own files lie.
        source: the tree with its lines; asked for only where something is wrong.

    Raises:
        InputError: with every fault found.
    """
    unit = tree.get("units") if isinstance(tree, Mapping) else None
    known = Unit(unit) if isinstance(unit, str) and unit in _UNITS else Unit.MM
    try:
        return SceneSpec.model_validate(tree, context={"unit": known, "folder": folder})
    except ValidationError as error:
        raise InputError(faults_from(error, source(), SceneSpec)) from None


def with_files(
    catalogue: Catalogue, names: Iterable[str], folder: Path, told: Callable[[Problem], Fault]
) -> Catalogue:
    """A catalogue with the files that a scene names, in their order.

    Args:
        catalogue: what they add to.
        names: the files, in the scene's own folder.
        folder: that folder.
        told: makes a fault of a problem.

    Raises:
        InputError: with every fault found.
    """
    faults: list[Fault] = []
    for i, text in enumerate(names):
        try:
            path = inside(folder, text)
            if not path.exists():
                raise ValueError(f"there is no file {shown(text)} with the scene")
            catalogue = catalogue.with_file(path)
        except ValueError as error:
            expected = "a catalogue file in the scene's own folder"
            hint = _like(folder, text)
            faults.append(told(Problem(("catalogue", i), str(error), expected, hint)))
        except InputError as error:
            there = str(path)
            faults += [
                replace(f, file=str(folder / text)) if f.file == there else f for f in error.faults
            ]
    if faults:
        raise InputError(tuple(faults))
    return catalogue


def _like(folder: Path, text: str) -> str:
    """The catalogue-like file in a folder whose name is nearest to one that is not there."""
    try:
        names = [p.relative_to(folder).as_posix() for p in folder.glob("*.y*ml")]
    except OSError:
        return ""
    return next(iter(get_close_matches(text, sorted(names), 1)), "")


def scene_of(
    spec: SceneSpec,
    catalogue: Catalogue,
    origin: str,
    told: Callable[[Problem], Fault],
    planner: Planner | None = None,
) -> Scene:
    """The scene of what was written and a catalogue, with the meshes that it names.

    Args:
        spec: what was written.
        catalogue: all parts it may use.
        origin: what the scene is called in faults.
        told: makes a fault of a problem.
        planner: stations of earlier scenes; it is added to.

    Raises:
        InputError: with every fault found.
    """
    found = resolve(spec, catalogue, origin, planner)
    if isinstance(found, Scene):
        bodies = scene_bodies(found)
        if isinstance(bodies, Mapping):
            if not bodies:
                return found
            return replace(found, catalogue=found.catalogue.with_bodies(bodies))
        found = bodies
    raise InputError(tuple(told(problem) for problem in found))


def fault_of(problem: Problem, file: str, line: int = 0, column: int = 0, value: str = "") -> Fault:
    """The fault that a problem of a scene is, at its place in a file."""
    return Fault(
        message=problem.message,
        file=file,
        line=line,
        column=column,
        value=value,
        expected=problem.expected,
        hint=f"did you mean '{problem.hint}'?" if problem.hint else "",
        path=path_text(problem.loc),
    )
