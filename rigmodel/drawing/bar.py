"""The bar's sheet: marks from its centre both ways, holes, stretches to keep free, section."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rigmodel.assembly.rig import StationPlace
from rigmodel.drawing.flow import GAP_MM, Flow, fitting
from rigmodel.drawing.furniture import Table
from rigmodel.drawing.lettering import on_paper
from rigmodel.drawing.model import Drawn
from rigmodel.drawing.outline import Look
from rigmodel.drawing.paint import extent
from rigmodel.drawing.placing import Views, box_of, titled
from rigmodel.drawing.primitives import (
    LETTER_MM,
    Cross,
    Hatch,
    Item,
    Layer,
    Pointer,
    Polyline,
    Words,
)
from rigmodel.drawing.sections import section_view
from rigmodel.drawing.tiers import Side, Span, ordinates, ring_rows, rings, spread, tiered
from rigmodel.sides import ahead, sided
from rigmodel.units import format_setting


class BarSheet:
    """The bar's views and the table of the stations."""

    def __init__(self, drawn: Drawn) -> None:
        self.drawn = drawn
        self.assembly = drawn.assembly
        self.scene = drawn.assembly.scene
        self.bar = self.scene.spec.toolbar
        self.tube = self.scene.tube
        self.unit = self.scene.unit
        self._room = 0.0

    def fill(self, flow: Flow) -> None:
        """Adds everything to the sheets."""
        area = flow.area
        self._room = area.width
        flow.add(fitting(self._views, area.width, area.height, self.unit))
        flow.add_left(section_view(self.tube, self.unit, "Section"))
        flow.add_table(self.table())

    def notes(self) -> tuple[str, ...]:
        """What the sheet says in words."""
        say = self.scene.say
        where = "Left and right are the driver's, facing forward. Mark from the bar's centre."
        table = (
            "Rank: ahead of its place on the bar, or behind (-). Shank set at: the holder's middle "
            "over the shank's foot."
        )
        braced = (f"{name}: {told}" for name, told in self._struts())
        if self.tube.hole_pitch is None:
            plain = "Plain tube: the clamps go round it, so there is nothing to drill."
            return (where, plain, table, *braced)
        holes = len(self.holes())
        return (
            where,
            f"{holes} holes, {say(self.tube.hole_pitch)} apart, one of them at the bar's centre. "
            "Their diameter is not in the catalogue: measure the pin.",
            table,
            *braced,
        )

    def _struts(self) -> Iterator[tuple[str, str]]:
        """Every strut with the places of its pins."""
        say = self.scene.say
        for strut in self.assembly.struts:
            x, left, up = strut.top_mm
            at = strut.clamp.centre_mm
            lean = f", {say(abs(x))} {ahead(x)}" if x else ""
            yield (
                strut.name,
                f"its foot's clamp stands on top at {sided(at, say(abs(at)))}; its upper pin is "
                f"{say(up)} over the bar's centre, at {sided(left, say(abs(left)))}{lean}; "
                f"{say(strut.length_mm)} from pin to pin.",
            )

    def holes(self) -> tuple[float, ...]:
        """Holes along the bar, mm left of its centre; they run from the centre both ways."""
        pitch = self.tube.hole_pitch
        if pitch is None:
            return ()
        most = math.floor((self.bar.length / 2.0 - 1e-6) / pitch)
        return tuple(k * pitch for k in range(most, -most - 1, -1))

    def table(self) -> Table:
        """One row for each station, in the order of the rings' numbers."""
        heads = ["no.", "station", "from the centre", "rank", "depth", "tool", "shank set at"]
        rows = [list(self._row(number, station)) for number, station in self.drawn.numbered]
        if self.tube.hole_pitch is not None:
            heads.insert(3, "hole")
            for row, (_, station) in zip(rows, self.drawn.numbered, strict=True):
                row.insert(3, sided(station.place_mm, str(self._hole(station.place_mm))))
        return Table(tuple(heads), tuple(tuple(row) for row in rows))

    def _hole(self, place: float) -> int:
        return round(abs(place) / (self.tube.hole_pitch or 1.0))

    def _row(self, number: int, station: StationPlace) -> Iterator[str]:
        tools = [t for t in self.assembly.tools if t.station == station.name]
        yield str(number)
        yield station.name
        yield sided(station.place_mm, format_setting(abs(station.place_mm), self.unit))
        yield format_setting(station.rank_mm, self.unit) if station.rank_mm else "0"
        yield ", ".join(dict.fromkeys(format_setting(t.depth_mm, self.unit) for t in tools))
        items = (self.assembly.mechanism.part(t.part).item for t in tools)
        yield ", ".join(dict.fromkeys(items))
        slides = [self.assembly.adjustment[t.slide] for t in tools if t.slide]
        yield ", ".join(dict.fromkeys(format_setting(s.value, self.unit) for s in slides))

    # views

    def _views(self, scale: int) -> Views:
        behind = titled(f"From behind (1:{scale})", self._behind(scale), scale)
        if not self._above_shows:
            return (behind,)
        above = titled(f"From above (1:{scale})", self._above(scale), scale)
        up = box_of(behind).top + GAP_MM - box_of(above).bottom
        return (above.at((0.0, up)), behind)

    @property
    def _above_shows(self) -> bool:
        """Whether the view from above has anything to show."""
        return bool(self.bar.no_clamp) or self.tube.hole_pitch is not None

    def _ends(self) -> tuple[float, float]:
        half = self.bar.length / 2.0
        return -self.bar.offset - half, -self.bar.offset + half

    def _above(self, scale: int) -> Iterator[Item]:
        """The bar alone: holes, stretches to keep free, length."""
        left, right = self._ends()
        ahead, half = self.scene.tractor.toolbar_ahead, self.tube.size / 2.0
        low, high = ahead - half, ahead + half
        yield Polyline(((left, low), (right, low), (right, high), (left, high)), closed=True)
        centre = -self.bar.offset
        yield self._centre_line(low, high, scale)
        for place in self.holes():
            yield Cross((centre - place, ahead))
        free = self.bar.no_clamp
        for stretch in free:
            one, two = centre - stretch.high, centre - stretch.low
            one, two = max(one, left), min(two, right)
            if two > one:
                ring = ((one, low), (two, low), (two, high), (one, high))
                yield Polyline(ring, Layer.HATCH, closed=True)
                yield Hatch(ring)
        marks = [(centre - edge, high) for s in free for edge in (s.low, s.high)]
        edges = ordinates(marks, (centre, high), Side.ABOVE, high, scale, self.unit, self._room)
        yield from edges
        yield from self._why(extent(edges, scale).top * scale + 3.0 * scale, scale)
        yield from tiered(self._pattern(low), Side.BELOW, low, scale, self.unit)

    def _why(self, line: float, scale: int) -> Iterator[Item]:
        """Says over the dimensions what each hatched stretch is kept free for."""
        free = sorted(self.bar.no_clamp, key=lambda s: -(s.low + s.high))
        middles = [-self.bar.offset - (s.low + s.high) / 2.0 for s in free]
        places = spread([u / scale for u in middles], LETTER_MM * 1.7)
        for stretch, place in zip(free, places, strict=True):
            face = "" if stretch.face == "any" else f" ({stretch.face} face)"
            text = on_paper(f"free: {stretch.why or 'no clamp here'}{face}")
            yield Words(text, ((place + LETTER_MM / 2.0) * scale, line), angle=90.0)

    def _pattern(self, low: float) -> Iterator[Span]:
        """The pattern of the holes."""
        left, _ = self._ends()
        holes = self.holes()
        if len(holes) > 1:
            centre = -self.bar.offset
            yield Span((centre - holes[0], low), (centre - holes[1], low), "pitch <>")
            yield Span((left, low), (centre - holes[0], low), "end to hole <>")

    def _behind(self, scale: int) -> Iterator[Item]:
        """The bar with its clamps, and the clamps' middles from the bar's centre."""
        drawn = self.drawn
        yield from drawn.on_bar(Look.BEHIND)
        names = {clamp.part for clamp in self.assembly.on_bar}
        parts = [p for p in self.assembly.rig_parts() if p.name == "bar" or p.name in names]
        box = drawn.box(Look.BEHIND, parts)
        height, centre = self.bar.height, -self.bar.offset
        yield self._centre_line(box.bottom, box.top, scale)
        top = height + self.tube.size / 2.0
        features = []
        for clamp in self.assembly.on_bar:
            u = centre - clamp.centre_mm
            features.append((u, top))
            yield Pointer((u, top), -90.0)
        zero = (centre, top)
        features.append(zero)
        yield from ordinates(features, zero, Side.ABOVE, box.top, scale, self.unit, self._room)
        yield from self._rings(box.bottom - 6.0 * scale, scale)
        left, right = self._ends()
        yield from tiered(
            [Span((left, height), (right, height), "length <>")],
            Side.BELOW,
            box.bottom,
            scale,
            self.unit,
            skipped=ring_rows(len(drawn.numbered), self._room),
        )
        for u, text, side in ((left, "left", "end"), (right, "right", "start")):
            way = -3.0 if side == "end" else 3.0
            at = (u + way * scale, height - 1.25 * scale)
            yield Words(text, at, along="end" if side == "end" else "start")

    def _rings(self, line: float, scale: int) -> Iterator[Item]:
        bottoms = {
            clamp.part.rpartition(".")[0]: self.drawn.box(
                Look.BEHIND, [self.assembly.mechanism.part(clamp.part)]
            ).bottom
            for clamp in self.assembly.clamps
        }
        clamps = [
            (-self.bar.offset - station.place_mm, bottoms[station.name])
            for _, station in self.drawn.numbered
        ]
        yield from rings(clamps, line, -1, self._room, scale)

    def _centre_line(self, low: float, high: float, scale: int) -> Item:
        u = -self.bar.offset
        return Polyline(((u, low - 2.0 * scale), (u, high + 1.0 * scale)), Layer.CENTRE)
