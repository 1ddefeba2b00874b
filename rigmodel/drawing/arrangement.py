"""Two sheets of three views: the rig on its tractor, and the rig by itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from rigmodel.assembly.rig import ToolPlace
from rigmodel.drawing.lettering import text_width
from rigmodel.drawing.model import Drawn
from rigmodel.drawing.outline import Look
from rigmodel.drawing.placing import Views, titled
from rigmodel.drawing.primitives import (
    LETTER_MM,
    Item,
    Layer,
    Point,
    Polyline,
    Words,
)
from rigmodel.drawing.sheet import Box
from rigmodel.drawing.tiers import Side, Span, grouped, ring_rows, rings, tiered
from rigmodel.units import format_setting

ABOVE, BEHIND, RIGHT = "From above", "From behind", "From the right"


class Arrangement:
    """The views of both sheets, made at any scale.

    Args:
        drawn: what is drawn.
        room: width of the sheet's room, mm on paper.
    """

    def __init__(self, drawn: Drawn, room: float) -> None:
        self.drawn = drawn
        self.assembly = drawn.assembly
        self.scene = drawn.assembly.scene
        self.unit = self.scene.unit
        self._room = room

    def on_tractor(self, scale: int) -> Views:
        """The rig on its tractor: tracks, wheelbase, heights, widths."""
        return (
            titled(ABOVE, self._tractor_above(scale), scale),
            titled(BEHIND, self._tractor_behind(scale), scale),
            titled(RIGHT, self._tractor_right(scale), scale),
        )

    def rig(self, scale: int) -> Views:
        """The rig by itself: rows, ranks, depths, working widths."""
        return (
            titled(ABOVE, self._rig_above(scale), scale),
            titled(BEHIND, self._rig_behind(scale), scale),
            titled(RIGHT, self._rig_right(scale), scale),
        )

    def tractor_notes(self) -> tuple[str, ...]:
        """What the first sheet says in words."""
        say, scene = self.scene.say, self.scene
        low, high = scene.lift_range_mm
        tyres = "; ".join(
            f"{axle.name} tyres {say(axle.tyre.width_mm)} wide, {say(axle.tyre.diameter_mm)} high"
            for axle in scene.axles
        )
        return (
            f"Tyres unloaded: {tyres}.",
            f"The lift carries the bar's centre from {say(low)} to {say(high)} over the soil.",
            *self._level_note(),
        )

    def rig_notes(self) -> tuple[str, ...]:
        """What the second sheet says in words."""
        keep = self.scene.say(self.scene.spec.rows.keep_out)
        return (
            "Numbers in rings are the stations of the table on the bar's sheet.",
            f"The thin boxes over the soil are the bands kept free, {keep} each side of a row.",
            "Distances behind or ahead are to the middle of what works the soil.",
            *self._level_note(),
        )

    def _level_note(self) -> tuple[str, ...]:
        bar = self.scene.spec.toolbar
        if not bar.roll and not bar.pitch:
            return ()
        return (
            f"Drawn with the bar level; in the scene it rolls {bar.roll:g}° and pitches "
            f"{bar.pitch:g}°.",
        )

    # the rig on its tractor

    def _tractor_above(self, scale: int) -> Iterator[Item]:
        """Forward is to the right here, over the view from the right."""
        drawn = self.drawn
        yield from drawn.tractor(Look.PLAN)
        yield from drawn.rig(Look.PLAN)
        box = drawn.box(Look.PLAN, self.assembly.mechanism.parts)
        ends = ((box.left - 3.0 * scale, 0.0), (box.right + 3.0 * scale, 0.0))
        yield Polyline(ends, Layer.CENTRE)
        for axle in self.scene.axles:
            half = axle.track_mm / 2.0
            span = Span((axle.x_mm, -half), (axle.x_mm, half), f"{axle.name} track <>")
            side, edge = (Side.LEFT, box.left) if axle.name == "rear" else (Side.RIGHT, box.right)
            yield from tiered([span], side, edge, scale, self.unit)

    def _tractor_behind(self, scale: int) -> Iterator[Item]:
        drawn, scene = self.drawn, self.scene
        bar = scene.spec.toolbar
        yield from drawn.tractor(Look.BEHIND)
        yield from drawn.rig(Look.BEHIND)
        box = drawn.box(Look.BEHIND, self.assembly.mechanism.parts)
        yield from self._soil_across(box, scale)
        rig = drawn.box(Look.BEHIND, self.assembly.rig_parts())
        floor = scene.floor_mm
        heights = [Span((box.left, 0.0), (-bar.offset - bar.length / 2.0, bar.height), "bar <>")]
        heights += self._under_frame(box.left)
        yield from tiered(heights, Side.LEFT, box.left, scale, self.unit)
        ends = self._bar_ends()
        widths = [Span((ends[0], bar.height), (ends[1], bar.height), "bar <>")]
        widths += self._over_all(rig)
        whole = drawn.box(Look.BEHIND, drawn.tractor_parts)
        widths.append(Span((whole.left, floor), (whole.right, floor), "over the tyres <>"))
        yield from tiered(widths, Side.BELOW, box.bottom, scale, self.unit)

    def _under_frame(self, left: float) -> Iterator[Span]:
        """The room under the frame, unless a body from a mesh file stands in its place."""
        if any(part.name == "tractor.frame" for part in self.drawn.tractor_parts):
            floor, frame = self.scene.floor_mm, self.scene.tractor.frame
            edge = (-frame.offset - frame.width / 2.0, floor + frame.clearance)
            yield Span((left, floor), edge, "under frame <>")

    def _tractor_right(self, scale: int) -> Iterator[Item]:
        drawn, scene = self.drawn, self.scene
        yield from drawn.tractor(Look.RIGHT)
        yield from drawn.rig(Look.RIGHT)
        box = drawn.box(Look.RIGHT, self.assembly.mechanism.parts)
        yield from self._soil_along(box)
        rig = drawn.box(Look.RIGHT, self.assembly.rig_parts())
        ahead = scene.tractor.toolbar_ahead
        height = scene.spec.toolbar.height
        lines = [Span((0.0, 0.0), (a.x_mm, 0.0), "wheelbase <>") for a in scene.axles[1:]]
        lines.append(Span((0.0, 0.0), (ahead, height), "bar to rear axle <>"))
        lines.append(Span((rig.left, rig.bottom), (rig.right, rig.bottom), "rig <>"))
        yield from tiered(lines, Side.BELOW, box.bottom, scale, self.unit)

    # the rig by itself

    def _rig_above(self, scale: int) -> Iterator[Item]:
        drawn, rows = self.drawn, self.assembly.rows
        yield from drawn.rig(Look.ABOVE)
        box = drawn.box(Look.ABOVE, self.assembly.rig_parts())
        low, high = box.bottom - 2.0 * scale, box.top + 2.0 * scale
        free = float("-inf")
        for row in rows:
            yield Polyline(((-row.y_mm, low), (-row.y_mm, high)), Layer.CENTRE)
            start = -row.y_mm / scale + 0.8
            if start > free:  # rows too close for every name are named where there is room
                yield Words(row.name, (start * scale, low - 1.6 * scale))
                free = start + text_width(row.name, LETTER_MM) + 0.8
        offset, ahead = self.scene.spec.toolbar.offset, self.scene.tractor.toolbar_ahead
        clamps = [(-(offset + station.place_mm), ahead) for _, station in drawn.numbered]
        yield from rings(clamps, box.top + 7.0 * scale, 1, self._room, scale)
        ends = self._bar_ends()
        yield from tiered(
            [Span((ends[0], ahead), (ends[1], ahead), "bar <>")],
            Side.ABOVE,
            box.top,
            scale,
            self.unit,
            skipped=ring_rows(len(clamps), self._room),
        )
        gaps = [Span((-a.y_mm, low), (-b.y_mm, low)) for a, b in pairwise(rows)]
        spans = list(gaps) if len(rows) <= 6 else list(grouped(gaps, upright=False))
        if len(rows) > 2:
            spans.append(Span((-rows[0].y_mm, low), (-rows[-1].y_mm, low), "rows <>"))
        middle = (rows[0].y_mm + rows[-1].y_mm) / 2.0
        if abs(middle) > 0.05:
            spans.append(Span((0.0, low), (-rows[0].y_mm, low), "row1 to tractor's centre <>"))
            yield from self._middle(box, scale)
        yield from tiered(spans, Side.BELOW, low, scale, self.unit)

    def _rig_behind(self, scale: int) -> Iterator[Item]:
        drawn, scene = self.drawn, self.scene
        bar = scene.spec.toolbar
        yield from drawn.rig(Look.BEHIND)
        box = drawn.box(Look.BEHIND, self.assembly.rig_parts())
        yield from self._soil_across(box, scale)
        rows = scene.spec.rows
        band = max(rows.band_height, rows.plants.height)
        for row in self.assembly.rows:
            left, right = -row.y_mm - row.keep_out_mm, -row.y_mm + row.keep_out_mm
            low, high = row.soil_mm, row.soil_mm + band
            ring = ((left, low), (left, high), (right, high), (right, low))
            yield Polyline(ring, Layer.ADJACENT)
            line = ((-row.y_mm, box.bottom - 2.0 * scale), (-row.y_mm, box.top + 2.0 * scale))
            yield Polyline(line, Layer.CENTRE)
        yield from tiered(
            [Span((box.left, 0.0), (self._bar_ends()[0], bar.height), "bar <>")],
            Side.LEFT,
            box.left,
            scale,
            self.unit,
        )
        spans = [*self._pair_gaps(), *self._tool_widths()]
        spans += self._over_all(box)
        furrow = min(z for _, z in self.assembly.soil.corners(max(-box.left, box.right)))
        edge = min(box.bottom, furrow) - 2.0 * scale
        yield from tiered(spans, Side.BELOW, edge, scale, self.unit)

    def _pair_gaps(self) -> Sequence[Span]:
        """The gaps between the inner edges of the pairs at the rows."""
        found = []
        for i in range(len(self.assembly.rows)):
            pair = [
                tool
                for tool in self.assembly.tools
                if self.assembly.station[tool.station].row == i
                and self.assembly.station[tool.station].pair_gap_mm is not None
            ]
            left = [t for t in pair if self.assembly.station[t.station].side > 0]
            right = [t for t in pair if self.assembly.station[t.station].side < 0]
            for one, other in zip(left, right, strict=False):
                bottom = one.soil_mm - one.depth_mm
                found.append(Span((-one.low_mm, bottom), (-other.high_mm, bottom), "gap <>"))
        return grouped(found, upright=False)

    def _tool_widths(self) -> Sequence[Span]:
        """The working width of each different tool that is not one of a pair."""
        alone = [
            tool
            for tool in self.assembly.tools
            if self.assembly.station[tool.station].pair_gap_mm is None
        ]
        return grouped([self._width(tool) for tool in alone], upright=False)

    def _width(self, tool: ToolPlace) -> Span:
        bottom = tool.soil_mm - tool.depth_mm
        return Span((-tool.high_mm, bottom), (-tool.low_mm, bottom))

    def _rig_right(self, scale: int) -> Iterator[Item]:
        drawn = self.drawn
        yield from drawn.rig(Look.RIGHT)
        box = drawn.box(Look.RIGHT, self.assembly.rig_parts())
        yield from self._soil_along(box)
        ahead = self.scene.tractor.toolbar_ahead
        height = self.scene.spec.toolbar.height
        places: dict[str, Point] = {}
        depths: dict[str, Span] = {}
        for tool in self.assembly.tools:
            x, bottom = drawn.tool_ahead(tool), tool.soil_mm - tool.depth_mm
            places.setdefault(format_setting(x - ahead, self.unit), (x, bottom))
            span = Span((box.right, tool.soil_mm), (x, bottom), "depth <>")
            depths.setdefault(format_setting(tool.depth_mm, self.unit), span)
        for x, bottom in places.values():
            yield Polyline(((x, bottom - scale), (x, bottom + 6.0 * scale)), Layer.CENTRE)
        yield Polyline(((ahead, height - 5.0 * scale), (ahead, height + 5.0 * scale)), Layer.CENTRE)
        spans = [Span((ahead, box.bottom), place) for place in places.values()]
        spans += self._ranks()
        yield from tiered(spans, Side.BELOW, box.bottom, scale, self.unit)
        yield from tiered(depths.values(), Side.RIGHT, box.right, scale, self.unit)

    def _ranks(self) -> Iterator[Span]:
        """The distance between two ranks of the same tool."""
        seen: dict[tuple[str, float], Point] = {}
        for tool in self.assembly.tools:
            item = self.assembly.mechanism.part(tool.part).item
            rank = self.assembly.station[tool.station].rank_mm
            place = (self.drawn.tool_ahead(tool), tool.soil_mm - tool.depth_mm)
            seen.setdefault((item, round(rank, 3)), place)
        for (item, rank), place in seen.items():
            base = seen.get((item, 0.0))
            if rank and base is not None and abs(abs(place[0] - base[0]) - abs(rank)) < 0.05:
                yield Span(base, place, "rank <>")

    # what several views share

    def _bar_ends(self) -> tuple[float, float]:
        bar = self.scene.spec.toolbar
        return -bar.offset - bar.length / 2.0, -bar.offset + bar.length / 2.0

    def _over_all(self, box: Box) -> Iterator[Span]:
        """The rig's width, where it is not the bar's."""
        left, right = self._bar_ends()
        if max(abs(box.left - left), abs(box.right - right)) > 0.05:
            yield Span((box.left, box.bottom), (box.right, box.bottom), "over all <>")

    def _middle(self, box: Box, scale: int) -> Iterator[Item]:
        """The tractor's centre line, seen from above."""
        ends = ((0.0, box.bottom - 3.0 * scale), (0.0, box.top + 3.0 * scale))
        yield Polyline(ends, Layer.CENTRE)

    def _soil_across(self, box: Box, scale: int) -> Iterator[Item]:
        reach = max(-box.left, box.right) + 3.0 * scale
        corners = self.assembly.soil.corners(reach)
        yield Polyline(tuple((-y, z) for y, z in reversed(corners)), Layer.SOIL)

    def _soil_along(self, box: Box) -> Iterator[Item]:
        yield Polyline(((box.left, 0.0), (box.right, 0.0)), Layer.SOIL)
