"""Sub-assemblies put together once: found again at other places, and in later assemblies."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from rigmodel.assembly.station import Stand
from rigmodel.assembly.template import build_template
from rigmodel.catalog.kinds import AnyPart, MeshPart, SubAssembly, walk
from rigmodel.recent import Recent
from rigmodel.spec.resolve import PlannedStation, Scene

_KEPT = 300  # sub-assemblies that are kept


class Workbench:
    """Keeps sub-assemblies by all that they are made from, from one assembly to the next."""

    def __init__(self) -> None:
        self._stands: Recent[Hashable, Stand] = Recent(_KEPT)

    def stand(self, scene: Scene, planned: PlannedStation, rank: float) -> Stand:
        """A station's sub-assembly on the scene's bar at a rank in mm.

        Raises:
            PartError: a part's dimensions make no solid.
        """
        unit, front = planned.unit, planned.spec.face == "front"
        end = scene.spec.limits.shank_end
        size = scene.tube.size
        key = (unit, size, rank, front, end, tuple(_content(scene, unit)))
        return self._stands.get(key) or self._stands.keep(
            key,
            Stand(
                build_template(
                    unit, scene.catalogue.parts, scene.catalogue.bodies, size, rank, front, end
                )
            ),
        )


def _content(scene: Scene, unit: SubAssembly) -> Iterator[Hashable]:
    """Every part that a sub-assembly may use."""
    for item in _items(unit):
        part: AnyPart = scene.catalogue.parts[item]
        yield part
        if isinstance(part, MeshPart):
            yield scene.catalogue.bodies[part.source]


def _items(unit: SubAssembly) -> Iterator[str]:
    yield unit.mount
    if unit.rank_mount is not None:
        yield unit.rank_mount.clamp
        yield unit.rank_mount.tube
    for node in walk(unit.tool):
        yield node.part
