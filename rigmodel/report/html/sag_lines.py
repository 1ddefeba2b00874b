"""The loaded bar as the 3D view shows it: bent many times farther than it is, as lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.loads import words
from rigmodel.loads.bar import missing, solve_bar
from rigmodel.loads.hung import BentBar, to_bar
from rigmodel.loads.side import acts_at
from rigmodel.units import Unit

_STEPS = 49  # places along the bar
_LARGER = (1000, 500, 200, 100, 50, 20, 10, 5, 2, 1)
_MOST_MM = 400.0  # what moves farthest is drawn no farther off than this
_LEAST_MM = 1e-3  # a bar that moves less is not drawn


@dataclass(frozen=True, eq=False)
class SagLines:
    """A bent bar with its rigid tools and its struts.

    Attributes:
        strokes: ends of the lines in the bar's axes, shape (n, 2, 3), mm.
        larger: how many times farther than they go the points are drawn.
        told: what is drawn, in words.
    """

    strokes: FloatArray
    larger: int
    told: str


@lru_cache(maxsize=2)  # the boxes beside the view and the model ask for the same rig
def sag_lines(assembly: Assembly) -> SagLines | None:
    """The bent bar of a rig; None where it is not known or too straight to be seen."""
    if missing(assembly):
        return None
    bent, half = solve_bar(assembly).bent, assembly.scene.spec.toolbar.length / 2.0
    along = np.linspace(-half, half, _STEPS)
    moves = bent.moved(along)
    most = float(np.abs(moves).max())
    if most < _LEAST_MM:
        return None
    larger = next((n for n in _LARGER if n * most <= _MOST_MM), 1)
    strokes = [*_bar(assembly, bent, along, larger), *_tools(assembly, bent, larger)]
    strokes += _struts(assembly, bent, larger)
    return SagLines(np.concatenate(strokes), larger, _told(moves, larger, assembly.scene.unit))


def _told(moves: FloatArray, larger: int, unit: Unit) -> str:
    """How far the ends go, with how many times larger it is drawn."""

    def end(side: str, ahead: float, up: float) -> str:
        height = f"{_short(up, unit)} {'up' if up > 0.0 else 'down'}"
        return f"{side} end {height}, {_short(ahead, unit)} {'ahead' if ahead > 0.0 else 'back'}"

    left, right = (end(side, *moves[k, ::2].tolist()) for side, k in (("left", -1), ("right", 0)))
    return f"Bent bar, {larger} × as far ({left}; {right})"


def _short(mm: float, unit: Unit) -> str:
    return words.deflection(mm, unit).partition(" (")[0]


def _bent(bent: BentBar, at: FloatArray, points: FloatArray, larger: int) -> FloatArray:
    """Points (m, 3) that are fixed to the bar at places (m,) along it, after it has bent."""
    arms = points - np.column_stack((np.zeros(len(at)), at, np.zeros(len(at))))
    moved: FloatArray = points + larger * (bent.moved(at) + np.cross(bent.turns(at), arms))
    return moved


def _bar(assembly: Assembly, bent: BentBar, along: FloatArray, larger: int) -> Iterator[FloatArray]:
    """Its four edges, and both ends."""
    side = assembly.scene.tube.size / 2.0
    corners = [(-side, -side), (side, -side), (side, side), (-side, side)]
    edges = [
        _bent(
            bent,
            along,
            np.column_stack((np.full(len(along), x), along, np.full(len(along), z))),
            larger,
        )
        for x, z in corners
    ]
    for edge, other in zip(edges, [*edges[1:], edges[0]], strict=True):
        yield np.stack((edge[:-1], edge[1:]), axis=1)
        yield np.stack((edge[[0, -1]], other[[0, -1]]), axis=1)


def _tools(assembly: Assembly, bent: BentBar, larger: int) -> Iterator[FloatArray]:
    """From the bar to each tool that has no arm, and the width of the soil it works."""
    for tool in assembly.tools:
        if not tool.arm:
            at = assembly.station[tool.station].place_mm
            root = np.array((0.0, at, 0.0))
            points = np.array((root, *_works(assembly, tool)))
            found = _bent(bent, np.full(len(points), at), points, larger)
            yield np.array((found[[0, 1]], found[[2, 3]]))


def _works(assembly: Assembly, tool: ToolPlace) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Middle, right and left end of what a tool works, in the bar's axes."""
    back = to_bar(assembly)
    tip = acts_at(assembly, tool)
    ends = (tip, np.array((tip[0], tool.low_mm, tip[2])), np.array((tip[0], tool.high_mm, tip[2])))
    middle, right, left = (back[:3, :3] @ end + back[:3, 3] for end in ends)
    return middle, right, left


def _struts(assembly: Assembly, bent: BentBar, larger: int) -> Iterator[FloatArray]:
    for strut in assembly.struts:
        at, foot = np.array([strut.clamp.centre_mm]), np.array([strut.foot_mm])
        yield np.array([(_bent(bent, at, foot, larger)[0], strut.top_mm)])
