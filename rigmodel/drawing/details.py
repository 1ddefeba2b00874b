"""One detail for each different tube and shank that is cut to length."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from meshes_generic.shapes import Box as BoxShape
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import FlatShank, RoundShank, SquareTube
from rigmodel.drawing.flow import GAP_MM, Flow, fitting
from rigmodel.drawing.lettering import on_paper, wrapped
from rigmodel.drawing.paint import extent
from rigmodel.drawing.placing import Views, box_of
from rigmodel.drawing.primitives import (
    LETTER_MM,
    TITLE_MM,
    Cross,
    Item,
    Layer,
    Point,
    Polyline,
    Words,
)
from rigmodel.drawing.sections import ROOM_MM, section_view
from rigmodel.drawing.sheet import View
from rigmodel.drawing.tiers import Side, Span, tiered
from rigmodel.units import Unit, format_setting

Cut = SquareTube | FlatShank | RoundShank
_LINE_MM = LETTER_MM * 1.6
_MOST_HEIGHT = 0.55  # of the sheet's room, for one detail


@dataclass(frozen=True)
class Detail:
    """A tube or shank, and all places where it is used.

    Attributes:
        item: its catalogue id.
        entry: its catalogue entry.
        length_mm: its cut length.
        parts: the parts cut like this.
    """

    item: str
    entry: Cut
    length_mm: float
    parts: tuple[Part, ...]


def details(assembly: Assembly) -> tuple[Detail, ...]:
    """The different tubes and shanks, the bar left out, in the order they occur."""
    groups: dict[tuple[str, float], list[Part]] = {}
    for part in assembly.rig_parts():
        entry = assembly.scene.catalogue.parts.get(part.item)
        if part.role in (Role.TUBE, Role.STRUT, Role.SHANK) and isinstance(entry, Cut):
            groups.setdefault((part.item, round(_cut_length(entry, part), 3)), []).append(part)
    found = []
    for (item, length), parts in groups.items():
        entry = assembly.scene.catalogue.parts[item]
        if isinstance(entry, Cut):
            found.append(Detail(item, entry, length, tuple(parts)))
    return tuple(found)


def _cut_length(entry: Cut, part: Part) -> float:
    if isinstance(entry, FlatShank | RoundShank):
        return entry.length
    shape = part.solid.pieces[0].shape
    assert isinstance(shape, BoxShape)  # a tube's one piece is a box along its own y
    return shape.size_y


class DetailSheets:
    """The details of an assembly."""

    def __init__(self, assembly: Assembly) -> None:
        self.assembly = assembly
        self.unit: Unit = assembly.scene.unit
        self.details = details(assembly)

    def fill(self, flow: Flow) -> None:
        """Adds every detail to the sheets."""
        for detail in self.details:
            section = section_view(detail.entry, self.unit, "Section", ROOM_MM)
            room = flow.area.width - box_of(section).width - 2 * GAP_MM

            def build(scale: int, detail: Detail = detail, room: float = room) -> Views:
                return (self._view(detail, scale, room),)

            view = fitting(build, room, flow.area.height * _MOST_HEIGHT, self.unit)[0]
            flow.add(_side_by_side(view, section))

    def notes(self) -> tuple[str, ...]:
        """What the sheets say in words."""
        return (
            "Shanks lie with the foot at the left. Heights are over the foot.",
            "Where a hole's diameter is not given here, the catalogue does not have it.",
        )

    def _view(self, detail: Detail, scale: int, room: float) -> View:
        entry = detail.entry
        if isinstance(entry, SquareTube):
            items = tuple(self._tube(entry, detail.length_mm, scale))
        elif isinstance(entry, FlatShank):
            items = tuple(self._flat(entry, detail, scale))
        else:
            items = tuple(self._round(entry, detail, scale))
        box = extent(items, scale)
        lines = [f"{len(detail.parts)}× {detail.item} (1:{scale})"]
        heights = [TITLE_MM]
        for text in self._words(detail):
            for line in wrapped(on_paper(text), LETTER_MM, room):
                lines.append(line)
                heights.append(LETTER_MM)
        base = box.top + 3.0 + (len(lines) - 1) * _LINE_MM
        caption = []
        for k, (text, height) in enumerate(zip(lines, heights, strict=True)):
            at = (box.left * scale, (base - k * _LINE_MM) * scale)
            raised = 1.5 if k == 0 and len(lines) > 1 else 0.0
            caption.append(Words(text, at, height, raised_mm=raised))
        return View(detail.item, (*items, *caption), scale)

    def _words(self, detail: Detail) -> Iterator[str]:
        entry = detail.entry
        stations = ", ".join(dict.fromkeys(part.station or part.name for part in detail.parts))
        what = f"{entry.summary}. " if entry.summary else ""
        yield f"{what}For {stations}."
        struts = {strut.name: strut for strut in self.assembly.struts}
        if strut := struts.get(detail.parts[0].name):
            end = format_setting((strut.cut_mm - strut.length_mm) / 2.0, self.unit)
            pins = format_setting(strut.length_mm, self.unit)
            yield f"A pin {end} from each end, {pins} apart; slotted over its lugs."
        if isinstance(entry, SquareTube):
            return
        heights: dict[str, list[str]] = {}
        for part in detail.parts:
            slide = self.assembly.adjustment.get(f"{part.name}.slide")
            if slide is not None:
                heights.setdefault(format_setting(slide.value, self.unit), []).append(part.station)
        for height, names in heights.items():
            yield f"Holder's middle at {height}: {', '.join(names)}."
        if isinstance(entry, FlatShank) and entry.crank:
            straight = entry.length - entry.crank_height
            cut = straight + math.hypot(entry.crank, entry.crank_height)
            yield (
                f"Along the middle of the bar, sharp bends: {format_setting(cut, self.unit)}. "
                "For the other hand it is turned round."
            )

    def _tube(self, tube: SquareTube, length: float, scale: int) -> Iterator[Item]:
        half = tube.size / 2.0
        yield _bar((0.0, -half), (length, half))
        spans = [Span((0.0, -half), (length, -half))]
        holes = tube_holes(tube, length)
        for u in holes:
            yield Cross((u, 0.0))
        spans += _hole_spans(holes, -half)
        yield _axis(length, 0.0, scale)
        yield from tiered(spans, Side.BELOW, -half, scale, self.unit)

    def _flat(self, shank: FlatShank, detail: Detail, scale: int) -> Iterator[Item]:
        """The broad face above, the narrow edge with the crank below."""
        half, edge = shank.width / 2.0, shank.thickness / 2.0
        yield _bar((0.0, -half), (shank.length, half))
        for u in (shank.crank_low, shank.straight_from) if shank.crank else ():
            yield Polyline(((u, -half), (u, half)))
        holes = self._shank_holes(detail)
        for u in holes:
            yield Cross((u, 0.0))
        yield _axis(shank.length, 0.0, scale)
        yield from self._settings(detail, half, scale)
        gap = 6.0 * scale
        low = -half - gap - edge - max(0.0, shank.crank)
        ring = _crank_ring(shank, low)
        yield Polyline(ring, closed=True)
        bottom = low - edge
        spans = [Span((0.0, bottom), (shank.length, bottom)), *_hole_spans(holes, bottom)]
        if shank.crank:
            foot = low + shank.crank
            spans += [
                Span((0.0, foot - edge), (shank.crank_low, foot - edge)),
                Span((shank.crank_low, foot - edge), (shank.straight_from, bottom)),
            ]
            crank = Span((0.0, foot), (shank.straight_from, low), "crank <>")
            yield from tiered([crank], Side.LEFT, 0.0, scale, self.unit)
        yield from tiered(spans, Side.BELOW, bottom, scale, self.unit)

    def _round(self, shank: RoundShank, detail: Detail, scale: int) -> Iterator[Item]:
        r = shank.diameter / 2.0
        yield _bar((0.0, -r), (shank.length, r))
        yield _axis(shank.length, 0.0, scale)
        holes = self._shank_holes(detail)
        for u in holes:
            yield Cross((u, 0.0))
        yield from self._settings(detail, r, scale)
        spans = [Span((0.0, -r), (shank.length, -r)), *_hole_spans(holes, -r)]
        yield from tiered(spans, Side.BELOW, -r, scale, self.unit)

    def _settings(self, detail: Detail, top: float, scale: int) -> Iterator[Item]:
        """Where the middle of the holder stands on the shank."""
        values: dict[float, float] = {}
        for part in detail.parts:
            slide = self.assembly.adjustment.get(f"{part.name}.slide")
            if slide is not None:
                values.setdefault(round(slide.value, 1), slide.value)
        spans = []
        for value in values.values():
            yield Polyline(((value, -top), (value, top)), Layer.MARK)
            spans.append(Span((0.0, top), (value, top), "to holder's middle <>"))
        yield from tiered(spans, Side.ABOVE, top, scale, self.unit)

    def _shank_holes(self, detail: Detail) -> tuple[float, ...]:
        """Heights over the foot at which the holder's middle finds a hole, mm."""
        slides = [self.assembly.adjustment.get(f"{part.name}.slide") for part in detail.parts]
        known = [s for s in slides if s is not None and s.step > 0.0]
        if not known:
            return ()
        first = known[0]
        count = math.floor((first.high - first.low) / first.step + 1e-9)
        return tuple(first.low + k * first.step for k in range(count + 1))


