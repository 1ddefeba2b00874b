"""Rigid placements as 4 x 4 homogeneous matrices.

Axes follow ISO 8855: x forward, y left, z up. Lengths are mm, angles degrees. Every function
returns a fresh array, so a caller may keep or change what it is given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Transform = NDArray[np.float64]


def identity() -> Transform:
    """The placement that moves nothing, shape (4, 4)."""
    return np.eye(4)


def translation(x: float, y: float, z: float) -> Transform:
    """A slide by (x, y, z) mm, shape (4, 4)."""
    placement = np.eye(4)
    placement[:3, 3] = (x, y, z)
    return placement


def cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact at every quarter turn.

    Plain radians leave 6e-17 where a quarter turn should give 0; square parts would then have
    bounds that miss their nominal size in the last digit.
    """
    quarters, rest = divmod(degrees, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    angle = math.radians(degrees)
    return math.cos(angle), math.sin(angle)


def rotation(axis: Sequence[float], degrees: float) -> Transform:
    """A right-handed turn about an axis through the origin.

    Args:
        axis: direction of the axis, three components of any length.
        degrees: angle turned.

    Returns:
        The transform, shape (4, 4).

    Raises:
        ValueError: if the axis has no direction.
    """
    x, y, z = (float(component) for component in axis)
    size = math.sqrt(x * x + y * y + z * z)
    if not (size > 0.0 and math.isfinite(size)):
        raise ValueError(f"axis must be a finite vector other than zero, not {(x, y, z)}")
    x, y, z = x / size, y / size, z / size
    c, s = cos_sin(degrees)
    k = 1.0 - c
    return np.array(
        (
            (c + k * x * x, k * x * y - s * z, k * x * z + s * y, 0.0),
            (k * x * y + s * z, c + k * y * y, k * y * z - s * x, 0.0),
            (k * x * z - s * y, k * y * z + s * x, c + k * z * z, 0.0),
            (0.0, 0.0, 0.0, 1.0),
        )
    )


def rotation_x(degrees: float) -> Transform:
    """A turn about x (roll): y goes towards z."""
    return rotation((1.0, 0.0, 0.0), degrees)


def rotation_y(degrees: float) -> Transform:
    """A turn about y (pitch): z goes towards x, so a positive angle puts the nose down."""
    return rotation((0.0, 1.0, 0.0), degrees)


def rotation_z(degrees: float) -> Transform:
    """A turn about z (yaw): x goes towards y, so a positive angle turns left."""
    return rotation((0.0, 0.0, 1.0), degrees)


def roll_pitch_yaw(roll: float, pitch: float, yaw: float) -> Transform:
    """Roll about x first, then pitch about y, then yaw about z, all about the fixed axes."""
    return rotation_z(yaw) @ rotation_y(pitch) @ rotation_x(roll)


def inverse(placement: Transform) -> Transform:
    """The placement that undoes a rigid placement (its rotation part must be orthonormal)."""
    turned = placement[:3, :3].T
    result = np.eye(4)
    result[:3, :3] = turned
    result[:3, 3] = -turned @ placement[:3, 3]
    return result


def apply(placement: Transform, points: FloatArray) -> FloatArray:
    """Points (n, 3) carried by a placement, shape (n, 3), mm."""
    moved: FloatArray = points @ placement[:3, :3].T + placement[:3, 3]
    return moved


# +1 where reflecting both sides in the plane y = 0 keeps an entry, -1 where it flips it.
_MIRROR_SIGNS = np.outer((1.0, -1.0, 1.0, 1.0), (1.0, -1.0, 1.0, 1.0))


def mirror_y(placement: Transform) -> Transform:
    """The placement of a mirrored part: M T M with M = diag(1, -1, 1, 1), still a rigid motion."""
    mirrored: Transform = placement * _MIRROR_SIGNS
    return mirrored


def frozen(values: FloatArray) -> FloatArray:
    """A read-only float array; the array itself if it already is one, else a copy."""
    if values.dtype == np.float64 and not values.flags.writeable:
        return values
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy
