"""Sheets as one PDF, each on a page of its true size, the letters embedded."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from rigmodel import __version__
from rigmodel.drawing.lettering import font, size_of, text_width
from rigmodel.drawing.paint import Blot, Letters, Mark, Ring, Stroke, paint_sheet
from rigmodel.drawing.primitives import PENS, Layer, Point
from rigmodel.drawing.sheet import Sheet


def pdf_bytes(sheets: Sequence[Sheet]) -> bytes:
    """All sheets as a PDF; the same sheets give the same bytes."""
    face = font()
    pdfmetrics.registerFont(face)
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1)
    canvas.setCreator(f"rigmodel {__version__}")
    if sheets:
        canvas.setTitle(sheets[0].title)
    for sheet in sheets:
        width, height = sheet.paper.size_mm
        canvas.setPageSize((width * mm, height * mm))
        canvas.scale(mm, mm)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        canvas.bookmarkPage(f"sheet{sheet.number}")
        canvas.addOutlineEntry(sheet.name, f"sheet{sheet.number}")
        _page(canvas, sheet, face.fontName)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _page(canvas: Canvas, sheet: Sheet, face: str) -> None:
    layers: dict[Layer, list[Mark]] = {layer: [] for layer in Layer}
    for mark in paint_sheet(sheet):
        layers[Layer.TEXT if isinstance(mark, Letters) else mark.layer].append(mark)
    for layer, marks in layers.items():
        pen = PENS[layer]
        canvas.setLineWidth(pen.weight_mm)
        canvas.setDash(list(pen.dashes_mm))
        for mark in marks:
            _draw(canvas, mark, face)


def _draw(canvas: Canvas, mark: Mark, face: str) -> None:
    if isinstance(mark, Letters):
        _letters(canvas, mark, face)
    elif isinstance(mark, Ring):
        canvas.circle(*mark.centre, mark.radius)
    elif isinstance(mark, Stroke):
        _path(canvas, mark.points, mark.closed, filled=False)
    elif isinstance(mark, Blot):
        _path(canvas, mark.points, closed=True, filled=True)


def _path(canvas: Canvas, points: Sequence[Point], closed: bool, filled: bool) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    canvas.drawPath(path, stroke=0 if filled else 1, fill=1 if filled else 0)


def _letters(canvas: Canvas, mark: Letters, face: str) -> None:
    canvas.saveState()
    canvas.translate(*mark.at)
    if mark.angle:
        canvas.rotate(mark.angle)
    canvas.setFont(face, size_of(mark.height))
    width = text_width(mark.text, mark.height)
    back = {"start": 0.0, "middle": width / 2.0, "end": width}[mark.along]
    canvas.drawString(-back, 0.0, mark.text)
    canvas.restoreState()
