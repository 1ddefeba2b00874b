"""What is written over the views: title and verdict, scale bar, legend, labels and marks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.clearance.finding import Findings, Verdict
from rigmodel.units import Unit
from rigmodel.view import palette
from rigmodel.view.labels import leader_end
from rigmodel.view.marks import diamond, mark_drawing, ring, stroke
from rigmodel.view.picture import Align, Area, Drawn, Fill, Label, Mark, Panel, Pixel, Words
from rigmodel.view.text import drawable, shortened, text_width

# Lengths a scale bar may have, in mm: round ones in the scene's own unit.
_METRIC = (50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
_INCHES = (2.0, 4.0, 6.0, 12.0, 24.0, 36.0, 60.0, 120.0)
_VERDICT_INK = {
    Verdict.FAIL: palette.FAIL,
    Verdict.ADVISE: palette.ADVISE,
    Verdict.PASS: palette.PASS,
}


def rectangle(area: Area, colour: str, opacity: float = 1.0) -> Fill:
    """A filled upright rectangle."""
    corners = (
        (area.left, area.low),
        (area.right, area.low),
        (area.right, area.high),
        (area.left, area.high),
    )
    return Fill(corners, colour, opacity)


def room_of(drawn: Sequence[Drawn]) -> Area:
    """The least upright rectangle round everything drawn."""
    points: list[Pixel] = []
    for item in drawn:
        if isinstance(item, Fill):
            points += item.points
            continue
        width, half = text_width(item.text, item.size), 0.7 * item.size
        start = (
            item.at[0] - {Align.LEFT: 0.0, Align.CENTRE: 0.5, Align.RIGHT: 1.0}[item.align] * width
        )
        points += [(start, item.at[1] - half), (start + width, item.at[1] + half)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Area(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def header(title: str, findings: Findings | None, area: Area, scale: float) -> list[Drawn]:
    """The scene's name over its verdict in the upper left corner."""
    left, room = area.left + 24 * scale, area.width - 430 * scale
    top = area.high - 30 * scale
    size = 27 * scale
    name = shortened(drawable(title), size, room)
    drawn: list[Drawn] = [Words(name, (left, top), size, palette.INK, bold=True)]
    below = (left, top - 33 * scale)
    if findings is None:
        return [*drawn, Words("not checked", below, 18 * scale, palette.SOFT_INK)]
    verdict = findings.verdict
    size = 19 * scale
    icon = (left + 9 * scale, below[1])
    text_left = left
    if verdict in (Verdict.FAIL, Verdict.ADVISE):
        drawn += (diamond if verdict is Verdict.FAIL else ring)(icon, 9 * scale)
        text_left += 28 * scale
    word = verdict.value
    drawn.append(Words(word, (text_left, below[1]), size, _VERDICT_INK[verdict], bold=True))
    after = text_left + text_width(word, size) + 12 * scale
    drawn.append(Words(tally(findings), (after, below[1]), 17 * scale, palette.SOFT_INK))
    return drawn


def tally(findings: Findings) -> str:
    """How many findings came out which way."""
    counts = Counter(finding.verdict for finding in findings.findings)
    return " · ".join(
        f"{counts[verdict]} {verdict.value}" for verdict in Verdict if counts[verdict]
    )


def scale_length(unit: Unit, most_mm: float) -> float:
    """The longest round length in the unit that is not over `most_mm`, or the shortest there is."""
    lengths = _METRIC if unit in (Unit.MM, Unit.CM, Unit.M) else tuple(25.4 * i for i in _INCHES)
    fitting = [length for length in lengths if length <= most_mm]
    return fitting[-1] if fitting else lengths[0]


