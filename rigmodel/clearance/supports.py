"""Support values of many shapes at once, each in directions of its own."""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch

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

IntArray = NDArray[np.int64]


@singledispatch
def _terms(shape: Shape) -> tuple[float, ...]:
    """Terms (x, y, z, radial, lean, ball) of the formula in `ShapeTable.support`."""
    raise TypeError(f"no support formula for {type(shape).__name__}")


@_terms.register
def _(shape: Box) -> tuple[float, ...]:
    return shape.size_x / 2.0, shape.size_y / 2.0, shape.size_z / 2.0, 0.0, 0.0, 0.0


@_terms.register
def _(shape: Cylinder) -> tuple[float, ...]:
    return 0.0, 0.0, shape.height / 2.0, shape.radius, 0.0, 0.0


@_terms.register
def _(shape: Frustum) -> tuple[float, ...]:
    mean = (shape.radius_top + shape.radius_bottom) / 2.0
    return 0.0, 0.0, shape.height / 2.0, mean, (shape.radius_top - shape.radius_bottom) / 2.0, 0.0


@_terms.register
def _(shape: RoundedDisc) -> tuple[float, ...]:
    return 0.0, 0.0, 0.0, shape.core_radius, 0.0, shape.thickness / 2.0


@_terms.register
def _(shape: Sphere) -> tuple[float, ...]:
    return 0.0, 0.0, 0.0, 0.0, 0.0, shape.radius


@_terms.register(Hull)
@_terms.register(Triangle)
def _(shape: Hull | Triangle) -> tuple[float, ...]:
    return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0


class ShapeTable:
    """Shapes by number, for support values in bulk.

    For a unit direction (x, y, z) every shape not made of points has the support value

        X |x| + Y |y| + R hypot(x, y) + |Z z + L hypot(x, y)| + S

    with six sizes of its own: a box has X, Y, Z; a cylinder R, Z; a frustum R, Z, L; a rounded
    disc R, S; a sphere S. A hull or a triangle takes the greatest product with its points.

    Args:
        shapes: the shapes; number k is `shapes[k]`.

    Attributes:
        shapes: the same as a tuple.
        radii: distance of each shape's farthest point from its own origin, mm, shape (n,).
    """

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.shapes = tuple(shapes)
        self.radii = np.array([shape.bounding_radius for shape in shapes])
        self._terms = np.array([_terms(shape) for shape in shapes]).reshape(-1, 6)
        hulls = [shape for shape in shapes if isinstance(shape, Hull | Triangle)]
        pointed = [isinstance(shape, Hull | Triangle) for shape in shapes]
        self._hull_of = np.full(len(shapes), -1, dtype=np.int64)
        self._hull_of[pointed] = np.arange(len(hulls))
        most = max((len(hull.points) for hull in hulls), default=0)
        # Short hulls repeat their first point: that changes no greatest value.
        self._points = np.array(
            [hull.points + hull.points[:1] * (most - len(hull.points)) for hull in hulls]
        ).reshape(len(hulls), most, 3)

    def support(self, numbers: IntArray, directions: FloatArray) -> FloatArray:
        """Support values (n, e) of n shapes in unit directions (n, e, 3)."""
        x, y, z = directions[..., 0], directions[..., 1], directions[..., 2]
        terms = self._terms[numbers].T[:, :, None]
        radial = np.sqrt(x * x + y * y)
        values = terms[0] * np.abs(x)
        values += terms[1] * np.abs(y)
        values += terms[3] * radial
        radial *= terms[4]
        radial += terms[2] * z
        values += np.abs(radial)
        values += terms[5]
        hulls = self._hull_of[numbers]
        chosen = np.flatnonzero(hulls >= 0)
        if len(chosen):
            points = self._points[hulls[chosen]]
            values[chosen] = (directions[chosen] @ points.transpose(0, 2, 1)).max(axis=2)
        found: FloatArray = values
        return found
