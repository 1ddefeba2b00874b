"""The setup sheet as one HTML file: no scripts, nothing fetched, for a screen or a printer."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator
from html import escape

from rigmodel.lines import bound
from rigmodel.sheet.content import NO_ORDER, Alarm, Sheet
from rigmodel.sheet.settings import BarDrawing
from rigmodel.sheet.steps import Step

_STYLE = """
body { font: 12pt/1.35 "Source Sans Pro", Arial, "Liberation Sans", sans-serif; color: #000;
  background: #fff; max-width: 190mm; margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 24pt; margin: 0 0 2mm; overflow-wrap: anywhere; }
h2 { font-size: 15pt; border-bottom: 1.5pt solid #000; margin: 6mm 0 2mm; break-after: avoid; }
table { border-collapse: collapse; width: 100%; margin: 2mm 0; }
th, td { border: 0.75pt solid #000; padding: 1mm 1.6mm; text-align: left; vertical-align: middle; }
tr, li, .alarm, svg { break-inside: avoid; }
.mark { font-size: 15pt; font-weight: bold; white-space: nowrap; }
.place { font-size: 14pt; }
.alarm { border: 2pt solid #000; padding: 2mm 3mm; margin: 2mm 0; font-size: 13pt; }
.alarm strong { font-size: 16pt; display: block; }
.fail { background: #000; color: #fff; print-color-adjust: exact;
  -webkit-print-color-adjust: exact; }
.is { width: 26mm; }
img, svg { max-width: 100%; height: auto; }
p, li { margin: 1.5mm 0; overflow-wrap: anywhere; }
@page { margin: 15mm; }
@media print {
  body { max-width: none; margin: 0; padding: 0; font-size: 11pt; }
  img { max-height: 90mm; display: block; margin: 0 auto; }
  h2 { margin-top: 4mm; }
  th, td { padding: 0.5mm 1.4mm; }
}
"""
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def sheet_html(sheet: Sheet, picture: bytes, no_picture: str = "") -> str:
    """The sheet as HTML; everything a user wrote is escaped.

    Args:
        sheet: what stands on it.
        picture: a PNG; empty for none.
        no_picture: why there is no picture.
    """
    return "\n".join(_lines(sheet, picture, no_picture)) + "\n"


def _lines(sheet: Sheet, picture: bytes, no_picture: str) -> Iterator[str]:
    title = _text(sheet.title)
    yield "<!DOCTYPE html>"
    yield '<html lang="en"><head><meta charset="utf-8">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>Setup sheet: {title}</title>"
    yield f"<style>{_STYLE}</style></head><body>"
    yield f"<h1>{title}</h1>"
    for alarm in sheet.alarms:
        yield _alarm(alarm)
    if sheet.more:
        yield f"<p><strong>{_text(sheet.more)}</strong></p>"
    yield f"<p><strong>Checked: {_text(sheet.verdict)}</strong></p>"
    if sheet.notes:
        yield f"<p><strong>Notes:</strong> {_text(sheet.notes)}</p>"
    yield _picture(picture, no_picture)
    yield "<h2>Blocks and level</h2>"
    yield from _points(sheet.level)
    yield "<h2>Weight and balance</h2>"
    yield from _points(sheet.weight)
    yield f"<h2>The bar from behind, {_text(sheet.drawing.length)} long</h2>"
    yield bar_svg(sheet.drawing)
    yield "<p>Grey: clamps. Open strips: what the tools work. ▲: rows.</p>"
    yield from _marks(sheet)
    yield from _settings(sheet)
    yield from _build(sheet)
    if sheet.gaps:
        yield "<h2>Gap of the finger wheels</h2>"
        yield from _points(sheet.gaps)
    if sheet.build:
        yield f"<h2>After the first hour</h2><p>{_text(sheet.first_hour)}</p>"
        yield from _measured(sheet)
    yield "<h2>Cautions</h2>"
    yield _list("ul", (_text(caution) for caution in sheet.cautions))
    if sheet.not_checked:
        yield "<h2>Not checked</h2>"
        yield _list("ul", (_text(item) for item in sheet.not_checked))
    yield f"<p>{_text(sheet.source)}, lengths in {_text(sheet.units)}</p>"
    yield "</body></html>"


def _alarm(alarm: Alarm) -> str:
    kind = "alarm fail" if alarm.word == "DO NOT BUILD" else "alarm"
    head = f"<strong>{_text(alarm.word)}: {_text(alarm.text)}</strong>"
    return f'<div class="{kind}">{head}{_text(alarm.cure)}</div>'


def _picture(picture: bytes, no_picture: str) -> str:
    if not picture:
        return f"<p>No picture: {_text(no_picture)}</p>"
    data = base64.b64encode(picture).decode("ascii")
    return f'<img alt="the rig from behind, on the left" src="data:image/png;base64,{data}">'


def _points(points: Iterable[Step]) -> Iterator[str]:
    for step in points:
        yield f"<p><strong>{_text(step.title)}:</strong> {_text(step.text)}</p>"


def _marks(sheet: Sheet) -> Iterator[str]:
    yield f"<h2>Marks</h2><p>{_text(sheet.marks_note)}</p>"
    holes = any(mark.hole for mark in sheet.marks)
    rows = []
    for mark in sheet.marks:
        front = " (plate on the bar's front)" if mark.face else ""
        row = [str(mark.number), _text(mark.place)]
        row += [_text(mark.hole)] if holes else []
        row += [f"<strong>{_text(mark.name)}</strong>: {_text(mark.tool + front)}"]
        rows.append((*row, _text(mark.tool_place)))
    head = ["", "Mark from the bar's centre", "What goes there", "Tool's middle, if elsewhere"]
    classes = ["mark", "mark", "", "place"]
    if holes:
        head.insert(2, "Holes")
        classes.insert(2, "place")
    yield _table(head, rows, classes)


def _settings(sheet: Sheet) -> Iterator[str]:
    yield "<h2>Settings</h2>"
    rows = []
    for row in sheet.settings:
        more = "; ".join(_text(part) for part in (row.hole, row.arm, row.rank) if part)
        tool = f"<strong>{_text(row.tool)}</strong>" + (f"; {more}" if more else "")
        after = [_text(cell) for cell in (row.depth, row.shows, row.foot)]
        rows.append((_text(row.numbers), tool, *after))
    head = ("Marks", "Tool", "Depth", "Shank shows above holder", "Foot to holder's middle")
    yield _table(head, rows, ("", "", "mark", "mark", "place"))
    yield f"<p>{_text(sheet.settings_note)}</p>"


def _build(sheet: Sheet) -> Iterator[str]:
    yield "<h2>Assembly, in this order</h2>"
    if not sheet.build:
        yield f"<p><strong>{_text(NO_ORDER)}</strong></p>"
        return
    told = (f"<strong>{_text(s.title)}.</strong> {_text(s.text)}" for s in sheet.steps)
    yield _list("ol", told)
    yield "<h2>Spanners and torque</h2>"
    rows = [(_text(b.size), _text(b.spanner), _text(b.what), _text(b.torque)) for b in sheet.bolts]
    yield _table(("Thread", "Spanner", "What", "Torque"), rows, ("mark", "mark", "", ""))
    for table in sheet.grades:
        grades = [f"grade {_text(name)}" for name in table.grades]
        lines = [[_text(cell) for cell in row] for row in table.rows]
        yield _table(("Read off the bolt", *grades), lines, ("mark", *[""] * len(grades)))
    yield f"<p>{_text(sheet.torque_note)}</p>"


def _measured(sheet: Sheet) -> Iterator[str]:
    yield "<h2>Measured on the finished rig</h2>"
    rows = [(_text(b.what), f"<strong>{_text(b.wanted)}</strong>", "") for b in sheet.blanks]
    yield _table(("What", "Should be", "Is"), rows, ("", "", "is"))
    yield "<p>Done by ____________________ date ____________ checked by ____________________</p>"


def _table(head: Iterable[str], rows: Iterable[Iterable[str]], classes: Iterable[str]) -> str:
    """A table of cells that are HTML already."""
    kinds = [f' class="{kind}"' if kind else "" for kind in classes]
    heads = "".join(f"<th>{cell}</th>" for cell in head)
    lines = [
        "".join(f"<td{kind}>{cell}</td>" for kind, cell in zip(kinds, row, strict=True))
        for row in rows
    ]
    body = "".join(f"<tr>{line}</tr>" for line in lines)
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"


def _list(kind: str, items: Iterable[str]) -> str:
    """A list of items that are HTML already."""
    return f"<{kind}>" + "".join(f"<li>{item}</li>" for item in items) + f"</{kind}>"


def bar_svg(drawing: BarDrawing) -> str:
    """The bar from behind to scale, as an SVG; left is left."""
    middle, scale = 90.0, 86.0 / drawing.reach_mm

    def x(y_mm: float) -> float:
        return middle - y_mm * scale

    half = drawing.length_mm / 2.0
    parts = [_rect(x(half), 16.0, x(-half) - x(half), 5.0, "#f0f0f0")]
    parts += [_rect(x(high), 16.0, x(low) - x(high), 5.0, "#999") for low, high in drawing.free]
    level, last = 0, -99.0
    for number, place, width in drawing.clamps:
        level = (level + 1) % 3 if x(place) - last < 6.0 else 0
        last = x(place)
        parts.append(_rect(x(place + width / 2.0), 14.4, width * scale, 8.2, "#bbb"))
        parts.append(_line(x(place), 12.6 - 4.0 * level, x(place), 24.0))
        parts.append(_words(x(place), 11.6 - 4.0 * level, str(number)))
    parts += [_rect(x(high), 26.0, x(low) - x(high), 2.2, "none") for low, high in drawing.tools]
    for _, y_mm in drawing.rows:
        at = x(y_mm)
        parts.append(f'<path d="M{at:.2f} 29.4l-1.6 3.2h3.2z"/>')
    parts.append(_line(middle, 13.0, middle, 35.0, ' stroke-dasharray="3 1 0.6 1"'))
    parts.append(_words(middle, 39.4, f"centre, {drawing.half} from each end"))
    parts += [_words(10.0, 39.4, "LEFT"), _words(170.0, 39.4, "RIGHT")]
    return f'<svg viewBox="0 0 180 42" role="img" aria-label="the bar">{"".join(parts)}</svg>'


def _rect(x: float, y: float, width: float, height: float, fill: str) -> str:
    box = f'x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"'
    return f'<rect {box} fill="{fill}" stroke="#000" stroke-width="0.35"/>'


def _line(x1: float, y1: float, x2: float, y2: float, more: str = "") -> str:
    ends = f'x1="{x1:.2f}" y1="{y1:.2f}" x2="{x2:.2f}" y2="{y2:.2f}"'
    return f'<line {ends} stroke="#000" stroke-width="0.3"{more}/>'


def _words(x: float, y: float, text: str) -> str:
    style = 'font-size="4" font-weight="bold" text-anchor="middle"'
    return f'<text x="{x:.2f}" y="{y:.2f}" {style}>{_text(text)}</text>'


def _text(text: str) -> str:
    return escape(bound(text))
