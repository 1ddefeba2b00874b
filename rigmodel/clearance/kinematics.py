"""A mechanism in flat arrays, ready for many poses at once.

Frames that cannot move against their parent under the motion asked for are merged with it. What
is left is a tree of links, each with one moving joint along or about its own z axis:

    pose of link = pose of parent link · seat · joint motion

Link 0 is the world. Joint values are radians or mm in here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from meshes_generic.transform import FloatArray, Transform
from rigmodel.assembly.model import Joint, JointKind, Mechanism, Pose

IntArray = NDArray[np.int64]

_NO_POSE: Mapping[str, float] = MappingProxyType({})
_NO_RANGES: Mapping[str, tuple[float, float]] = MappingProxyType({})


@dataclass(frozen=True)
class MotionRange:
    """Which joints move and how far; every other joint stands still.

    Attributes:
        kinds: joints of these kinds move over their whole range.
        at: where joints that stand still stand, by name; default is their working value.
        ranges: ranges (low, high) by joint name that overrule both, mm or degrees.
    """

    kinds: frozenset[JointKind] = frozenset(JointKind)
    at: Mapping[str, float] = field(default_factory=lambda: _NO_POSE)
    ranges: Mapping[str, tuple[float, float]] = field(default_factory=lambda: _NO_RANGES)

    @classmethod
    def only(cls, *kinds: JointKind, at: Mapping[str, float] = _NO_POSE) -> MotionRange:
        """Joints of those kinds move, all others stand at `at` or their working value."""
        return cls(frozenset(kinds), at)

    @classmethod
    def still(cls, pose: Pose | None = None) -> MotionRange:
        """Nothing moves: everything stands in a pose, or at work."""
        return cls(frozenset(), _NO_POSE if pose is None else pose.values)

    def span(self, joint: Joint) -> tuple[float, float]:
        """Least and greatest value of a joint, mm or degrees.

        Raises:
            ValueError: if a range is not finite or its low end is above its high end.
        """
        if joint.name in self.ranges:
            low, high = self.ranges[joint.name]
        elif joint.kind in self.kinds and joint.name not in self.at:
            low, high = joint.low, joint.high
        else:
            low = high = self.at.get(joint.name, joint.value)
        if not (math.isfinite(low) and math.isfinite(high) and low <= high):
            raise ValueError(f"range of {joint.name} must be finite and rising, not {low}..{high}")
        return low, high

    def standing(self, joint: Joint) -> float:
        """Where a joint stands when nothing else says so: at work, kept inside its range."""
        low, high = self.span(joint)
        return min(max(self.at.get(joint.name, joint.value), low), high)


@dataclass(frozen=True, eq=False)
class Linkage:
    """A mechanism under a motion range.

    Attributes:
        mechanism: what was compiled.
        motion: which joints move.
        parent: parent link of each link, -1 for the world, shape (n,).
        seats: pose of each link's joint in its parent link, z along the axis, (n, 4, 4).
        turns: whether the joint turns, shape (n,).
        low: least joint value, radians or mm, shape (n,).
        high: greatest joint value, shape (n,).
        joints: the joint of each link; None for the world.
        link_of_frame: link of each frame, shape (frames,).
        in_link: fixed pose of each frame in its link, shape (frames, 4, 4).
        meets: deepest link common to two links, shape (n, n).
    """

    mechanism: Mechanism
    motion: MotionRange
    parent: IntArray
    seats: FloatArray
    turns: NDArray[np.bool_]
    low: FloatArray
    high: FloatArray
    joints: tuple[Joint | None, ...]
    link_of_frame: IntArray
    in_link: FloatArray
    meets: IntArray

    def path(self, top: int, link: int) -> tuple[int, ...]:
        """Links below `top` down to `link`, `top` itself left out."""
        links: list[int] = []
        while link != top:
            links.append(link)
            link = int(self.parent[link])
        return tuple(reversed(links))

    def columns(self, top: int, link: int) -> tuple[int, ...]:
        """The path as slide, turn, slide, turn, ... links, -1 where there is none; at least two.

        Each pair of columns is at most one slide and then at most one turn.
        """
        found: list[int] = []
        slide = -1
        for index in self.path(top, link):
            if self.turns[index]:
                found += (slide, index)
                slide = -1
            else:
                if slide >= 0:
                    found += (slide, -1)
                slide = index
        if slide >= 0 or not found:
            found += (slide, -1)
        return tuple(found)

    def joints_between(self, frame_a: int, frame_b: int) -> tuple[str, ...]:
        """Names of the moving joints that change how two frames lie to each other."""
        a, b = int(self.link_of_frame[frame_a]), int(self.link_of_frame[frame_b])
        top = int(self.meets[a, b])
        links = (*self.path(top, a), *self.path(top, b))
        return tuple(joint.name for k in links if (joint := self.joints[k]) is not None)

    def degrees(self, link: int, value: float) -> float:
        """A joint value in the unit of the model: degrees or mm."""
        return math.degrees(value) if self.turns[link] else value

    def worlds(self, frame: int, values: Mapping[str, float] = _NO_POSE) -> Transform:
        """World pose (4, 4) of a frame; joints not named stand where the motion range says."""
        pose = np.eye(4)
        for index in self.mechanism.chain(frame):
            link = self.mechanism.frames[index]
            pose = pose @ link.placement
            if link.joint is not None:
                name = link.joint.name
                value = values[name] if name in values else self.motion.standing(link.joint)
                pose = pose @ link.joint.motion(value)
        return pose


def compiled(mechanism: Mechanism, motion: MotionRange) -> Linkage:
    """The mechanism in flat arrays.

    Raises:
        ValueError: if two frames have joints of the same name, or a range is no range.
    """
    seats: list[Transform] = [np.eye(4)]
    parents = [-1]
    joints: list[Joint | None] = [None]
    spans = [(0.0, 0.0)]
    link_of_frame: list[int] = []
    in_link: list[Transform] = []
    names: set[str] = set()
    for frame in mechanism.frames:
        link = 0 if frame.parent < 0 else link_of_frame[frame.parent]
        pose = frame.placement if frame.parent < 0 else in_link[frame.parent] @ frame.placement
        joint = frame.joint
        if joint is not None:
            if joint.name in names:
                raise ValueError(f"two frames have a joint named {joint.name!r}")
            names.add(joint.name)
            low, high = motion.span(joint)
            if low == high:
                pose = pose @ joint.motion(low)
            else:
                upright = _z_along(joint.axis)
                parents.append(link)
                seats.append(pose @ upright)
                joints.append(joint)
                spans.append((low, high))
                link, pose = len(parents) - 1, upright.T
        link_of_frame.append(link)
        in_link.append(pose)
    turns = np.array([joint is not None and joint.turns for joint in joints])
    ends = np.array(spans)
    ends[turns] = np.radians(ends[turns])
    return Linkage(
        mechanism,
        motion,
        np.array(parents),
        np.array(seats),
        turns,
        ends[:, 0],
        ends[:, 1],
        tuple(joints),
        np.array(link_of_frame, dtype=np.int64),
        np.array(in_link).reshape(-1, 4, 4),
        _meets(parents),
    )


def _z_along(axis: Sequence[float]) -> Transform:
    """A rotation (4, 4) whose z column is the axis."""
    x, y, z = axis
    size = math.sqrt(x * x + y * y + z * z)
    x, y, z = x / size, y / size, z / size
    # Any vector across will do for the x column: the axis crossed with the axis of its least part.
    if abs(x) <= min(abs(y), abs(z)):
        across = (0.0, -z, y)
    elif abs(y) <= abs(z):
        across = (z, 0.0, -x)
    else:
        across = (-y, x, 0.0)
    size = math.hypot(*across)
    u, v, w = (part / size for part in across)
    return np.array(
        (
            (u, y * w - z * v, x, 0.0),
            (v, z * u - x * w, y, 0.0),
            (w, x * v - y * u, z, 0.0),
            (0.0, 0.0, 0.0, 1.0),
        )
    )


def _meets(parents: Iterable[int]) -> IntArray:
    """Deepest common link of every two links; parents come before children."""
    order = list(parents)
    meets = np.zeros((len(order), len(order)), dtype=np.int64)
    for link, parent in enumerate(order):
        if parent >= 0:
            meets[link, :link] = meets[parent, :link]
            meets[:link, link] = meets[link, :link]
        meets[link, link] = link
    return meets
