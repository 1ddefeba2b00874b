"""Findings as marks on a picture: a fail is a diamond with a cross, an advise is a ring."""

from __future__ import annotations

import math

import numpy as np

from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.units import Unit, format_setting
from rigmodel.view import palette
from rigmodel.view.camera import project
from rigmodel.view.picture import Area, Camera, Drawn, Fill, Mark, Pixel, Shape

SHAPES = {Verdict.FAIL: Shape.DIAMOND, Verdict.ADVISE: Shape.RING}
COLOURS = {Shape.DIAMOND: palette.FAIL, Shape.RING: palette.ADVISE}
_ROUND = 28
_SAME = 1.5  # pixels


def marks(findings: Findings, camera: Camera, area: Area, unit: Unit) -> tuple[Mark, ...]:
    """Every fail and advise that has a place, worst first; equal ones at one place once."""
    found: dict[tuple[object, ...], Mark] = {}
    order = sorted(enumerate(findings.findings), key=lambda item: item[1].verdict is Verdict.ADVISE)
    for index, finding in order:
        shape = SHAPES.get(finding.verdict)
        if shape is None or not finding.at:
            continue
        flat = project(camera, area, np.array(finding.at, dtype=float))
        ends = [(float(x), float(y)) for x, y in flat]
        if len(ends) > 1 and math.dist(ends[0], ends[-1]) < _SAME:
            ends = ends[:1]
        text = number(finding, unit)
        key = (shape, text, tuple((round(x / 4), round(y / 4)) for x, y in ends))
        found.setdefault(key, Mark(shape, (ends[0], ends[-1])[: len(ends)], text, index))
    return tuple(found.values())


def number(finding: Finding, unit: Unit) -> str:
    """The measured value as a fitter reads it, or the check's id where there is no number."""
    if finding.value is None:
        return finding.check
    if finding.unit == "mm":
        return format_setting(finding.value, unit)
    unit_word = "°" if finding.unit == "deg" else f" {finding.unit}"
    return f"{finding.value:.1f}".removesuffix(".0") + unit_word


def mark_drawing(mark: Mark, size: float) -> list[Drawn]:
    """The fills of a mark; `size` is the half-width of its shape in pixels."""
    colour = COLOURS[mark.shape]
    drawn: list[Drawn] = []
    if len(mark.ends) == 2:
        drawn += [
            stroke(*mark.ends, 0.62 * size, "#ffffff"),
            stroke(*mark.ends, 0.3 * size, colour),
        ]
    for end in mark.ends:
        drawn += diamond(end, size) if mark.shape is Shape.DIAMOND else ring(end, size)
    return drawn


def diamond(at: Pixel, size: float) -> list[Drawn]:
    """A filled diamond with a white cross in it."""
    arm, thick = 0.38 * size, 0.26 * size
    (x, y) = at
    return [
        Fill(_polygon(at, 1.38 * size, 4), "#ffffff"),
        Fill(_polygon(at, 1.16 * size, 4), palette.FAIL),
        stroke((x - arm, y - arm), (x + arm, y + arm), thick, "#ffffff"),
        stroke((x - arm, y + arm), (x + arm, y - arm), thick, "#ffffff"),
    ]


def ring(at: Pixel, size: float) -> list[Drawn]:
    """An open ring; what it marks stays in sight inside it."""
    drawn: list[Drawn] = []
    for outer, inner, colour in ((1.12, 0.52, "#ffffff"), (0.98, 0.66, palette.ADVISE)):
        drawn += _annulus(at, outer * size, inner * size, colour)
    return drawn


def _polygon(at: Pixel, radius: float, corners: int) -> tuple[Pixel, ...]:
    turns = [2.0 * math.pi * k / corners for k in range(corners)]
    return tuple((at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns)


def _annulus(at: Pixel, outer: float, inner: float, colour: str) -> list[Drawn]:
    out, ins = _polygon(at, outer, _ROUND), _polygon(at, inner, _ROUND)
    return [Fill((out[k - 1], out[k], ins[k], ins[k - 1]), colour) for k in range(_ROUND)]


def stroke(start: Pixel, end: Pixel, width: float, colour: str) -> Fill:
    """A straight stroke of some width as a fill."""
    length = math.dist(start, end) or 1.0
    across = (
        -(end[1] - start[1]) / length * width / 2.0,
        (end[0] - start[0]) / length * width / 2.0,
    )
    return Fill(
        (
            (start[0] + across[0], start[1] + across[1]),
            (end[0] + across[0], end[1] + across[1]),
            (end[0] - across[0], end[1] - across[1]),
            (start[0] - across[0], start[1] - across[1]),
        ),
        colour,
    )
