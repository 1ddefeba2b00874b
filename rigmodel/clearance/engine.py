"""The distance engine behind the certificate: proposes directions and witness points.

Nothing here is trusted for a lower bound; see `separation`.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable, Sequence
from functools import singledispatch
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from meshes_generic.shapes import (
    Box,
    Cylinder,
    Frustum,
    Hull,
    RoundedDisc,
    Shape,
    Sphere,
    Triangle,
)
from meshes_generic.transform import FloatArray


def _loaded(name: str) -> Any:
    """A compiled module whose functions are bound when first called: it loads a fifth faster."""
    if not hasattr(sys, "setdlopenflags"):  # Windows has no such choice
        return import_module(name)
    flags = sys.getdlopenflags()
    sys.setdlopenflags(flags & ~os.RTLD_NOW | os.RTLD_LAZY)
    try:
        return import_module(name)
    finally:
        sys.setdlopenflags(flags)


coal = _loaded("coal")

ABSURD_MM = 1e7
"""No rig is ten kilometres long: a larger answer is a failure of the engine."""

# Corners around a frustum's rims. They lie on the true rims, so the engine's body is inside the
# true one and its distance errs high, never low. About x they crowd together: `polished` spins
# the body until that spot bears, and each spin leaves a third of the angle it was off by.
_SIDES = 48
_CROWD = np.geomspace(1e-4, math.pi / _SIDES, 20)[:-1]
_CORNERS = np.concatenate((np.arange(_SIDES) * (2.0 * math.pi / _SIDES), _CROWD, -_CROWD))
# Far below the touching tolerance for shapes of a few metres; finer does not converge.
_TOLERANCE = 1e-8

Answer = tuple[float, FloatArray, FloatArray]
"""Signed distance in mm, unit direction from A to B, and the witness point on A; A's axes."""


def answered(values: FloatArray, normals: FloatArray, points: FloatArray) -> NDArray[np.bool_]:
    """Whether the engine gave an answer at all: it may give zeros, absurd numbers or none.

    Args:
        values: signed distances, shape (n,), mm.
        normals: directions, shape (n, 3).
        points: witness points, shape (n, 3), mm.
    """
    sizes = np.sqrt((normals * normals).sum(axis=1))
    found: NDArray[np.bool_] = (np.abs(values) < ABSURD_MM) & (np.abs(sizes - 1.0) < 0.01)
    return found & (np.abs(points) < ABSURD_MM).all(axis=1)


Query = Callable[[Any, Any, Any, Any], float]


@singledispatch
def _geometry(shape: Shape) -> Any:
    raise TypeError(f"no engine geometry for {type(shape).__name__}")


@_geometry.register
def _(shape: Box) -> Any:
    return coal.Box(shape.size_x, shape.size_y, shape.size_z)


@_geometry.register
def _(shape: Cylinder) -> Any:
    return coal.Cylinder(shape.radius, shape.height)


@_geometry.register
def _(shape: Sphere) -> Any:
    return coal.Sphere(shape.radius)


@_geometry.register
def _(shape: RoundedDisc) -> Any:
    if shape.core_radius <= 0.0:
        return coal.Sphere(shape.radius)
    geometry = coal.Cylinder(shape.core_radius, 0.0)
    geometry.setSweptSphereRadius(shape.thickness / 2.0)
    return geometry


@_geometry.register
def _(shape: Frustum) -> Any:
    ring = np.column_stack((np.cos(_CORNERS), np.sin(_CORNERS), np.zeros_like(_CORNERS)))
    half = np.array((0.0, 0.0, shape.height / 2.0))
    return _hull(
        np.concatenate((shape.radius_bottom * ring - half, shape.radius_top * ring + half))
    )


@_geometry.register
def _(shape: Hull) -> Any:
    return _hull(shape.vertices)


@_geometry.register
def _(shape: Triangle) -> Any:
    points, faces = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
    for point in shape.vertices:
        points.append(point)
    faces.append(coal.Triangle(0, 1, 2))
    faces.append(coal.Triangle(0, 2, 1))
    return coal.Convex(points, faces)


def _hull(points: FloatArray) -> Any:
    vector = coal.StdVec_Vec3s()
    for point in points:
        vector.append(point)
    return coal.Convex.convexHull(vector, False, "")


