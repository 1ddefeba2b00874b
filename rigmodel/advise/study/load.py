"""Scenes of cases: nothing is parsed twice, and each catalogue or mesh file is read once."""

from __future__ import annotations

import json
import shutil
import tempfile
import weakref
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from rigmodel.catalog.store import Catalogue, builtin_catalogue, read_catalogue_file
from rigmodel.errors import Fault, InputError
from rigmodel.reading.faults import faults_from, path_text
from rigmodel.reading.fields import inside
from rigmodel.reading.source import parse_source
from rigmodel.recent import Recent
from rigmodel.spec.bodies import scene_bodies
from rigmodel.spec.problem import Problem
from rigmodel.spec.resolve import Scene, resolve
from rigmodel.spec.scene import SceneSpec
from rigmodel.units import Unit

_CATALOGUES = 50
_UNITS = {unit.value for unit in Unit}


class SceneLoader:
    """Makes scenes from trees; catalogues are kept from one to the next.

    Args:
        files: every file that a scene may refer to, by its path in the scene's folder.
        catalogues: which of them are catalogues given beside the scene.
    """

    def __init__(
        self, files: Iterable[tuple[str, bytes]], catalogues: tuple[str, ...] = ()
    ) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="rigmodel-study-"))
        weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)
        self._given = catalogues
        for name, data in files:
            path = self._folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        self._catalogues: Recent[tuple[str, ...], Catalogue] = Recent(_CATALOGUES)

    def scene(self, tree: Mapping[str, Any], origin: str) -> Scene:
        """The scene of a tree of lists, dicts and texts, as `load_scene` would make it.

        Raises:
            InputError: with every fault found.
        """
        spec = self.spec(tree, origin)
        found = resolve(spec, self._catalogue(spec.catalogue, origin), origin)
        if isinstance(found, Scene):
            bodies = scene_bodies(found)
            if isinstance(bodies, Mapping):
                if not bodies:
                    return found
                return replace(found, catalogue=found.catalogue.with_bodies(bodies))
            found = bodies
        raise InputError(_fault(problem, origin) for problem in found)

    def spec(self, tree: Mapping[str, Any], origin: str) -> SceneSpec:
        """What a tree says, before it is held against the catalogue.

        Raises:
            InputError: with every fault found.
        """
        unit = tree.get("units")
        known = Unit(unit) if isinstance(unit, str) and unit in _UNITS else Unit.MM
        try:
            return SceneSpec.model_validate(tree, context={"unit": known, "folder": self._folder})
        except ValidationError as error:
            source = parse_source(json.dumps(tree, ensure_ascii=False), origin)
            raise InputError(faults_from(error, source, SceneSpec)) from None

    def _catalogue(self, names: tuple[str, ...], origin: str) -> Catalogue:
        return self._catalogues.get(names) or self._catalogues.keep(
            names, self._read(names, origin)
        )

    def _read(self, names: tuple[str, ...], origin: str) -> Catalogue:
        catalogue = builtin_catalogue()
        faults: list[Fault] = []
        for i, name in enumerate((*self._given, *names)):
            try:
                catalogue = catalogue.with_file(read_catalogue_file(inside(self._folder, name)))
            except ValueError as error:
                place = ("catalogue", i - len(self._given))
                wanted = "a file in the scene's own folder"
                faults.append(_fault(Problem(place, str(error), wanted), origin))
            except InputError as error:
                faults += error.faults
        if faults:
            raise InputError(faults)
        return catalogue


def _fault(problem: Problem, origin: str) -> Fault:
    return Fault(
        message=problem.message,
        file=origin,
        line=0,
        column=0,
        value="",
        expected=problem.expected,
        hint=f"did you mean '{problem.hint}'?" if problem.hint else "",
        path=path_text(problem.loc),
    )
