"""The outlines of pieces seen along an axis.

A convex piece is drawn by the convex hull of its projection, a body from a mesh file by its contour
and its visible creases.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

import numpy as np

from meshes_generic.mesh import IntArray
from meshes_generic.shapes import ClosedSurface, Hull, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray
from rigmodel.drawing.primitives import Point

_SIDES = 48
_FEW = 16  # corners of a hull whose facets are looked for here
_EDGE_ON = 1e-6
_CREASE = 0.87  # cosine of the least angle between faces, 30 degrees, that is drawn


class Look(Enum):
    """Where a view looks from: rows are u (right), v (up) and the way to the eye, world axes.

    ABOVE and PLAN both look down: forward is up in the one, to the right in the other.
    """

    ABOVE = ((0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    PLAN = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    BEHIND = ((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0))
    RIGHT = ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))


@dataclass(frozen=True, eq=False)
class Silhouette:
    """One convex piece seen along an axis.

    Attributes:
        hull: corners (k, 3) of its outline, anticlockwise: u, v and the depth of the nearest
            point there, all mm; greater depths are nearer to the eye.
        edges: lines (m, 2, 3) that are drawn: the outline's sides, or the contour and the visible
            creases of a body that is not convex.
        inward: normals (k, 2) of the outline's sides, of length 1, pointing in.
        levels: (k,) a point (u, v) lies inside where inward·(u, v) > levels.
        fronts: planes (t, 3) of the facets that face the eye: depth = a u + b v + c.
        low: least depth.
        high: greatest depth.
    """

    hull: FloatArray
    edges: FloatArray
    inward: FloatArray
    levels: FloatArray
    fronts: FloatArray
    low: float
    high: float

    @property
    def box(self) -> FloatArray:
        """Least and greatest u, v as rows, shape (2, 2)."""
        return np.array((self.hull[:, :2].min(axis=0), self.hull[:, :2].max(axis=0)))

    def shifted(self, by: FloatArray) -> Silhouette:
        """The silhouette moved by u, v and depth, shape (3,)."""
        fronts = self.fronts.copy()
        fronts[:, 2] += by[2] - fronts[:, :2] @ by[:2]
        depth = float(by[2])
        return Silhouette(
            self.hull + by,
            self.edges + by,
            self.inward,
            self.levels + self.inward @ by[:2],
            fronts,
            self.low + depth,
            self.high + depth,
        )

    def front(self, points: FloatArray) -> FloatArray:
        """Depth (n,) of the piece's front at points (n, 2) within its outline.

        The piece is convex, so its front is the lowest of the planes of its front facets.
        """
        depths = points @ self.fronts[:, :2].T + self.fronts[:, 2]
        front: FloatArray = depths.min(axis=1)
        return front


class Seen:
    """Makes silhouettes; equal shapes are meshed once."""

    def __init__(self, look: Look) -> None:
        self._axes = np.array(look.value)
        self._turned: dict[tuple[Shape, bytes], Silhouette] = {}
        self._known: dict[Shape, tuple[FloatArray, IntArray]] = {}

    def piece(self, piece: Piece) -> Silhouette:
        """The silhouette of one placed piece; pieces that only stand elsewhere are shifted."""
        turn = piece.placement[:3, :3]
        key = (piece.shape, np.round(turn, 9).tobytes())
        if key not in self._turned:
            self._turned[key] = self._at_origin(piece.shape, turn)
        return self._turned[key].shifted(self._axes @ piece.placement[:3, 3])

    def _at_origin(self, shape: Shape, turn: FloatArray) -> Silhouette:
        vertices, faces = self._corners(shape)
        points = vertices @ turn.T @ self._axes.T
        corners = points[faces]
        if isinstance(shape, Hull):
            corners = _outward(corners, points)
        hull = points[_hull(points)]
        edges, fronts = np.stack((hull, np.roll(hull, -1, axis=0)), axis=1), _fronts(corners)
        if isinstance(shape, ClosedSurface):  # it need not be convex, so it hides nothing
            edges, fronts = _drawn_edges(points, faces), np.array(((0.0, 0.0, -np.inf),))
        along = np.roll(hull[:, :2], -1, axis=0) - hull[:, :2]
        inward = np.column_stack((-along[:, 1], along[:, 0]))
        inward /= np.maximum(np.hypot(inward[:, 0], inward[:, 1]), 1e-12)[:, None]
        return Silhouette(
            hull,
            edges,
            inward,
            (inward * hull[:, :2]).sum(axis=1),
            fronts,
            float(points[:, 2].min()),
            float(points[:, 2].max()),
        )

    def _corners(self, shape: Shape) -> tuple[FloatArray, IntArray]:
        """Corners of a shape and the triangles that hold its facets.

        A hull's facets are looked for among all its triangles: that needs no library that takes
        longer to load than to draw.
        """
        if shape not in self._known:
            if isinstance(shape, Hull) and len(shape.points) <= _FEW:
                triples = list(combinations(range(len(shape.points)), 3))
                self._known[shape] = (shape.vertices, np.array(triples))
            else:
                mesh = shape.mesh(_SIDES)
                self._known[shape] = (mesh.vertices, mesh.faces)
        return self._known[shape]

    def solids(self, solids: Iterable[Solid]) -> list[Silhouette]:
        """The silhouettes of all pieces."""
        return [self.piece(piece) for solid in solids for piece in solid.pieces]


def _outward(corners: FloatArray, points: FloatArray) -> FloatArray:
    """Those triangles (n, 3 corners, 3) that lie in the hull of the points, turned outwards."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    sizes = np.sqrt((normals * normals).sum(axis=1))
    spans = normals @ points.T - (normals * corners[:, 0]).sum(axis=1)[:, None]
    slack = 1e-6 * sizes
    below, above = spans.max(axis=1) <= slack, spans.min(axis=1) >= -slack
    solid = sizes > 1e-9
    return np.concatenate((corners[below & solid], corners[above & solid][:, ::-1]))


