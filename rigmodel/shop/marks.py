"""Marks: where each clamp goes on the bar, and what the fitter sets on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.assembly.model import Adjustment, Role
from rigmodel.assembly.rig import Assembly, ClampPlace, StationPlace, ToolPlace
from rigmodel.catalog.kinds import FlatShank, RigidHolder, RoundShank, SpringHolder, SquareTube
from rigmodel.shop.items import Item, items

SAME_MM = 0.5  # a tool's centre this near to its clamp's is the same mark


@dataclass(frozen=True)
class ShankSetting:
    """How a shank stands in its holder.

    Attributes:
        name: the shank.
        slide_mm: from its foot up to the middle of its holder.
        above_mm: how much of it shows above the holder.
        hole: hole counted from the lowest setting, from 1; None where it has none.
        in_range: whether the shank is long enough.
    """

    name: str
    slide_mm: float
    above_mm: float
    hole: int | None
    in_range: bool


@dataclass(frozen=True)
class ToolMark:
    """One tool on a clamp.

    Attributes:
        name: the tool.
        centre_mm: middle of its working width from the bar's centre, left positive.
        differs: whether that is not the clamp's own mark.
        shank: how its shank is set, or None.
        arm_deg: angle its arm rides at, 0 level to the rear and negative down; or None.
    """

    name: str
    centre_mm: float
    differs: bool
    shank: ShankSetting | None
    arm_deg: float | None


@dataclass(frozen=True)
class Mark:
    """One clamp on the bar.

    Attributes:
        station: its station.
        part_id: catalogue id of the clamp.
        centre_mm: middle from the bar's centre, left positive.
        width_mm: length of bar it covers.
        from_left_mm: middle from the bar's left end.
        face: ``rear`` or ``front``.
        hole: hole of a perforated bar counted from the one at its centre, left positive; or None.
        rank_mm: ahead (+) or behind (-) of its place on the bar.
        rank_hole: hole of the cross tube under the bar's middle, counted from the end that
            carries the tool, from 1; or None.
        tools: what it carries.
    """

    station: str
    part_id: str
    centre_mm: float
    width_mm: float
    from_left_mm: float
    face: str
    hole: int | None
    rank_mm: float
    rank_hole: int | None
    tools: tuple[ToolMark, ...]

    @property
    def left_edge_mm(self) -> float:
        """Left edge from the bar's centre, left positive."""
        return self.centre_mm + self.width_mm / 2.0

    @property
    def right_edge_mm(self) -> float:
        """Right edge from the bar's centre, left positive."""
        return self.centre_mm - self.width_mm / 2.0


@dataclass(frozen=True)
class StrutMark:
    """One strut, as it is set.

    Attributes:
        name: the strut.
        tube_id: catalogue id of its tube.
        clamp_id: catalogue id of the clamp that its foot is pinned to.
        centre_mm: middle of that clamp from the bar's centre, left positive.
        from_left_mm: the same from the bar's left end.
        width_mm: length of bar that it covers.
        top_mm: its upper pin ahead of the bar's centre, left of it and over it.
        pins_mm: from pin to pin.
        cut_mm: cut length of its tube.
    """

    name: str
    tube_id: str
    clamp_id: str
    centre_mm: float
    from_left_mm: float
    width_mm: float
    top_mm: tuple[float, float, float]
    pins_mm: float
    cut_mm: float

    @property
    def end_mm(self) -> float:
        """From either end of its tube to the pin's hole."""
        return (self.cut_mm - self.pins_mm) / 2.0


def strut_marks(assembly: Assembly) -> tuple[StrutMark, ...]:
    """Every strut, in the scene's order."""
    half, part = assembly.scene.spec.toolbar.length / 2.0, assembly.mechanism.part
    return tuple(
        StrutMark(
            one.name,
            part(one.name).item,
            part(one.clamp.part).item,
            one.clamp.centre_mm,
            half - one.clamp.centre_mm,
            one.clamp.width_mm,
            one.top_mm,
            one.length_mm,
            one.cut_mm,
        )
        for one in assembly.struts
    )


def marks(assembly: Assembly) -> tuple[Mark, ...]:
    """The clamp of every station from the bar's left end to its right end."""
    known = {item.name: item for item in items(assembly)}
    found = [_mark(assembly, clamp, known) for clamp in assembly.clamps]
    return tuple(sorted(found, key=lambda mark: (-mark.centre_mm, mark.station)))


def _mark(assembly: Assembly, clamp: ClampPlace, known: dict[str, Item]) -> Mark:
    part = assembly.mechanism.part(clamp.part)
    station = assembly.station[part.station]
    pitch = assembly.scene.tube.hole_pitch
    return Mark(
        station.name,
        part.item,
        clamp.centre_mm,
        clamp.width_mm,
        assembly.scene.spec.toolbar.length / 2.0 - clamp.centre_mm,
        clamp.face,
        None if pitch is None else round(clamp.centre_mm / pitch),
        station.rank_mm,
        _rank_hole(assembly, station, known),
        tuple(_tools(assembly, station, clamp, known)),
    )


def _tools(
    assembly: Assembly, station: StationPlace, clamp: ClampPlace, known: dict[str, Item]
) -> Iterator[ToolMark]:
    joints, offset = assembly.mechanism.joints, assembly.scene.spec.toolbar.offset
    for tool in assembly.tools:
        if tool.station != station.name:
            continue
        centre = tool.centre_mm - offset
        yield ToolMark(
            tool.part,
            centre,
            abs(centre - clamp.centre_mm) > SAME_MM,
            _shank(assembly, tool, known),
            joints[tool.arm].value if tool.arm else None,
        )


def _shank(assembly: Assembly, tool: ToolPlace, known: dict[str, Item]) -> ShankSetting | None:
    setting: Adjustment | None = assembly.adjustment.get(tool.slide)
    if setting is None:
        return None
    item = known[tool.slide.removesuffix(".slide")]
    shank, holder = item.entry, item.on
    assert isinstance(shank, FlatShank | RoundShank)
    half = holder.height / 2.0 if isinstance(holder, RigidHolder | SpringHolder) else 0.0
    hole = round((setting.value - setting.low) / setting.step) + 1 if setting.step else None
    above = shank.length - setting.value - half
    return ShankSetting(item.name, setting.value, above, hole, setting.in_range)


def _rank_hole(assembly: Assembly, station: StationPlace, known: dict[str, Item]) -> int | None:
    for name in station.parts:
        part = assembly.mechanism.part(name)
        entry = known[name].entry if name in known else None
        if part.role is not Role.TUBE or not isinstance(entry, SquareTube) or not station.rank_mm:
            continue
        if entry.hole_pitch is None:
            return None
        low, high = part.solid.extent((1.0, 0.0, 0.0))
        reach = high if station.rank_mm > 0.0 else -low
        return round((reach - entry.hole_start) / entry.hole_pitch) + 1
    return None
