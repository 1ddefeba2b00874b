"""The assembled rig as the checks see it: the mechanism, and what each thing on it is for."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from meshes_generic.solid import Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Adjustment, Mechanism, Part, Pose
from rigmodel.assembly.soil import SoilProfile
from rigmodel.spec.resolve import Scene
from rigmodel.spec.scene import Plants


@dataclass(frozen=True)
class RowPlace:
    """One crop row.

    Attributes:
        name: ``row1`` is the one farthest left.
        y_mm: left of the tractor's centre.
        soil_mm: height of the soil there.
        frame: index of the row's frame in the mechanism.
        plants: the crop on the day.
        keep_out_mm: half-width of the band no steel may enter.
    """

    name: str
    y_mm: float
    soil_mm: float
    frame: int
    plants: Plants
    keep_out_mm: float


@dataclass(frozen=True)
class ToolPlace:
    """A tool that works the soil.

    Attributes:
        part: name of its part.
        station: name of its station.
        depth_mm: working depth below the soil at its place.
        soil_mm: height of the soil at its place.
        low_mm: right edge of its working width, mm left of the tractor's centre.
        high_mm: left edge of its working width.
        slide: name of the adjustment of the shank it hangs on, or an empty string.
        arm: name of the joint of the arm it hangs on, or an empty string.
        trip: name of the joint of the spring holder it hangs on, or an empty string.
    """

    part: str
    station: str
    depth_mm: float
    soil_mm: float
    low_mm: float
    high_mm: float
    slide: str = ""
    arm: str = ""
    trip: str = ""

    @property
    def centre_mm(self) -> float:
        """Middle of its working width, mm left of the tractor's centre."""
        return (self.low_mm + self.high_mm) / 2.0


@dataclass(frozen=True)
class ClampPlace:
    """What takes up a stretch of the bar.

    Attributes:
        part: name of the clamp.
        centre_mm: its middle, mm left of the bar's centre.
        width_mm: length of bar it covers.
        spanner_mm: widest spanner its fasteners take, 0 if it has none.
        nut_inset_mm: how far inside its edge the middle of its outermost nut lies.
        face: ``rear`` or ``front``; ``top`` for the clamp of a strut.
    """

    part: str
    centre_mm: float
    width_mm: float
    spanner_mm: float
    nut_inset_mm: float
    face: str


@dataclass(frozen=True)
class StationPlace:
    """One station as it stands.

    Attributes:
        name: stable name such as ``row2.left``.
        index: which station of the scene it comes from.
        line_mm: the line it is set from, mm left of the tractor's centre.
        side: +1 left of the line, -1 right of it, 0 on it.
        row: index of the row it is set from, or None.
        rank_mm: ahead (+) or behind (-) of its place on the bar itself.
        place_mm: its clamp's middle, mm left of the bar's centre.
        pair_gap_mm: gap asked between the fingers at its row, or None.
        parts: names of its parts.
        mirrored: whether it is the mirror image of its sub-assembly as written.
    """

    name: str
    index: int
    line_mm: float
    side: int
    row: int | None
    rank_mm: float
    place_mm: float
    pair_gap_mm: float | None
    parts: tuple[str, ...]
    mirrored: bool


@dataclass(frozen=True)
class StrutPlace:
    """One strut, in the bar's own axes: ahead, left and over its centre, mm.

    Attributes:
        name: stable name such as ``strut1``; it is that of its tube's part.
        index: which strut of the scene it is.
        clamp: what holds its foot on the bar.
        foot_mm: its lower pin.
        top_mm: its upper pin.
        cut_mm: cut length of its tube.
    """

    name: str
    index: int
    clamp: ClampPlace
    foot_mm: tuple[float, float, float]
    top_mm: tuple[float, float, float]
    cut_mm: float

    @property
    def length_mm(self) -> float:
        """From pin to pin."""
        return math.dist(self.foot_mm, self.top_mm)


@dataclass(frozen=True, eq=False)
class Assembly:
    """A scene put together: `assemble(scene) -> Assembly`.

    Attributes:
        scene: what it was made from.
        mechanism: frames, joints and parts.
        level_angles: angle of each arm with the bar level, by joint name.
        soil: the ground's profile.
        rows: crop rows from left to right.
        stations: stations in the scene's order.
        tools: every tool that works the soil.
        clamps: what carries the stations on the bar.
        adjustments: what the fitter sets, and the solved values.
        struts: what braces the bar, in the scene's order.
    """

    scene: Scene
    mechanism: Mechanism
    level_angles: Mapping[str, float]
    soil: SoilProfile
    rows: tuple[RowPlace, ...]
    stations: tuple[StationPlace, ...]
    tools: tuple[ToolPlace, ...]
    clamps: tuple[ClampPlace, ...]
    adjustments: tuple[Adjustment, ...]
    struts: tuple[StrutPlace, ...] = ()

    @cached_property
    def adjustment(self) -> Mapping[str, Adjustment]:
        """Every adjustment by name."""
        return MappingProxyType({a.name: a for a in self.adjustments})

    @cached_property
    def station(self) -> Mapping[str, StationPlace]:
        """Every station by name."""
        return MappingProxyType({s.name: s for s in self.stations})

    @cached_property
    def work_frames(self) -> FloatArray:
        """World transforms (n, 4, 4) of all frames at work."""
        return self.mechanism.frame_poses()

    @cached_property
    def level_pose(self) -> Pose:
        """Work, with the bar level."""
        level = {"bar.roll": 0.0, "bar.pitch": 0.0, **self.level_angles}
        return Pose("level", MappingProxyType(level))

    def at_work(self, part: Part) -> Solid:
        """A part's solid in world coordinates at work."""
        return part.solid.moved(self.work_frames[part.frame])

    @property
    def on_bar(self) -> tuple[ClampPlace, ...]:
        """Every clamp on the bar, those of its struts last."""
        return (*self.clamps, *(strut.clamp for strut in self.struts))

    def rig_parts(self) -> tuple[Part, ...]:
        """The bar, its struts and all that it carries."""
        own = {name for station in self.stations for name in station.parts}
        own |= {name for strut in self.struts for name in (strut.name, strut.clamp.part)}
        return tuple(p for p in self.mechanism.parts if p.name == "bar" or p.name in own)
