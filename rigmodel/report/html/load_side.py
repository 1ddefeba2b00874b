"""The rig from its left with the forces on it: weight at its balance, draft, and what holds it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import Part, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.bar import pulls
from rigmodel.loads.constants import GRAVITY
from rigmodel.report.html.markup import Html, scrolled, tag

_WIDE, _EDGE = 1000.0, 190.0  # the edges leave room for arrows and their words
_OVER, _UNDER = 100.0, 50.0
_TALLEST = 420.0
_ARROW = 74.0
_ROUND = 72  # directions an outline is looked at from
_TURNS = np.linspace(0.0, 2.0 * math.pi, _ROUND, endpoint=False)
_AROUND = np.column_stack((np.cos(_TURNS), np.zeros(_ROUND), np.sin(_TURNS)))


@dataclass(frozen=True)
class _Sheet:
    """Where a place stands on the drawing; forward is left."""

    ahead: float
    top: float
    size: float

    def x(self, mm: float) -> float:
        return _EDGE + (self.ahead - mm) * self.size

    def y(self, mm: float) -> float:
        return _OVER + (self.top - mm) * self.size


def side_view(assembly: Assembly, found: Account) -> Html:
    """The drawing with its caption; forces are told in words too."""
    rig = [_outline(assembly, part) for part in _seen(assembly)]
    tyres = [
        _outline(assembly, part) for part in assembly.mechanism.parts if part.role is Role.TYRE
    ]
    shown = [points for part in rig for points in part]
    every = np.concatenate([*shown, np.zeros((1, 2)), _pivot_at(assembly)])
    (back, low), (ahead, top) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    size = min((_WIDE - 2.0 * _EDGE) / (ahead - back), _TALLEST / (top - low))
    ahead += ((_WIDE - 2.0 * _EDGE) / size - (ahead - back)) / 2.0
    sheet = _Sheet(ahead, top, size)
    high = sheet.y(low) + _UNDER
    forces = list(_forces(assembly, found, sheet))
    told = "; ".join(text for text, _ in forces)
    soil = sheet.y(0.0)
    drawing = tag(
        "svg",
        {
            "class": "coverage loads sideways",
            "viewBox": f"0 0 {_WIDE:g} {high:.0f}",
            "role": "img",
            "aria-label": f"The rig at work from its left, forward to the left: {told}.",
        },
        tag("line", {"class": "grid zero", "x1": 0.0, "x2": _WIDE, "y1": soil, "y2": soil}),
        tag("text", {"class": "side end", "x": _WIDE - 4.0, "y": soil + 15.0}, "soil"),
        tag("text", {"class": "side start", "x": 4.0, "y": high - 6.0}, "← forward"),
        [_shape(sheet, points, "tyre") for part in tyres for points in part],
        [_shape(sheet, points, "steel") for part in rig for points in part],
        [drawn for _, drawn in forces],
    )
    return tag(
        "figure",
        None,
        scrolled("Forces from the side", drawing),
        tag("figcaption", None, f"The rig at work from its left, and what acts on it: {told}."),
    )


def _pivot_at(assembly: Assembly) -> FloatArray:
    """Where the lift turns, ahead and up, shape (1, 2); none for a parallel lift, shape (0, 2)."""
    if assembly.scene.tractor.lift.kind == "parallel":
        return np.zeros((0, 2))
    index = [frame.name for frame in assembly.mechanism.frames].index("lift")
    x, _, z = assembly.work_frames[index][:3, 3].tolist()
    return np.array([(x, z)])


def _seen(assembly: Assembly) -> Iterator[Part]:
    """The bar, and one of the stations that look alike from the side."""
    yield assembly.mechanism.part("bar")
    known: set[tuple[int, float]] = set()
    for station in assembly.stations:
        if (station.index, station.rank_mm) not in known:
            known.add((station.index, station.rank_mm))
            yield from map(assembly.mechanism.part, station.parts)


def _outline(assembly: Assembly, part: Part) -> list[FloatArray]:
    """Outlines of a part's pieces from the side: ahead and up, shape (n, 2) each, mm."""
    pieces = assembly.at_work(part).pieces
    return [piece.support_points(_AROUND)[:, (0, 2)] for piece in pieces]


def _shape(sheet: _Sheet, points: FloatArray, kind: str) -> Html:
    places = [f"{sheet.x(x):.1f} {sheet.y(z):.1f}" for x, z in points.tolist()]
    return tag("path", {"class": kind, "d": f"M{'L'.join(dict.fromkeys(places))}z"})


