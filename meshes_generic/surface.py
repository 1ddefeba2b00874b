"""A body of any form, given by the closed surface of triangles round it.

The one shape that need not be convex: its support is that of its convex hull, but what is held
against it is taken one triangle at a time (`Piece.convex_pieces`), and what lies inside it is found
by the winding number. A surface is closed when every edge is run through as often one way as the
other; then the winding number is a whole number at every point off the surface.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from meshes_generic.covers import CoverTree, cover_tree
from meshes_generic.mass import MassProperties, tetrahedra_mass
from meshes_generic.mesh import IntArray, Mesh
from meshes_generic.transform import FloatArray
from meshes_generic.triangle import Point, Triangle

Face = tuple[int, int, int]

_AT_ONCE = 200_000  # pairs of point and triangle worked on together


@dataclass(frozen=True)
class ClosedSurface:
    """A body enclosed by triangles, in the axes the points are given in.

    Attributes:
        points: corners of the triangles, mm.
        faces: three numbers of points each, counter-clockwise seen from outside.
    """

    points: tuple[Point, ...]
    faces: tuple[Face, ...]

    def __post_init__(self) -> None:
        """Refuse what does not enclose a volume; ValueError says why."""
        if not np.isfinite(self.vertices).all():
            raise ValueError("points must be finite numbers")
        triangles = self.triangles
        if len(triangles) < 4 or triangles.min() < 0 or triangles.max() >= len(self.points):
            raise ValueError("faces must be at least four, each of three of the points")
        unmatched = len(unmatched_edges(triangles))
        if unmatched:
            raise ValueError(f"the surface must be closed, but {unmatched} edges are open")
        if not self.volume_mm3 > 0.0:
            raise ValueError("faces must face outwards and enclose a volume")

    @classmethod
    def of(cls, vertices: ArrayLike, faces: ArrayLike) -> ClosedSurface:
        """The body inside triangles given as arrays: vertices (v, 3) mm, faces (f, 3)."""
        points = np.asarray(vertices, dtype=np.float64).tolist()
        triples = np.asarray(faces, dtype=np.int64).tolist()
        return cls(tuple(map(tuple, points)), tuple(map(tuple, triples)))

    @cached_property
    def vertices(self) -> FloatArray:
        """The points as a read-only array, shape (v, 3)."""
        array = np.array(self.points, dtype=np.float64).reshape(-1, 3)
        array.setflags(write=False)
        return array

    @cached_property
    def triangles(self) -> IntArray:
        """The faces as a read-only array, shape (f, 3)."""
        array = np.array(self.faces, dtype=np.int64).reshape(-1, 3)
        array.setflags(write=False)
        return array

    @cached_property
    def corners(self) -> FloatArray:
        """Corners of each triangle, shape (f, 3 corners, 3), mm."""
        return self.vertices[self.triangles]

    @cached_property
    def pieces(self) -> tuple[Triangle, ...]:
        """The triangles as convex shapes."""
        return tuple(
            Triangle(self.points[a], self.points[b], self.points[c]) for a, b, c in self.faces
        )

    @cached_property
    def covers(self) -> CoverTree:
        """Boxes over the triangles."""
        return cover_tree(self.pieces)

    @cached_property
    def shell_points(self) -> FloatArray:
        """One point of the surface for each of its connected shells, shape (s, 3), mm."""
        labels = shells(self.triangles, len(self.points))
        used = np.unique(self.triangles)
        _, firsts = np.unique(labels[used], return_index=True)
        return self.vertices[used[firsts]]

    @cached_property
    def volume_mm3(self) -> float:
        """Volume enclosed, mm3: the sum of signed tetrahedra from one point to the triangles."""
        return float(np.linalg.det(self.corners - self._middle).sum()) / 6.0

    @property
    def bounding_radius(self) -> float:
        """Distance of the farthest point from the origin of its axes, mm."""
        return max(math.hypot(x, y, z) for x, y, z in self.points)

    @property
    def _middle(self) -> FloatArray:
        middle: FloatArray = self.vertices.mean(axis=0)
        return middle

    def reach(self, x: float, y: float, z: float) -> float:
        """Support value in the one direction (x, y, z)."""
        return float((self.vertices @ (x, y, z)).max())

    def support(self, directions: FloatArray) -> FloatArray:
        """Support values, shape (n,), in directions of shape (n, 3)."""
        values: FloatArray = (directions @ self.vertices.T).max(axis=1)
        return values

    def support_points(self, directions: FloatArray) -> FloatArray:
        """A farthest point in each direction, shape (n, 3)."""
        points: FloatArray = self.vertices[(directions @ self.vertices.T).argmax(axis=1)]
        return points

    def mass_properties(self, density_kg_m3: float) -> MassProperties:
        """Mass, centroid and inertia when filled with stuff of that density; closed form."""
        middle = self._middle
        about = tetrahedra_mass(self.corners - middle, density_kg_m3 * 1e-9)
        return MassProperties(about.mass_kg, about.centroid_mm + middle, about.inertia_kg_mm2)

    def mesh(self, sides: int = 48) -> Mesh:
        """The surface itself; `sides` makes no difference to a flat-sided shape."""
        return Mesh(self.vertices, self.triangles)

    def mirrored_y(self) -> ClosedSurface:
        """The mirror image in the plane y = 0."""
        return self._mirror

    @cached_property
    def _mirror(self) -> ClosedSurface:
        return ClosedSurface(
            tuple((x, -y, z) for x, y, z in self.points), tuple((a, c, b) for a, b, c in self.faces)
        )

    # Thousands of numbers: hashed once, as every survey looks its shapes up.
    @cached_property
    def _hash(self) -> int:
        return hash((self.points, self.faces))

    def __hash__(self) -> int:
        return self._hash

    def contains(self, points: FloatArray) -> np.ndarray:
        """Whether points (n, 3) lie inside, shape (n,); without meaning on the surface itself."""
        inside: np.ndarray = np.abs(winding_numbers(self.corners, points)) > 0.5
        return inside

    def distances(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Distance of each point (n, 3) from the surface, and the nearest points there.

        Returns:
            Distances (n,) and points (n, 3), mm; inside as well as outside.
        """
        found = [_nearest(self.corners, point) for point in points]
        nearest = np.array(found).reshape(-1, 3)
        return np.linalg.norm(nearest - points, axis=1), nearest


