"""Reads the mesh files that a scene uses, each once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from meshes_generic.surface import ClosedSurface
from rigmodel.catalog.kinds import MeshPart, walk
from rigmodel.errors import ReadingError
from rigmodel.reading.mesh_path import MeshSource
from rigmodel.spec.problem import Loc, Problem
from rigmodel.spec.resolve import Scene


@dataclass(frozen=True)
class _Use:
    """A place in the scene that names a mesh, or a part that is one."""

    loc: Loc
    source: MeshSource
    part: str = ""


def scene_bodies(scene: Scene) -> Mapping[MeshSource, ClosedSurface] | tuple[Problem, ...]:
    """Every body that the scene's tractor and parts take from mesh files, or what is wrong."""
    uses = list(_uses(scene))
    if not uses:
        return {}
    # Reading meshes costs an import that scenes without any need not pay for.
    from rigmodel.reading.mesh_file import read_body  # noqa: PLC0415

    found: dict[MeshSource, ClosedSurface] = {}
    wrong: dict[MeshSource, Problem] = {}
    for use in uses:
        if use.source in found or use.source in wrong:
            continue
        try:
            found[use.source] = read_body(use.source)
        except ReadingError as error:
            whose = f"part '{use.part}': " if use.part else ""
            expected = "; ".join(filter(None, (error.expected, error.hint)))
            wrong[use.source] = Problem(use.loc, whose + error.problem, expected)
    return tuple(wrong.values()) if wrong else found


def _uses(scene: Scene) -> Iterator[_Use]:
    spec = scene.spec
    body = scene.tractor.body
    if body is not None:
        own = spec.tractor.body is not None
        yield _Use(("tractor", "body", "mesh") if own else ("tractor", "use"), body.source)
    for i, obstacle in enumerate(scene.tractor.obstacles):
        own = spec.tractor.obstacles is not None
        if obstacle.source is not None:
            loc: Loc = ("tractor", "obstacles", i, "mesh") if own else ("tractor", "use")
            yield _Use(loc, obstacle.source)
    for name, part in spec.parts.items():
        if isinstance(part, MeshPart):
            yield _Use(("parts", name, "file"), part.source)
    for planned in scene.stations:
        for node in walk(planned.unit.tool):
            part = scene.catalogue.parts[node.part]
            if isinstance(part, MeshPart):
                loc = ("stations", planned.index, "use" if planned.spec.use else "build")
                yield _Use(loc, part.source, node.part)
