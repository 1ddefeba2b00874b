"""Which cells of a grid triangles cover: for labels to keep clear of, and for shadows."""

from __future__ import annotations

import numpy as np

from meshes_generic.transform import FloatArray

_MOST_STEPS = 256
_CHUNK = 20000


def covered(triangles: FloatArray, rows: int, columns: int) -> FloatArray:
    """A grid (rows, columns) with 1.0 in every cell that one of the triangles covers, else 0.0.

    Args:
        triangles: corners (n, 3, 2) in cells: x along the columns, y along the rows.
        rows: number of rows.
        columns: number of columns.
    """
    grid = np.zeros((rows, columns))
    if not len(triangles):
        return grid
    longest = np.abs(triangles - np.roll(triangles, 1, axis=1)).max(axis=(1, 2))
    steps = 2 ** np.ceil(np.log2(np.clip(longest * 1.2, 1.0, _MOST_STEPS))).astype(np.int64)
    for step in np.unique(steps):
        weights = _weights(int(step))
        some = triangles[steps == step]
        size = max(1, _CHUNK // len(weights))
        for start in range(0, len(some), size):
            _mark(grid, np.tensordot(some[start : start + size], weights, axes=(1, 1)))
    return grid


def _weights(step: int) -> FloatArray:
    """Barycentric weights (k, 3) of points a cell or less apart in a triangle `step` cells long."""
    share = np.linspace(0.0, 1.0, step + 1)
    u, v = np.meshgrid(share, share)
    inside = u + v <= 1.0 + 1e-9
    return np.column_stack((u[inside], v[inside], 1.0 - u[inside] - v[inside]))


def _mark(grid: FloatArray, points: FloatArray) -> None:
    """Marks the cells of points (n, 2, k)."""
    cells = np.floor(points).astype(np.int64)
    x, y = cells[:, 0].ravel(), cells[:, 1].ravel()
    inside = (x >= 0) & (y >= 0) & (x < grid.shape[1]) & (y < grid.shape[0])
    grid[y[inside], x[inside]] = 1.0


def softened(grid: FloatArray, reach: int) -> FloatArray:
    """The grid averaged over squares of 2·reach + 1 cells, twice; same shape."""
    for _ in range(2):
        for axis in (0, 1):
            grid = _averaged(grid, reach, axis)
    return grid


def _averaged(grid: FloatArray, reach: int, axis: int) -> FloatArray:
    pads = [(0, 0), (0, 0)]
    pads[axis] = (reach + 1, reach)
    sums = np.pad(grid, pads).cumsum(axis=axis)
    size, wide = grid.shape[axis], 2 * reach + 1
    high = np.take(sums, range(wide, wide + size), axis=axis)
    low = np.take(sums, range(size), axis=axis)
    mean: FloatArray = (high - low) / wide
    return mean
