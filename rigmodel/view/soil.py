"""The soil as it is drawn: from above it shows through; seen level it is a cut behind the rig."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from meshes_generic.mesh import IntArray, Mesh, merge
from meshes_generic.transform import FloatArray
from rigmodel.assembly.soil import SoilProfile
from rigmodel.view import palette
from rigmodel.view.options import View
from rigmodel.view.picture import Lines, Surface
from rigmodel.view.raster import covered, softened

_DEEP = {View.FRONT: 150.0, View.SIDE: 170.0}  # soil drawn under the lowest part, mm
_DEEP_ABOVE = 60.0  # the same where the view is from above
_CELL = 18.0  # of the shadows on it, mm
_SOFT = 2  # cells that a shadow's edge is softened by
_DARKEST = 0.42
_SUN = (0.12, 0.17)  # how far a shadow goes along x and y for each mm of height


def profile(soil: SoilProfile, bounds: FloatArray) -> list[tuple[float, float]]:
    """Points (y, z) of the surface from the right edge of `bounds` (2, 3) to the left one, mm."""
    right, left = float(bounds[0, 1]), float(bounds[1, 1])
    reach = max(abs(right), abs(left)) + 1.0
    inside = [(y, z) for y, z in soil.corners(reach) if right < y < left]
    return [(right, soil.height(right)), *inside, (left, soil.height(left))]


def soil_surfaces(
    soil: SoilProfile, view: View, bounds: FloatArray, shading: Sequence[Mesh]
) -> tuple[Surface, ...]:
    """The soil under everything inside `bounds` (2, 3), mm.

    Args:
        soil: the ground.
        view: the view it is for.
        bounds: of what stands on it, with a margin.
        shading: what throws a shadow on it.
    """
    lowest = min(float(bounds[0, 2]), *(z for _, z in profile(soil, bounds)))
    deep = lowest - _DEEP.get(view, _DEEP_ABOVE)
    if view in (View.FRONT, View.SIDE):
        return (_cut(soil, view, bounds, deep),)
    return (_floor(bounds, deep), _walls(soil, bounds, deep), _top(soil, bounds, shading))


def surface_line(soil: SoilProfile, view: View, bounds: FloatArray) -> Lines:
    """The soil's surface where it is seen edge on, in front of what works in it."""
    (back, _, _), (front, left, _) = bounds.tolist()
    points = np.zeros((1, 3))
    if view is View.SIDE:
        height = max(z for _, z in profile(soil, bounds))
        points = np.array([(back, left, height), (front, left, height)])
    elif view is View.FRONT:
        points = np.array([(front, y, z) for y, z in profile(soil, bounds)])
    ends = np.stack((points[:-1], points[1:]), axis=1)
    return Lines("soil/surface", ends, palette.SOIL_DEEP, 1.6)


def _top(soil: SoilProfile, bounds: FloatArray, shading: Sequence[Mesh]) -> Surface:
    """The surface as a grid, darker where a shadow falls."""
    (back, right, _), (front, left, _) = bounds.tolist()
    xs = np.linspace(back, front, max(2, round((front - back) / _CELL)) + 1)
    even = np.linspace(right, left, max(2, round((left - right) / _CELL)) + 1)
    ys = np.unique(np.concatenate((even, [y for y, _ in profile(soil, bounds)])))
    zs = np.array([soil.height(float(y)) for y in ys])
    x, y = np.meshgrid(xs, ys)
    z = np.broadcast_to(zs[:, None], x.shape)
    dark = _shadow(shading, bounds, len(even) - 1, len(xs) - 1)
    rows = np.clip(np.searchsorted(even, ys) - 1, 0, dark.shape[0] - 1)
    columns = np.clip(np.arange(len(xs)), 0, dark.shape[1] - 1)
    shade = 1.0 - _DARKEST * dark[np.ix_(rows, columns)]
    mesh = Mesh(np.column_stack((x.ravel(), y.ravel(), z.ravel())), _grid_faces(*x.shape))
    return Surface("soil/top", mesh, palette.SOIL_TOP, shade.ravel())


def _grid_faces(rows: int, columns: int) -> IntArray:
    first = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    across = first + columns
    return np.concatenate(
        [
            np.column_stack((first, first + 1, across + 1)),
            np.column_stack((first, across + 1, across)),
        ]
    )


def _shadow(shading: Sequence[Mesh], bounds: FloatArray, rows: int, columns: int) -> FloatArray:
    """Share of the light that each cell of the ground loses, (rows, columns), 0 to 1."""
    whole = merge(shading)
    points = whole.vertices
    height = np.maximum(points[:, 2], 0.0)
    size = (bounds[1] - bounds[0])[:2]
    shift = np.column_stack([share * height for share in _SUN])
    flat = (points[:, :2] - shift - bounds[0, :2]) / size * (columns, rows)
    return softened(covered(flat[whole.faces], rows, columns), _SOFT)


def _floor(bounds: FloatArray, deep: float) -> Surface:
    (back, right, _), (front, left, _) = bounds.tolist()
    corners = [(back, right, deep), (front, right, deep), (front, left, deep), (back, left, deep)]
    mesh = Mesh(np.array(corners), np.array([(0, 1, 2), (0, 2, 3)]))
    return Surface("soil/floor", mesh, palette.SOIL_FLOOR)


def _walls(soil: SoilProfile, bounds: FloatArray, deep: float) -> Surface:
    """The four upright sides of the block of soil."""
    back, front = float(bounds[0, 0]), float(bounds[1, 0])
    line = profile(soil, bounds)
    (y0, z0), (y1, z1) = line[0], line[-1]
    sides = [
        ((back, y0, deep), (front, y0, deep), (front, y0, z0), (back, y0, z0)),
        ((front, y1, deep), (back, y1, deep), (back, y1, z1), (front, y1, z1)),
    ]
    for (ya, za), (yb, zb) in pairwise(line):
        sides.append(((front, ya, deep), (front, yb, deep), (front, yb, zb), (front, ya, za)))
        sides.append(((back, yb, deep), (back, ya, deep), (back, ya, za), (back, yb, zb)))
    square = np.array([(0, 1, 2), (0, 2, 3)])
    mesh = merge(Mesh(np.array(corners), square) for corners in sides)
    return Surface("soil/walls", mesh, palette.SOIL_WALLS)


def _cut(soil: SoilProfile, view: View, bounds: FloatArray, deep: float) -> Surface:
    """The soil's section at the far end of what is seen."""
    (back, right, _), (front, _, _) = bounds.tolist()
    if view is View.FRONT:
        upper = [(back, y, z) for y, z in profile(soil, bounds)]
    else:
        height = max(z for _, z in profile(soil, bounds))
        upper = [(back, right, height), (front, right, height)]
    lower = [(x, y, deep) for x, y, _ in upper]
    n = len(upper)
    faces = [f for i in range(n - 1) for f in ((n + i, n + i + 1, i + 1), (n + i, i + 1, i))]
    return Surface("soil/cut", Mesh(np.array(upper + lower), np.array(faces)), palette.SOIL_CUT)