def unmatched_edges(triangles: IntArray) -> IntArray:
    """Edges run through more often one way than the other, as pairs of points, shape (e, 2)."""
    edges = np.concatenate([triangles[:, pair] for pair in ((0, 1), (1, 2), (2, 0))])
    edges = edges[edges[:, 0] != edges[:, 1]]
    low, high = edges.min(axis=1), edges.max(axis=1)
    way = np.where(edges[:, 0] == low, 1, -1)
    kinds, number = np.unique(np.column_stack((low, high)), axis=0, return_inverse=True)
    balance = np.bincount(number.reshape(-1), weights=way, minlength=len(kinds))
    open_ones: IntArray = kinds[balance != 0.0]
    return open_ones


def shells(triangles: IntArray, points: int) -> IntArray:
    """A number for each point, shape (points,), the same all over each connected shell."""
    labels = np.arange(points)
    while True:
        least = labels[triangles].min(axis=1)
        before = labels.copy()
        for k in range(3):
            np.minimum.at(labels, triangles[:, k], least)
        labels = labels[labels]  # points to the label of its label: long chains shorten fast
        if (labels == before).all():
            return labels


def winding_numbers(corners: FloatArray, points: FloatArray) -> FloatArray:
    """How often triangles (f, 3 corners, 3) wind round points (n, 3), shape (n,).

    It is the sum of the solid angles they span as seen from the point, over 4π. With a, b, c the
    corners seen from the point, of lengths A, B, C, a triangle spans the solid angle Ω with

        tan(Ω/2) = a·(b × c) / (ABC + (a·b) C + (b·c) A + (c·a) B).
    """
    totals = [np.zeros(0)]
    for seen in _seen(corners, points):
        a, b, c = seen[:, :, 0], seen[:, :, 1], seen[:, :, 2]
        sizes = np.linalg.norm(seen, axis=3)
        one, two, three = sizes[..., 0], sizes[..., 1], sizes[..., 2]
        triple = np.einsum("nfx,nfx->nf", a, np.cross(b, c))
        below = one * two * three + np.einsum("nfx,nfx->nf", a, b) * three
        below += np.einsum("nfx,nfx->nf", b, c) * one + np.einsum("nfx,nfx->nf", c, a) * two
        totals.append(np.arctan2(triple, below).sum(axis=1) / (2.0 * math.pi))
    return np.concatenate(totals)


def _seen(corners: FloatArray, points: FloatArray) -> Iterator[FloatArray]:
    """Corners as seen from points, (some points, f, 3 corners, 3), a few points at a time."""
    step = max(1, _AT_ONCE // max(1, len(corners)))
    for start in range(0, len(points), step):
        yield corners[None] - points[start : start + step, None, None]


def _nearest(corners: FloatArray, point: FloatArray) -> FloatArray:
    """The point of some triangles (f, 3 corners, 3) that is nearest to a point (3,)."""
    ends = np.roll(corners, -1, axis=1)
    edges = ends - corners
    lengths = np.einsum("fkx,fkx->fk", edges, edges)
    along = np.einsum("fkx,fkx->fk", point - corners, edges)
    share = np.divide(along, lengths, out=np.zeros_like(along), where=lengths > 0.0)
    on_edges = corners + np.clip(share, 0.0, 1.0)[:, :, None] * edges
    candidates = [on_edges.reshape(-1, 3)]
    normal = np.cross(edges[:, 0], edges[:, 1])
    size = np.einsum("fx,fx->f", normal, normal)
    # The foot on a triangle's plane counts where it is on the inner side of all three edges.
    inner = np.einsum("fkx,fx->fk", np.cross(edges, point - corners), normal) >= 0.0
    over = inner.all(axis=1) & (size > 0.0)
    height = np.einsum("fx,fx->f", point - corners[over, 0], normal[over]) / size[over]
    candidates.append(point - height[:, None] * normal[over])
    listed = np.concatenate(candidates)
    nearest: FloatArray = listed[int(((listed - point) ** 2).sum(axis=1).argmin())]
    return nearest