def scale_bar(
    start: Pixel, step: FloatArray, length_mm: float, text: str, scale: float
) -> list[Drawn]:
    """A bar from `start` along `step` (2,), the pixels one mm takes in the direction it measures.

    Its halves are dark and light; the text stands past its end.
    """
    along = step / float(np.linalg.norm(step))
    if along[0] < 0.0:
        along, step = -along, -step
    points = [
        (
            float(start[0] + share * length_mm * step[0]),
            float(start[1] + share * length_mm * step[1]),
        )
        for share in (0.0, 0.5, 1.0)
    ]
    thick = 7 * scale
    drawn: list[Drawn] = [
        stroke(points[0], points[2], thick, palette.INK),
        stroke(
            _toward(points[1], points[2], 0.0),
            _toward(points[2], points[1], 1.6 * scale),
            thick - 3.2 * scale,
            palette.BACKGROUND,
        ),
    ]
    end = points[2]
    size = 15 * scale
    at = (end[0] + 10 * scale, end[1])
    return [*drawn, Words(text, at, size, palette.INK)]


def _toward(start: Pixel, end: Pixel, by: float) -> Pixel:
    delta = np.array(end) - np.array(start)
    moved = np.array(start) + delta / max(float(np.linalg.norm(delta)), 1e-9) * by
    return float(moved[0]), float(moved[1])


def label_drawing(label: Label, scale: float) -> list[Drawn]:
    """A label's leader, its pale ground and its words."""
    box = label.box
    middle = (box.left + box.width / 2.0, box.low + box.height / 2.0)
    end = leader_end(box, label.anchor)
    return [
        stroke(label.anchor, end, 3.2 * scale, palette.BACKGROUND),
        stroke(label.anchor, end, 1.2 * scale, label.colour),
        *dot(label.anchor, 3.0 * scale, label.colour),
        rectangle(box, palette.BACKGROUND, 0.86),
        Words(label.text, middle, label.size, label.colour, label.bold, Align.CENTRE),
    ]


def dot(at: Pixel, radius: float, colour: str) -> list[Drawn]:
    """A small filled round."""
    turns = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    points = tuple(
        (at[0] + radius * float(np.cos(t)), at[1] + radius * float(np.sin(t))) for t in turns
    )
    return [Fill(points, colour)]


def panel_title(panel: Panel, scale: float) -> list[Drawn]:
    """The view's name in its upper right corner."""
    at = (panel.area.right - 24 * scale, panel.area.high - 26 * scale)
    return [Words(panel.title, at, 17 * scale, palette.SOFT_INK, align=Align.RIGHT)]


def legend(marked: Sequence[Mark], ghosts: bool, area: Area, scale: float) -> list[Drawn]:
    """What the signs mean, in the lower right corner: only those that are in the picture."""
    size = 15 * scale
    entries: list[tuple[str, str]] = [("band", "keep-out band"), ("fingers", "flexible fingers")]
    if ghosts:
        entries.append(("ghost", "other poses"))
    shapes = {mark.shape.value for mark in marked}
    if "ring" in shapes:
        entries.append(("ring", "advise"))
    if "diamond" in shapes:
        entries.append(("diamond", "fail"))
    drawn: list[Drawn] = []
    x, y = area.right - 24 * scale, area.low + 24 * scale
    for sign, text in reversed(entries):
        x -= text_width(text, size)
        drawn.append(Words(text, (x, y), size, palette.INK))
        x -= 16 * scale
        drawn += _sign(sign, (x, y), scale)
        x -= 24 * scale
    return drawn


def _sign(sign: str, at: Pixel, scale: float) -> list[Drawn]:
    if sign == "ring":
        return ring(at, 8 * scale)
    if sign == "diamond":
        return diamond(at, 8 * scale)
    colour, opacity = {
        "band": (palette.CROP, 0.45),
        "ghost": (palette.GHOST, 0.5),
        "fingers": (palette.FINGERS, 1.0),
    }[sign]
    box = Area(at[0] - 9 * scale, at[1] - 6 * scale, 18 * scale, 12 * scale)
    return [rectangle(box, colour, opacity)]


def panel_overlay(panel: Panel, scale: float) -> list[Drawn]:
    """The panel's title, its marks and its labels, in that order."""
    drawn = panel_title(panel, scale)
    for label in panel.labels:
        drawn += label_drawing(label, scale)
    for mark in reversed(panel.marks):
        drawn += mark_drawing(mark, 9.5 * scale)
    return drawn
