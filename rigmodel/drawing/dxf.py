"""Sheets as one DXF: every view at 1:1 in model space, every sheet a layout that looks at them.

Model space is in the unit of the file's header; layouts are in mm of paper. Dimensions are real
DIMENSION entities, so a CAD program measures them again.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import singledispatchmethod

from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.entities.dimstyleoverride import DimStyleOverride
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.base import BaseLayout

from rigmodel.drawing.paint import (
    ARROW_MM,
    OFF_MM,
    OVER_MM,
    PAST_MM,
    Blot,
    Letters,
    Mark,
    Onto,
    Ring,
    Stroke,
    extent,
    paint,
)
from rigmodel.drawing.primitives import (
    LETTER_MM,
    PENS,
    Circle,
    Dimension,
    Hatch,
    Item,
    Layer,
    Ordinate,
    Point,
    Words,
)
from rigmodel.drawing.sheet import Box, Sheet, View
from rigmodel.drawing.stamp import short
from rigmodel.units import Unit, to_unit

LETTERS = "LETTERS"
_TEXT_PLACED = 128  # bit of a dimension's type: its text does not stand where it usually does
_APART_MM = 60.0  # between views in model space, on paper at the view's scale
_STAMP_MM = 5.0  # letters of the stamp in model space, on paper at the scale of its view


@dataclass(frozen=True)
class _Terms:
    """How a unit is written in a DXF.

    Attributes:
        unit: unit of model space.
        code: its code for the header.
        metric: whether it is metric.
        style: DIMLUNIT: 2 decimal, 5 fractions.
        decimals: DIMDEC: decimals, or the power of two of the fraction.
        post: DIMPOST: what stands round the number.
        feet: whether people read feet and inches.
    """

    unit: Unit
    code: int
    metric: bool
    style: int
    decimals: int
    post: str
    feet: bool = False


# Codes of the DXF reference (INSUNITS, MEASUREMENT, DIMLUNIT); decimals as `format_setting` has.
_TERMS = {
    Unit.MM: _Terms(Unit.MM, units.MM, True, 2, 1, "<> mm"),
    Unit.CM: _Terms(Unit.CM, units.CM, True, 2, 2, "<> cm"),
    Unit.M: _Terms(Unit.M, units.M, True, 2, 4, "<> m"),
    Unit.IN: _Terms(Unit.IN, units.IN, False, 5, 4, "<> in"),
    Unit.FT: _Terms(Unit.IN, units.IN, False, 5, 4, "<> in", feet=True),
}


def dxf_text(sheets: Sequence[Sheet]) -> str:
    """All sheets as the text of one DXF file (release 2010).

    Raises:
        ValueError: there is no sheet.
    """
    if not sheets:
        raise ValueError("a DXF needs at least one sheet")
    terms = _TERMS[sheets[0].unit]
    document = _document(terms)
    shelf = 0.0
    for sheet in sheets:
        begins = shelf
        layout = document.layouts.new(f"{sheet.number} {sheet.name}")
        width, height = sheet.paper.size_mm
        layout.page_setup(size=(width, height), margins=(0, 0, 0, 0), units="mm")
        _Writer(document, layout, terms, 1, 1.0, (0.0, 0.0)).items(sheet.furniture)
        for view in sheet.views:
            shelf = _view(document, layout, terms, view, shelf)
        if sheet.stamp and sheet.views:
            _stamp(document, terms, sheet, begins)
    document.layouts.delete("Layout1")
    out = io.StringIO()
    document.write(out)
    return out.getvalue()


def _document(terms: _Terms) -> Drawing:
    document = new("R2010", units=terms.code)
    document.header["$MEASUREMENT"] = 1 if terms.metric else 0
    document.header["$LUNITS"] = 2 if terms.metric else 5
    document.header["$LUPREC"] = 4
    document.header["$PSLTSCALE"] = 0
    document.header["$LTSCALE"] = 1.0
    document.styles.add(LETTERS, font="arial.ttf")
    for layer, pen in PENS.items():
        line_type = "CONTINUOUS"
        if pen.dashes_mm:
            line_type = f"RIG_{layer.value.upper()}"
            signed = [d if k % 2 == 0 else -d for k, d in enumerate(pen.dashes_mm)]
            document.linetypes.add(line_type, [sum(pen.dashes_mm), *signed], description=pen.means)
        entry = document.layers.add(layer.value.upper(), color=7, linetype=line_type)
        entry.dxf.lineweight = round(pen.weight_mm * 100)
        entry.description = pen.means
    return document


def _view(document: Drawing, layout: BaseLayout, terms: _Terms, view: View, shelf: float) -> float:
    """Puts a view into model space right of `shelf` and a window to it on the layout.

    Returns:
        Where the next view may begin.
    """
    box = extent(view.items, view.scale)
    grow = to_unit(view.scale, terms.unit)  # model units for each mm on paper
    zero = (shelf - box.left * grow, -box.bottom * grow)
    _Writer(document, document.modelspace(), terms, view.scale, grow, zero).items(view.items)
    room = Box(box.left - 1.0, box.bottom - 1.0, box.right + 1.0, box.top + 1.0)
    middle = ((room.left + room.right) / 2.0, (room.bottom + room.top) / 2.0)
    window = layout.add_viewport(
        center=(view.origin[0] + middle[0], view.origin[1] + middle[1]),
        size=(room.width, room.height),
        view_center_point=(zero[0] + middle[0] * grow, zero[1] + middle[1] * grow),
        view_height=room.height * grow,
        status=2,
    )
    window.dxf.layer = "VIEWPORTS"
    return shelf + (box.width + _APART_MM) * grow


def _stamp(document: Drawing, terms: _Terms, sheet: Sheet, begins: float) -> None:
    """Writes the sheet's stamp under its views in model space, where no window shows it."""
    scale = max(view.scale for view in sheet.views)
    grow = to_unit(scale, terms.unit)
    under = (begins, -2.0 * _STAMP_MM * grow)
    words = Words(short(sheet.stamp), (0.0, 0.0), _STAMP_MM)
    _Writer(document, document.modelspace(), terms, scale, grow, under).write(words)


