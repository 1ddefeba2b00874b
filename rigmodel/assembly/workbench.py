"""Sub-assemblies put together once: found again at other places, and in later assemblies."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator

from rigmodel.assembly.carried import Carried, RigPlan
from rigmodel.assembly.station import Stand
from rigmodel.assembly.template import build_template
from rigmodel.catalog.kinds import AnyPart, MeshPart, SubAssembly, walk
from rigmodel.catalog.store import Catalogue
from rigmodel.recent import Recent
from rigmodel.spec.resolve import PlannedStation

_KEPT = 300  # sub-assemblies that are kept
_RIGS = 4  # whole rigs that are kept


class Workbench:
    """Keeps what was put together by all that it is made from, from one assembly to the next."""

    def __init__(self) -> None:
        self._stands: Recent[Hashable, Stand] = Recent(_KEPT)
        self._carried: list[tuple[RigPlan, Carried]] = []

    def carried(self, plan: RigPlan, made: Callable[[], Carried]) -> Carried:
        """All that a bar carries: what was made of an equal plan, or else is made now."""
        found = next((carried for known, carried in self._carried if known.same_as(plan)), None)
        if found is None:
            found = made()
            self._carried = [(plan, found), *self._carried[: _RIGS - 1]]
        return found

    def stand(self, plan: RigPlan, planned: PlannedStation, rank: float) -> Stand:
        """A station's sub-assembly on a rig's bar at a rank in mm.

        Raises:
            PartError: a part's dimensions make no solid.
        """
        unit, front = planned.unit, planned.spec.face == "front"
        end, size, catalogue = plan.shank_end_mm, plan.tube.size, plan.catalogue
        key = (unit, size, rank, front, end, tuple(_content(catalogue, unit)))
        return self._stands.get(key) or self._stands.keep(
            key,
            Stand(build_template(unit, catalogue.parts, catalogue.bodies, size, rank, front, end)),
        )


def _content(catalogue: Catalogue, unit: SubAssembly) -> Iterator[Hashable]:
    """Every part that a sub-assembly may use."""
    for item in _items(unit):
        part: AnyPart = catalogue.parts[item]
        yield part
        if isinstance(part, MeshPart):
            yield catalogue.bodies[part.source]


def _items(unit: SubAssembly) -> Iterator[str]:
    yield unit.mount
    if unit.rank_mount is not None:
        yield unit.rank_mount.clamp
        yield unit.rank_mount.tube
    for node in walk(unit.tool):
        yield node.part