def tube_holes(tube: SquareTube, length: float) -> tuple[float, ...]:
    """Holes of a cut tube, mm from its end."""
    if tube.hole_pitch is None:
        return ()
    count = math.floor((length - tube.hole_start) / tube.hole_pitch - 1e-9)
    return tuple(tube.hole_start + k * tube.hole_pitch for k in range(count + 1))


def _hole_spans(holes: tuple[float, ...], edge: float) -> Iterator[Span]:
    if not holes:
        return
    yield Span((0.0, edge), (holes[0], edge), "first hole <>")
    if len(holes) > 1:
        yield Span((holes[0], edge), (holes[1], edge), "pitch <>")
        yield Span((holes[0], edge), (holes[-1], edge), f"{len(holes)} holes over <>")


def _bar(low: Point, high: Point) -> Polyline:
    return Polyline((low, (high[0], low[1]), high, (low[0], high[1])), closed=True)


def _axis(length: float, v: float, scale: int) -> Polyline:
    return Polyline(((-2.0 * scale, v), (length + 2.0 * scale, v)), Layer.CENTRE)


def _crank_ring(shank: FlatShank, low: float) -> tuple[Point, ...]:
    """The narrow edge of a shank: straight, crank, straight."""
    edge = shank.thickness / 2.0
    if not shank.crank:
        bends: list[Point] = [(0.0, low), (shank.length, low)]
    else:
        foot = low + shank.crank
        bends = [(0.0, foot), (shank.crank_low, foot), (shank.straight_from, low)]
        bends.append((shank.length, low))
    under = [(u, v - edge) for u, v in bends]
    over = [(u, v + edge) for u, v in reversed(bends)]
    return tuple(dict.fromkeys((*under, *over)))


def _side_by_side(view: View, section: View) -> Views:
    """A detail and its section, their middles level."""
    one, two = box_of(view), box_of(section)
    u = one.right + GAP_MM - two.left
    v = (one.top + one.bottom - two.top - two.bottom) / 2.0
    return (view, section.at((u, v)))
