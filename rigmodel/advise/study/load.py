"""Scenes of cases: nothing is read twice, neither catalogue nor mesh file nor equal sections."""

from __future__ import annotations

import json
import shutil
import tempfile
import weakref
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

from rigmodel.catalog.store import Catalogue, builtin_catalogue
from rigmodel.errors import Fault
from rigmodel.reading.fields import inside
from rigmodel.reading.source import parse_source
from rigmodel.recent import Recent
from rigmodel.spec.load import fault_of, scene_of, spec_of, with_files
from rigmodel.spec.problem import Problem
from rigmodel.spec.resolve import Planner, Scene
from rigmodel.spec.scene import SceneSpec

_CATALOGUES = 50
_SECTIONS = 500
# Sections that are models, or lists of them: those are taken as they are, and not read again.
_MODELS = frozenset({"rows", "soil", "tractor", "toolbar", "stations", "limits", "tolerances"})


class SceneLoader:
    """Makes scenes from trees; catalogues and sections are kept from one to the next.

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
        self._planner = Planner()
        self._sections: Recent[tuple[str, str, str], object] = Recent(_SECTIONS)

    def scene(self, tree: Mapping[str, Any], origin: str) -> Scene:
        """The scene of a tree of lists, dicts and texts, as `load_scene` would make it.

        Raises:
            InputError: with every fault found.
        """
        spec = self.spec(tree, origin)
        catalogue = self._catalogue(spec.catalogue, origin)
        return scene_of(spec, catalogue, origin, _told(origin), self._planner)

    def spec(self, tree: Mapping[str, Any], origin: str) -> SceneSpec:
        """What a tree says, before it is held against the catalogue.

        Raises:
            InputError: with every fault found.
        """
        places = {name: self._place(tree, name) for name in tree if name in _MODELS}
        known = {name: self._sections.get(place) for name, place in places.items()}
        spec = spec_of(
            {**tree, **{name: section for name, section in known.items() if section is not None}},
            self._folder,
            lambda: parse_source(json.dumps(tree, ensure_ascii=False), origin),
        )
        for name, place in places.items():
            if known[name] is None:
                self._sections.keep(place, getattr(spec, name))
        return spec

    def _place(self, tree: Mapping[str, Any], name: str) -> tuple[str, str, str]:
        """Where a section of a scene is kept: by its text, and the unit that it is read in."""
        return str(tree.get("units")), name, json.dumps(tree[name])

    def _catalogue(self, names: tuple[str, ...], origin: str) -> Catalogue:
        return self._catalogues.get(names) or self._catalogues.keep(
            names, self._read(names, origin)
        )

    def _read(self, names: tuple[str, ...], origin: str) -> Catalogue:
        catalogue = builtin_catalogue()
        for name in self._given:
            catalogue = catalogue.with_file(inside(self._folder, name))
        return with_files(catalogue, names, self._folder, _told(origin))


def _told(origin: str) -> Callable[[Problem], Fault]:
    """Makes faults without lines: a case's scene stands in no file."""
    return partial(fault_of, file=origin)