class _Writer:
    """Writes primitives into one layout.

    Args:
        document: the whole file.
        layout: model space, or a sheet.
        terms: how the unit is written.
        scale: n of 1:n.
        grow: units of the layout for each mm on paper.
        zero: where the view's zero lies.
    """

    def __init__(
        self,
        document: Drawing,
        layout: BaseLayout,
        terms: _Terms,
        scale: int,
        grow: float,
        zero: Point,
    ) -> None:
        self.document, self.layout, self.terms = document, layout, terms
        self.scale, self.grow, self.zero = scale, grow, zero

    def items(self, items: Sequence[Item]) -> None:
        """Writes primitives."""
        for item in items:
            self.write(item)

    def _real(self, p: Point) -> Point:
        """A point in mm of the real thing as a point of the layout."""
        factor = self.grow / self.scale
        return (self.zero[0] + p[0] * factor, self.zero[1] + p[1] * factor)

    def _paper(self, p: Point) -> Point:
        """A point in mm on paper from the view's zero as a point of the layout."""
        return (self.zero[0] + p[0] * self.grow, self.zero[1] + p[1] * self.grow)

    def _on(self, layer: Layer) -> dict[str, object]:
        return {"layer": layer.value.upper(), "ltscale": self.grow}

    @singledispatchmethod
    def write(self, item: Item) -> None:
        """Writes one primitive as its marks, at their size on paper."""
        for mark in paint(item, Onto(1.0 / self.scale, (0.0, 0.0))):
            self._mark(mark)

    def _mark(self, mark: Mark) -> None:
        if isinstance(mark, Letters):
            self._letters(mark)
        elif isinstance(mark, Ring):
            centre, radius = self._paper(mark.centre), mark.radius * self.grow
            self.layout.add_circle(centre, radius, dxfattribs=self._on(mark.layer))
        elif isinstance(mark, Blot):
            hatch = self.layout.add_hatch(color=7, dxfattribs=self._on(mark.layer))
            hatch.paths.add_polyline_path([self._paper(p) for p in mark.points], is_closed=True)
        elif isinstance(mark, Stroke):
            self._stroke(mark)

    def _stroke(self, mark: Stroke) -> None:
        points = [self._paper(p) for p in mark.points]
        if len(points) == 2:
            self.layout.add_line(points[0], points[1], dxfattribs=self._on(mark.layer))
            return
        self.layout.add_lwpolyline(points, close=mark.closed, dxfattribs=self._on(mark.layer))

    def _letters(self, mark: Letters) -> None:
        align = {
            "start": TextEntityAlignment.LEFT,
            "middle": TextEntityAlignment.CENTER,
            "end": TextEntityAlignment.RIGHT,
        }[mark.along]
        attributes = {**self._on(Layer.TEXT), "style": LETTERS, "rotation": mark.angle}
        text = self.layout.add_text(
            _plain(mark.text), height=mark.height * self.grow, dxfattribs=attributes
        )
        text.set_placement(self._paper(mark.at), align=align)

    @write.register
    def _(self, item: Circle) -> None:
        radius = item.radius_mm * self.grow / self.scale
        self.layout.add_circle(self._real(item.centre), radius, dxfattribs=self._on(item.layer))

    @write.register
    def _(self, item: Hatch) -> None:
        hatch = self.layout.add_hatch(dxfattribs=self._on(Layer.HATCH))
        step = item.step_mm * self.grow
        pattern = [[item.angle, (0.0, 0.0), (-step * 0.5**0.5, step * 0.5**0.5), []]]
        hatch.set_pattern_fill("RIG", definition=pattern)
        hatch.paths.add_polyline_path([self._real(p) for p in item.outer], is_closed=True, flags=1)
        for hole in item.holes:
            hatch.paths.add_polyline_path([self._real(p) for p in hole], is_closed=True, flags=16)

    @write.register
    def _(self, item: Dimension) -> None:
        start, end = self._real(item.start), self._real(item.end)
        factor = self.grow / self.scale
        line = item.line * factor + self.zero[0 if item.upright else 1]
        made = self.layout.add_linear_dim(
            base=(line, start[1]) if item.upright else (start[0], line),
            p1=start,
            p2=end,
            angle=90.0 if item.upright else 0.0,
            dimstyle=self._style(),
            dxfattribs=self._on(Layer.DIMENSION),
        )
        self._pictured(made, item, item.text)

    @write.register
    def _(self, item: Ordinate) -> None:
        feature, foot, origin = (self._real(p) for p in (item.feature, item.foot, item.origin))
        made = self.layout.add_ordinate_x_dim(
            feature_location=feature,
            offset=(foot[0] - feature[0], foot[1] - feature[1]),
            origin=origin,
            dimstyle=self._style(),
            dxfattribs=self._on(Layer.DIMENSION),
        )
        self._pictured(made, item, "<>")

    def _pictured(self, made: DimStyleOverride, item: Dimension | Ordinate, text: str) -> None:
        """Gives a dimension the picture that every back end draws, and its text.

        A CAD program that measures again replaces the picture; the text leaves the number to it,
        but for feet, which are told in inches there.
        """
        entity = made.dimension
        block = self.document.blocks.new_anonymous_block(type_char="D")
        inner = _Writer(self.document, block, self.terms, self.scale, self.grow, self.zero)
        for mark in paint(item, Onto(1.0 / self.scale, (0.0, 0.0))):
            inner._mark(mark)
            if isinstance(mark, Letters):
                box = mark.box
                middle = ((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)
                entity.dxf.text_midpoint = self._paper(middle)
        # The library does not write this one with a style.
        made.dimstyle_attribs["dimpost"] = self.terms.post
        made.commit()
        entity.dxf.geometry = block.name
        entity.dxf.dimtype |= _TEXT_PLACED
        if self.terms.feet:
            text = item.printed if isinstance(item, Dimension) else item.number
        entity.dxf.text = "" if text == "<>" else _plain(text).replace("⌀", "%%c")

    def _style(self) -> str:
        """The dimension style of this scale."""
        name = f"RIG_1_{self.scale}"
        if name in self.document.dimstyles:
            return name
        style = self.document.dimstyles.add(name)
        values: dict[str, object] = {
            "dimscale": self.grow,
            "dimtxt": LETTER_MM,
            "dimasz": ARROW_MM,
            "dimexo": OFF_MM,
            "dimexe": PAST_MM,
            "dimgap": OVER_MM,
            "dimtad": 1,
            "dimtih": 0,
            "dimtoh": 0,
            "dimtxsty": LETTERS,
            "dimlunit": self.terms.style,
            "dimdec": self.terms.decimals,
            "dimfrac": 2,
            "dimzin": 8,
            "dimdsep": ord("."),
        }
        for key, value in values.items():
            style.dxf.set(key, value)
        return name


def _plain(text: str) -> str:
    """A text without what a DXF reads as a code: `%%` and a caret."""
    return text.replace("%%", "% %").replace("^", "^ ")
