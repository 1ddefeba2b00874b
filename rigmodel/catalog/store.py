"""Reads catalogue files and answers what they hold.

The built-in files lie in `data/`; a user's files extend them, and an entry of the same id takes
the place of the built-in one.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeVar

from pydantic import ValidationError

from rigmodel.catalog.kinds import AnyPart, CatalogueFile, SubAssembly, Tyre
from rigmodel.catalog.tractors import TractorEntry
from rigmodel.catalog.tyre_size import TyreSize, metric_size
from rigmodel.errors import InputError
from rigmodel.reading.faults import faults_from
from rigmodel.reading.mesh_path import MeshSource
from rigmodel.reading.source import Source, read_source
from rigmodel.reading.written import line_of, written_at
from rigmodel.units import Unit

if TYPE_CHECKING:  # only its name: what lists the catalogue needs no geometry
    from meshes_generic.surface import ClosedSurface

_Value = TypeVar("_Value")

DATA = Path(__file__).parent / "data"


def nearest(word: str, choices: Iterable[str]) -> str:
    """The choice most like `word`, or an empty string when none is like it."""
    found = difflib.get_close_matches(word.lower(), list(choices), n=1, cutoff=0.4)
    return found[0] if found else ""


@dataclass(frozen=True)
class Catalogue:
    """Parts, sub-assemblies, tyres and tractors by id.

    Attributes:
        parts: parts by id.
        assemblies: sub-assemblies by id.
        tyres: tyres by designation.
        tractors: generic tractors by id.
        bodies: the bodies read from mesh files so far, by file.
        sources: the files it was read from, those that go before others last.
    """

    parts: Mapping[str, AnyPart]
    assemblies: Mapping[str, SubAssembly]
    tyres: Mapping[str, Tyre]
    tractors: Mapping[str, TractorEntry]
    bodies: Mapping[MeshSource, ClosedSurface] = field(default_factory=lambda: MappingProxyType({}))
    sources: tuple[Source, ...] = ()

    def extended(
        self,
        parts: Mapping[str, AnyPart] = MappingProxyType({}),
        assemblies: Mapping[str, SubAssembly] = MappingProxyType({}),
        tyres: Mapping[str, Tyre] = MappingProxyType({}),
        tractors: Mapping[str, TractorEntry] = MappingProxyType({}),
    ) -> Catalogue:
        """A catalogue in which the given entries are added, or replace those of the same id."""
        if not (parts or assemblies or tyres or tractors):
            return self
        return replace(
            self,
            parts=_merged(self.parts, parts),
            assemblies=_merged(self.assemblies, assemblies),
            tyres=_merged(self.tyres, tyres),
            tractors=_merged(self.tractors, tractors),
        )

    def with_bodies(self, bodies: Mapping[MeshSource, ClosedSurface]) -> Catalogue:
        """This catalogue with more bodies read from mesh files."""
        return replace(self, bodies=MappingProxyType({**self.bodies, **bodies}))

    def with_file(self, path: Path) -> Catalogue:
        """This catalogue, extended by the entries of a file.

        Raises:
            InputError: with every fault found in the file.
        """
        file, source = _read(path)
        extended = self.extended(file.parts, file.assemblies, file.tyres, file.tractors)
        return replace(extended, sources=(*self.sources, source))

    def written_at(self, kind: str, name: str, *loc: str) -> str:
        """Where an entry, or a value in it, is written, such as ``clamps.yaml:12``.

        Args:
            kind: ``parts``, ``assemblies``, ``tyres`` or ``tractors``.
            name: id of the entry.
            loc: place in the entry.

        Returns:
            The place, or an empty string where it was read from no file or nothing stands there.
        """
        for source in reversed(self.sources):
            if line_of(source, (kind, name)) is not None:
                return written_at(source, (kind, name, *loc))
        return ""

    def tyre_size(self, designation: str) -> TyreSize | None:
        """Size of a tyre by catalogue id, else from a metric designation; None if unknown."""
        entry = self.tyres.get(designation.strip())
        if entry is not None:
            return TyreSize(entry.width, entry.diameter, entry.source or "catalogue")
        return metric_size(designation)


def _merged(old: Mapping[str, _Value], new: Mapping[str, _Value]) -> Mapping[str, _Value]:
    return MappingProxyType({**old, **new}) if new else old


def read_catalogue_file(path: Path) -> CatalogueFile:
    """Reads and validates one catalogue file.

    Raises:
        InputError: with every fault found in the file.
    """
    return _read(path)[0]


def _read(path: Path) -> tuple[CatalogueFile, Source]:
    source = read_source(path)
    raw = source.root.plain()
    unit = raw.get("units") if isinstance(raw, dict) else None
    known = Unit(unit) if unit in {u.value for u in Unit} else Unit.MM
    try:
        context = {"unit": known, "folder": path.parent}
        return CatalogueFile.model_validate(raw, context=context), source
    except ValidationError as error:
        raise InputError(faults_from(error, source, CatalogueFile)) from None


@cache
def builtin_catalogue() -> Catalogue:
    """The catalogue that comes with the package (read once; immutable)."""
    empty: Mapping[str, AnyPart] = MappingProxyType({})
    catalogue = Catalogue(empty, MappingProxyType({}), MappingProxyType({}), MappingProxyType({}))
    for path in sorted(DATA.glob("*.yaml")):
        catalogue = catalogue.with_file(path)
    return catalogue