def _fronts(corners: FloatArray) -> FloatArray:
    """Planes (t, 3) of those triangles (n, 3 corners, 3) that face the eye."""
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    facing = normals[:, 2] > _EDGE_ON * np.abs(normals).sum(axis=1)
    normals, starts = normals[facing], corners[facing, 0]
    slopes = -normals[:, :2] / normals[:, 2:]
    return np.column_stack((slopes, starts[:, 2] - (slopes * starts[:, :2]).sum(axis=1)))


def _hull(points: FloatArray) -> list[int]:
    """Indices of the convex hull in the plane, anticlockwise; of equal places the nearest."""
    rounded = np.round(points[:, :2], 4)
    order = np.lexsort((-points[:, 2], rounded[:, 1], rounded[:, 0]))
    kept = np.ones(len(order), dtype=bool)
    kept[1:] = (rounded[order[1:]] != rounded[order[:-1]]).any(axis=1)
    chosen = order[kept].tolist()
    flat = {i: (float(rounded[i, 0]), float(rounded[i, 1])) for i in chosen}

    def half(indices: Iterable[int]) -> list[int]:
        chain: list[int] = []
        for i in indices:
            while len(chain) > 1 and _turn(flat[chain[-2]], flat[chain[-1]], flat[i]) <= 1e-9:
                chain.pop()
            chain.append(i)
        return chain[:-1]

    return half(chosen) + half(reversed(chosen))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _drawn_edges(points: FloatArray, faces: IntArray) -> FloatArray:
    """Edges (m, 2, 3) of a surface that are drawn: its contour, and creases the eye can see.

    Args:
        points: (v, 3) corners as u, v, depth.
        faces: (f, 3) triangles, anticlockwise seen from outside.
    """
    corners = points[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.sqrt((normals * normals).sum(axis=1)), 1e-12)[:, None]
    pairs = np.sort(np.concatenate((faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]])), axis=1)
    owner = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort((pairs[:, 1], pairs[:, 0]))
    pairs, owner = pairs[order], owner[order]
    same = (pairs[1:] == pairs[:-1]).all(axis=1)
    first = np.flatnonzero(same)
    one, two = normals[owner[first]], normals[owner[first + 1]]
    front_one, front_two = one[:, 2] > _EDGE_ON, two[:, 2] > _EDGE_ON
    crease = (one * two).sum(axis=1) < _CREASE
    drawn = (front_one != front_two) | (crease & (front_one | front_two))
    edges: FloatArray = points[pairs[first[drawn]]]
    return edges