def _forces(assembly: Assembly, found: Account, sheet: _Sheet) -> Iterator[tuple[str, Html]]:
    """Every force in words, and drawn."""
    unit, say = assembly.scene.unit, assembly.scene.say
    x, _, z = found.balances[0].centre_mm.tolist()
    weight = found.rig_kg * GRAVITY
    text = f"weight {words.force(weight, unit)} at the centre of gravity"
    yield text, _balance(sheet, x, z, f"weight {words.force(weight, unit)}")
    pull = found.pull
    if pull is not None and pull.draft_n > 0.0:
        back, height = _draft_at(assembly)
        high = words.force(pull.high_n, unit)
        told = f"draft {high}" if pull.high_n == pull.low_n else (
            f"draft {high} at the high end of its range, {words.force(pull.low_n, unit)} at the low"
        )  # fmt: skip
        yield (
            f"{told}, {say(abs(height))} {'over' if height >= 0.0 else 'under'} the soil (that of "
            "tools on arms acts on the rig at their pivots)",
            _arrow(sheet, back, height, (1.0, 0.0), f"draft {high}"),
        )
    if found.hangers:
        bar = assembly.work_frames[assembly.mechanism.part("bar").frame][:3, 3]
        up = sum(hanger.up_n for hanger in found.hangers)
        ahead = sum(hanger.ahead_n for hanger in found.hangers)
        yield (
            f"the hangers hold the bar up with {words.force(up, unit)} and ahead with "
            f"{words.force(ahead, unit)}",
            tag(
                "g",
                None,
                _arrow(sheet, float(bar[0]), float(bar[2]), (0.0, -1.0),
                       f"up {words.force(up, unit)}"),
                _arrow(sheet, float(bar[0]), float(bar[2]), (-1.0, 0.0),
                       f"ahead {words.force(ahead, unit)}"),
            ),
        )  # fmt: skip
    for pivot_x, pivot_z in _pivot_at(assembly).tolist():
        lever = abs(x - pivot_x)
        moment = words.moment(weight * lever / 1000.0, unit)
        yield (
            f"moment of the weight about the lift's pivot {moment}, lever {say(lever)}",
            _pivot(sheet, pivot_x, pivot_z),
        )


def _draft_at(assembly: Assembly) -> tuple[float, float]:
    """Where the resultant of all drafts acts, ahead and up, world axes, mm."""
    bar = assembly.work_frames[assembly.mechanism.part("bar").frame]
    forces = pulls(assembly)
    size = np.array([float(np.linalg.norm(force.force_n)) for force in forces])
    places = np.array([force.arm_mm + np.array((0.0, force.at_mm, 0.0)) for force in forces])
    x, _, z = (bar[:3, :3] @ (size @ places / size.sum()) + bar[:3, 3]).tolist()
    return x, z


def _arrow(sheet: _Sheet, x: float, z: float, way: tuple[float, float], label: str) -> Html:
    """An arrow that starts at a place and points some way over the drawing, with its label."""
    from_x, from_y = sheet.x(x), sheet.y(z)
    to_x, to_y = from_x + way[0] * _ARROW, from_y + way[1] * _ARROW
    head_x, head_y = to_x - way[0] * 9.0, to_y - way[1] * 9.0
    side_x, side_y = way[1] * 5.0, way[0] * 5.0
    points = (
        f"M{to_x:.1f} {to_y:.1f}L{head_x + side_x:.1f} {head_y + side_y:.1f}"
        f"L{head_x - side_x:.1f} {head_y - side_y:.1f}z"
    )
    if way[0]:
        beside = "start" if way[0] > 0.0 else "end"
        place = (to_x + way[0] * 5.0, to_y + 4.0)
    else:
        beside, place = "middle", (to_x, to_y - 5.0 if way[1] < 0.0 else to_y + 15.0)
    return tag(
        "g",
        {"class": "force"},
        tag("line", {"x1": from_x, "y1": from_y, "x2": head_x, "y2": head_y}),
        tag("path", {"d": points}),
        tag("text", {"class": f"value {beside}", "x": place[0], "y": place[1]}, label)
        if label
        else "",
    )


def _balance(sheet: _Sheet, x: float, z: float, label: str) -> Html:
    """The usual sign of a centre of gravity, quarters black and white, with its weight."""
    at_x, at_y = sheet.x(x), sheet.y(z)
    return tag(
        "g",
        None,
        _arrow(sheet, x, z, (0.0, 1.0), ""),
        tag("text", {"class": "value start", "x": at_x + 13.0, "y": at_y + 4.0}, label),
        tag("path", {"class": "balance", "d": f"M{at_x - 8:.1f} {at_y:.1f}a8 8 0 1 1 16 0"
                     f"a8 8 0 1 1 -16 0z"}),
        tag("path", {"class": "quarters", "d": f"M{at_x:.1f} {at_y:.1f}v-8a8 8 0 0 1 8 8z"
                     f"M{at_x:.1f} {at_y:.1f}v8a8 8 0 0 1 -8 -8z"}),
    )  # fmt: skip


def _pivot(sheet: _Sheet, x: float, z: float) -> Html:
    at_x, at_y = sheet.x(x), sheet.y(z)
    return tag(
        "g",
        None,
        tag("path", {"class": "hanger", "d": f"M{at_x - 5:.1f} {at_y:.1f}a5 5 0 1 1 10 0"
                     "a5 5 0 1 1 -10 0z"}),
        tag("text", {"class": "value", "x": at_x, "y": at_y + 20.0}, "lift's pivot"),
    )  # fmt: skip
