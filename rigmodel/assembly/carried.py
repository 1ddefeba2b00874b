"""What the bar carries, and all that it is made from: it stays the same under another tractor."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from rigmodel.assembly.model import Adjustment, Frame, Part
from rigmodel.assembly.rig import ClampPlace, StationPlace, ToolPlace
from rigmodel.assembly.soil import SoilProfile
from rigmodel.catalog.kinds import SquareTube
from rigmodel.catalog.store import Catalogue
from rigmodel.spec.resolve import PlannedStation, Scene
from rigmodel.spec.scene import Toolbar


@dataclass(frozen=True, eq=False)
class RigPlan:
    """All of a scene that its stations are put together from; they are shown nothing else.

    Attributes:
        catalogue: all parts they may use.
        toolbar: the bar as written.
        tube: its section.
        soil: the ground.
        keep_out_mm: half-width of the rows' bands.
        shank_end_mm: what a shank keeps free at its ends.
        error_mm: how far a clamp may stand beside its place, each way.
        stations: the stations, in the scene's order.
        bar: index of the bar's frame in the mechanism.
        first: index of the first frame that they add.
    """

    catalogue: Catalogue
    toolbar: Toolbar
    tube: SquareTube
    soil: SoilProfile
    keep_out_mm: float
    shank_end_mm: float
    error_mm: float
    stations: tuple[PlannedStation, ...]
    bar: int
    first: int

    @classmethod
    def of(cls, scene: Scene, soil: SoilProfile, bar: int, first: int) -> RigPlan:
        """What a scene says of its stations, hung on a frame."""
        spec = scene.spec
        holes = scene.tube.hole_pitch is not None
        error = spec.tolerances.hole_play or 0.0 if holes else spec.tolerances.setting
        return cls(
            scene.catalogue,
            spec.toolbar,
            scene.tube,
            soil,
            spec.rows.keep_out,
            spec.limits.shank_end,
            error,
            scene.stations,
            bar,
            first,
        )

    def same_as(self, other: RigPlan) -> bool:
        """Whether the same comes of both."""
        return self._content() == other._content()

    def _content(self) -> tuple[object, ...]:
        stations = [(p.index, p.spec, p.unit, p.places) for p in self.stations]
        return tuple(stations if k == "stations" else v for k, v in vars(self).items())


@dataclass(frozen=True, eq=False)
class Carried:
    """All stations of a rig, put together.

    Attributes:
        frames: their frames, for the end of the mechanism's.
        parts: their parts, finished.
        on_bar: names of those that are bolted to the bar.
        stations: the stations.
        tools: every tool that works the soil.
        clamps: what holds them on the bar.
        adjustments: what the fitter sets.
    """

    frames: tuple[Frame, ...]
    parts: tuple[Part, ...]
    on_bar: tuple[str, ...]
    stations: tuple[StationPlace, ...]
    tools: tuple[ToolPlace, ...]
    clamps: tuple[ClampPlace, ...]
    adjustments: tuple[Adjustment, ...]


def bolted(
    parts: Sequence[Part], pairs: Iterable[tuple[str, str]], others: Iterable[str] = ()
) -> tuple[Part, ...]:
    """Parts that know what they are bolted to: every pair from both sides.

    Args:
        parts: the parts.
        pairs: names of two that are bolted together; pairs of anything else do not count.
        others: names of parts that are not among them and may be bolted to them.
    """
    partners: dict[str, set[str]] = {part.name: set() for part in parts}
    known = partners.keys() | set(others)
    for one, other in pairs:
        for name, partner in ((one, other), (other, one)):
            if name in partners and partner in known:
                partners[name].add(partner)
    return tuple(
        replace(part, bolted_to=frozenset(partners[part.name])) if partners[part.name] else part
        for part in parts
    )
