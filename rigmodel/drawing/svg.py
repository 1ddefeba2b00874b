"""Sheets as SVG, one file for each; lengths are mm on paper."""

from __future__ import annotations

from collections.abc import Iterable
from xml.sax.saxutils import escape, quoteattr

from rigmodel.drawing.lettering import FAMILY, size_of, text_width
from rigmodel.drawing.paint import Blot, Letters, Mark, Ring, Stroke, paint_sheet
from rigmodel.drawing.primitives import PENS, Layer, Point
from rigmodel.drawing.sheet import Sheet

INK = "#000000"


def svg_text(sheet: Sheet) -> str:
    """One sheet as SVG."""
    width, height = sheet.paper.size_mm
    title = f"{sheet.title} – {sheet.name}"
    layers: dict[Layer, list[str]] = {layer: [] for layer in Layer}
    for mark in paint_sheet(sheet):
        layer = Layer.TEXT if isinstance(mark, Letters) else mark.layer
        layers[layer].append(_mark(mark, height))
    body = "\n".join(_group(layer, marks) for layer, marks in layers.items() if marks)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" font-family="{FAMILY}, Arial, sans-serif">\n'
        f"<title>{escape(title)}</title>\n"
        f'<rect width="{_n(width)}" height="{_n(height)}" fill="#ffffff"/>\n'
        f"{body}\n</svg>\n"
    )


def _group(layer: Layer, marks: Iterable[str]) -> str:
    pen = PENS[layer]
    dashes = f' stroke-dasharray="{" ".join(map(_n, pen.dashes_mm))}"' if pen.dashes_mm else ""
    return (
        f'<g id={quoteattr(layer.value)} fill="none" stroke="{INK}" '
        f'stroke-width="{_n(pen.weight_mm)}" stroke-linecap="round" stroke-linejoin="round"'
        f"{dashes}>\n" + "\n".join(marks) + "\n</g>"
    )


def _mark(mark: Mark, height: float) -> str:
    if isinstance(mark, Stroke):
        path = _path(mark.points, height) + ("Z" if mark.closed else "")
        return f'<path d="{path}"/>'
    if isinstance(mark, Blot):
        return f'<path d="{_path(mark.points, height)}Z" fill="{INK}" stroke="none"/>'
    if isinstance(mark, Ring):
        u, v = mark.centre
        return f'<circle cx="{_n(u)}" cy="{_n(height - v)}" r="{_n(mark.radius)}"/>'
    return _letters(mark, height)


def _letters(mark: Letters, height: float) -> str:
    u, v = mark.at[0], height - mark.at[1]
    turn = f' transform="rotate({_n(-mark.angle)} {_n(u)} {_n(v)})"' if mark.angle else ""
    # The length is given so that another font takes no more room than the drawing allowed for.
    length = text_width(mark.text, mark.height)
    return (
        f'<text x="{_n(u)}" y="{_n(v)}" font-size="{_n(size_of(mark.height))}" fill="{INK}" '
        f'stroke="none" text-anchor="{mark.along}" textLength="{_n(length)}" '
        f'lengthAdjust="spacingAndGlyphs"{turn}>{escape(mark.text)}</text>'
    )


def _path(points: Iterable[Point], height: float) -> str:
    return "M" + "L".join(f"{_n(u)} {_n(height - v)}" for u, v in points)


def _n(value: float) -> str:
    """A number with at most three decimals and no noise."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
