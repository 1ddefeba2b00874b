"""The assembly as the drawings see it: with the bar level, part by part, from three sides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.fingers import working_part
from rigmodel.assembly.model import TRACTOR_ROLES, Part
from rigmodel.assembly.rig import Assembly, StationPlace, ToolPlace
from rigmodel.drawing.hidden import chained, visible_edges
from rigmodel.drawing.outline import Look, Seen, Silhouette
from rigmodel.drawing.primitives import Item, Layer, Polyline, Segments
from rigmodel.drawing.sheet import Box, around


@dataclass(eq=False)
class Drawn:
    """An assembly, with what has been projected so far.

    Attributes:
        assembly: what is drawn.
    """

    assembly: Assembly
    _edges: dict[tuple[Look, str], Segments] = field(default_factory=dict)
    _solids: dict[str, Solid] = field(default_factory=dict)
    _boxes: dict[tuple[Look, str], Box] = field(default_factory=dict)
    _rings: dict[Look, tuple[Item, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Places every frame with the bar level."""
        mechanism = self.assembly.mechanism
        self._frames: FloatArray = mechanism.frame_poses(self.assembly.level_pose)

    def solid(self, part: Part) -> Solid:
        """A part's solid in world axes, the bar level."""
        if part.name not in self._solids:
            self._solids[part.name] = part.solid.moved(self._frames[part.frame])
        return self._solids[part.name]

    @property
    def tractor_parts(self) -> tuple[Part, ...]:
        """Tyres, frame and obstacles."""
        return tuple(p for p in self.assembly.mechanism.parts if p.role in TRACTOR_ROLES)

    def rig(self, look: Look) -> tuple[Item, ...]:
        """Visible edges of the rig."""
        return self._visible(look, "rig", self.assembly.rig_parts())

    def on_bar(self, look: Look) -> tuple[Item, ...]:
        """Visible edges of the bar and its clamps."""
        clamps = {clamp.part for clamp in self.assembly.on_bar}
        parts = [p for p in self.assembly.rig_parts() if p.name == "bar" or p.name in clamps]
        return self._visible(look, "bar", parts)

    def _visible(self, look: Look, key: str, parts: Iterable[Part]) -> tuple[Item, ...]:
        if (look, key) not in self._edges:
            if look is Look.PLAN:  # what ABOVE sees, turned
                (above,) = self._visible(Look.ABOVE, key, parts)
                assert isinstance(above, Segments)
                lines = tuple(tuple((v, -u) for u, v in line) for line in above.lines)
            else:
                seen = Seen(look).solids(self.solid(part) for part in parts)
                lines = chained(visible_edges(seen))
            self._edges[look, key] = Segments(lines)
        return (self._edges[look, key],)

    def tractor(self, look: Look) -> tuple[Item, ...]:
        """Outlines of the tractor, nothing hidden."""
        if look not in self._rings:
            seen = Seen(look).solids(self.solid(part) for part in self.tractor_parts)
            self._rings[look] = tuple(map(_outline, seen))
        return self._rings[look]

    def box(self, look: Look, parts: Iterable[Part]) -> Box:
        """Room that parts take in a view, mm of the real thing."""
        return around(self._box(look, part) for part in parts)

    def _box(self, look: Look, part: Part) -> Box:
        if (look, part.name) not in self._boxes:
            across, up, _ = look.value
            solid = self.solid(part)
            (left, right), (bottom, top) = solid.extent(across), solid.extent(up)
            self._boxes[look, part.name] = Box(left, bottom, right, top)
        return self._boxes[look, part.name]

    def tool_ahead(self, tool: ToolPlace) -> float:
        """Middle of what of a tool works the soil, mm ahead of the rear axle."""
        part = self.assembly.mechanism.part(tool.part)
        low, high = working_part(part).moved(self._frames[part.frame]).extent((1.0, 0.0, 0.0))
        return (low + high) / 2.0

    @property
    def numbered(self) -> tuple[tuple[int, StationPlace], ...]:
        """The stations with their numbers, from left to right on the bar."""
        order = sorted(self.assembly.stations, key=lambda s: (-s.place_mm, s.name))
        return tuple(enumerate(order, start=1))


def _outline(silhouette: Silhouette) -> Item:
    """What is drawn of a piece, nothing hidden; a ring where it is one, so that dashes run on."""
    starts, ends = silhouette.edges[:, 0, :2].tolist(), silhouette.edges[:, 1, :2].tolist()
    if starts[1:] == ends[:-1]:
        return Polyline(tuple(map(tuple, starts)), Layer.ADJACENT, closed=True)
    lines = tuple((tuple(a), tuple(b)) for a, b in zip(starts, ends, strict=True))
    return Segments(lines, Layer.ADJACENT)