class DistanceEngine:
    """Signed distances of pairs of shapes; keeps geometry and scratch objects between calls."""

    def __init__(self) -> None:
        self._geometries: dict[Shape, Any] = {}
        self._queries: dict[tuple[Shape, Shape], Query] = {}
        self._at_a = coal.Transform3s()
        self._spun_a = coal.Transform3s()
        self._at_b = coal.Transform3s()
        self._result = coal.DistanceResult()
        self._request = coal.DistanceRequest()
        self._request.enable_signed_distance = True
        self._request.gjk_tolerance = _TOLERANCE
        self._request.epa_tolerance = _TOLERANCE
        self._request.gjk_max_iterations = 256
        self._request.epa_max_iterations = 128

    def query(self, shape_a: Shape, shape_b: Shape) -> Query:
        """The engine's function for a pair of shapes."""
        found = self._queries.get((shape_a, shape_b))
        if found is None:
            found = coal.ComputeDistance(self._of(shape_a), self._of(shape_b))
            self._queries[shape_a, shape_b] = found
        return found

    def _of(self, shape: Shape) -> Any:
        geometry = self._geometries.get(shape)
        if geometry is None:
            geometry = self._geometries[shape] = _geometry(shape)
        return geometry

    def distance(
        self, shape_a: Shape, shape_b: Shape, turn: FloatArray, offset: FloatArray
    ) -> Answer:
        """Answer for B turned by (3, 3) and moved by (3,) mm in the axes of A."""
        values, normals, points = self.distances(
            [self.query(shape_a, shape_b)], turn[None], offset[None]
        )
        return float(values[0]), normals[0], points[0]

    def distances(
        self, queries: Sequence[Query], turns: FloatArray, offsets: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Answers for many pairs: values (n,), directions (n, 3), points of A (n, 3), A's axes.

        Args:
            queries: n results of `query`.
            turns: rotations of B in the axes of A, shape (n, 3, 3).
            offsets: its place there, shape (n, 3), mm.
        """
        at_a, at_b, request, result = self._at_a, self._at_b, self._request, self._result
        turn_to, move_to, clear = at_b.setRotation, at_b.setTranslation, result.clear
        values = np.empty(len(queries))
        normals, points = np.empty((len(queries), 3)), np.empty((len(queries), 3))
        # The loop is the floor of every survey: nothing but engine calls belongs in it. What the
        # result hands out are views of itself, so they are copied into rows at once.
        for k, (query, turn, offset) in enumerate(zip(queries, turns, offsets, strict=True)):
            turn_to(turn)
            move_to(offset)
            clear()
            values[k] = query(at_a, at_b, request, result)
            normals[k] = result.normal
            points[k] = result.getNearestPoint1()
        return values, normals, points

    @staticmethod
    def can_polish(shape_a: Shape, shape_b: Shape) -> bool:
        """Whether the engine's body is faceted where the shape is round."""
        return isinstance(shape_a, Frustum) or isinstance(shape_b, Frustum)

    def polished(
        self,
        shape_a: Shape,
        shape_b: Shape,
        turn: FloatArray,
        offset: FloatArray,
        direction: FloatArray,
    ) -> Answer:
        """A better answer for frusta: each is spun to bring a corner of its rim to bear.

        Turning a round body about its own axis changes nothing; turning its facets puts a corner,
        which lies on the true rim, where the last direction found the contact.
        """
        spin_a = _spin(shape_a, direction)
        spin_b = turn @ _spin(shape_b, -direction @ turn)
        self._spun_a.setRotation(spin_a)
        self._at_b.setRotation(spin_b)
        self._at_b.setTranslation(offset)
        self._result.clear()
        query = self.query(shape_a, shape_b)
        value = query(self._spun_a, self._at_b, self._request, self._result)
        return value, np.array(self._result.normal), np.array(self._result.getNearestPoint1())


def _spin(shape: Shape, direction: FloatArray) -> FloatArray:
    """Rotation (3, 3) about z that brings the corner on x to a direction's azimuth."""
    x, y = float(direction[0]), float(direction[1])
    size = math.hypot(x, y)
    if not isinstance(shape, Frustum) or size < 1e-12:
        return np.eye(3)
    c, s = x / size, y / size
    return np.array(((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)))
