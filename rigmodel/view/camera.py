"""Where the views look from, how they are framed, and where a point comes to lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.view.options import View
from rigmodel.view.picture import Area, Camera

_ELEVATION = 36.0
_Vector = tuple[float, float, float]
_UP: _Vector = (0.0, 0.0, 1.0)


def _slanted(azimuth: float) -> _Vector:
    level = math.cos(math.radians(_ELEVATION))
    turn = math.radians(azimuth)
    return (level * math.cos(turn), level * math.sin(turn), math.sin(math.radians(_ELEVATION)))


@dataclass(frozen=True, eq=False)
class Direction:
    """A way to look.

    Attributes:
        title: what the view is called.
        toward: unit vector (3,) from the scene to the eye.
        up: unit vector (3,) that points up on the picture.
        right: unit vector (3,) that points right on it.
    """

    title: str
    toward: FloatArray
    up: FloatArray
    right: FloatArray


def _direction(title: str, toward: _Vector, hint: _Vector) -> Direction:
    eye = np.array(toward)
    right = np.cross(np.array(hint), eye)
    right /= np.linalg.norm(right)
    return Direction(title, eye, np.cross(eye, right), right)


# The first way is taken unless the other shows more; arms trail, so tools show best from behind.
_DIRECTIONS: dict[View, tuple[Direction, ...]] = {
    View.THREE_QUARTER: (
        _direction("from behind on the left", _slanted(145.0), _UP),
        _direction("from the front on the left", _slanted(35.0), _UP),
    ),
    View.TOP: (
        _direction("from above, forward is up", (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)),
        _direction("from above, forward is left", (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)),
    ),
    View.FRONT: (_direction("from the front, looking backward", (1.0, 0.0, 0.0), _UP),),
    View.SIDE: (_direction("from the left, forward is left", (0.0, 1.0, 0.0), _UP),),
}


def directions(view: View) -> tuple[Direction, ...]:
    """The ways a view may look, the preferred one first."""
    return _DIRECTIONS[view]


def framed(way: Direction, points: FloatArray, inner: Area, area: Area) -> Camera:
    """A camera that shows every point (n, 3) inside `inner`, for a panel that fills `area`."""
    toward, right, up = way.toward, way.right, way.up
    flat = np.column_stack((points @ right, points @ up))
    low, high = flat.min(axis=0), flat.max(axis=0)
    size = np.maximum(high - low, 1.0)
    mm_per_pixel = float(max(size[0] / inner.width, size[1] / inner.height))
    middle = (low + high) / 2.0
    shift_x = (inner.left + inner.width / 2.0) - (area.left + area.width / 2.0)
    shift_y = (inner.low + inner.height / 2.0) - (area.low + area.height / 2.0)
    across = middle[0] - shift_x * mm_per_pixel
    over = middle[1] - shift_y * mm_per_pixel
    depth = float((points @ toward).mean())
    centre = across * right + over * up + depth * toward
    return Camera(toward, up, centre, mm_per_pixel * area.height / 2.0)


def pixels_per_mm(camera: Camera, area: Area) -> float:
    """Scale of a panel, the same everywhere on it across the line of sight."""
    return area.height / 2.0 / camera.half_height


def project(camera: Camera, area: Area, points: FloatArray) -> FloatArray:
    """Where points (n, 3) come to lie on the picture, shape (n, 2), pixels."""
    right = np.cross(camera.up, camera.toward)
    flat = np.column_stack(((points - camera.centre) @ right, (points - camera.centre) @ camera.up))
    middle = (area.left + area.width / 2.0, area.low + area.height / 2.0)
    placed: FloatArray = flat * pixels_per_mm(camera, area) + np.array(middle)
    return placed


def hidden_share(points: FloatArray, toward: FloatArray, boxes: FloatArray) -> FloatArray:
    """Share of points (n, 3) that each upright box (m, 2, 3) hides from the eye, shape (m,)."""
    if not len(points) or not len(boxes):
        return np.zeros(len(boxes))
    step = np.where(np.abs(toward) < 1e-9, 1e-9, toward)
    reach = (boxes[:, None, :, :] - points[None, :, None, :]) / step  # (m, n, 2, 3)
    enter = reach.min(axis=2).max(axis=2)
    leave = reach.max(axis=2).min(axis=2)
    shares: FloatArray = (leave > np.maximum(enter, 0.0)).mean(axis=1)
    return shares
