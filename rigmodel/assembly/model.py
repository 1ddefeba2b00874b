"""What an assembled rig is: a tree of frames and joints carrying solids.

World axes (ISO 8855): x forward, y left, z up; origin on the soil under the middle of the rear
axle. Every frame sits at a fixed placement in its parent and then moves by at most one joint.
Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from types import MappingProxyType

import numpy as np

from meshes_generic.solid import Solid
from meshes_generic.transform import Transform, rotation, translation


class JointKind(StrEnum):
    """Why a joint moves; `setting`, `sway`, `roll` and `pitch` are tolerances treated as motion."""

    FLOAT = "float"
    TRIP = "trip"
    LIFT = "lift"
    STEER = "steer"
    SETTING = "setting"
    SWAY = "sway"
    ROLL = "roll"
    PITCH = "pitch"


@dataclass(frozen=True, eq=False)
class Joint:
    """One freedom of motion.

    Attributes:
        name: stable name such as ``row2.left.arm.float``.
        kind: why it moves.
        turns: True for a rotation in degrees, False for a slide in mm.
        axis: unit vector (3,) in the frame's own axes, through the frame's origin.
        value: where it stands at work.
        low: least value it can take.
        high: greatest value it can take.
    """

    name: str
    kind: JointKind
    turns: bool
    axis: tuple[float, float, float]
    value: float
    low: float
    high: float

    def motion(self, value: float) -> Transform:
        """The (4, 4) transform of this joint at `value` (mm or degrees)."""
        if self.turns:
            return rotation(self.axis, value)
        x, y, z = self.axis
        return translation(x * value, y * value, z * value)


@dataclass(frozen=True, eq=False)
class Frame:
    """A place that moves as one: `world = parent world · placement · joint motion`.

    Attributes:
        name: stable name.
        parent: index of the parent frame, always lower than its own; -1 for the world itself.
        placement: (4, 4) fixed transform from the parent frame to the joint's origin.
        joint: the joint that moves it, or None.
    """

    name: str
    parent: int
    placement: Transform
    joint: Joint | None = None


class Role(StrEnum):
    """What a part does on the rig; checks choose their parts by role, never by name."""

    BAR = "bar"
    CLAMP = "clamp"
    TUBE = "tube"
    STRUT = "strut"
    HOLDER = "holder"
    ARM = "arm"
    SHANK = "shank"
    CLIP = "clip"
    BLADE = "blade"
    FINGER_WHEEL = "finger_wheel"
    AXLE = "axle"
    TYRE = "tyre"
    TRACTOR = "tractor"


TOOL_ROLES = frozenset({Role.BLADE, Role.FINGER_WHEEL})
TRACTOR_ROLES = frozenset({Role.TYRE, Role.TRACTOR})


@dataclass(frozen=True, eq=False)
class Part:
    """One part in its frame.

    Attributes:
        name: stable name such as ``row2.left.finger_wheel``.
        role: what it does.
        item: catalogue id it was made from, or an empty string for what the scene itself defines.
        frame: index of the frame that carries it.
        solid: its solid, placed in that frame (mm).
        station: name of the station it belongs to, or an empty string.
        bolted_to: names of the parts it touches by design.
    """

    name: str
    role: Role
    item: str
    frame: int
    solid: Solid
    station: str = ""
    bolted_to: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Adjustment:
    """Something the fitter sets once with a spanner, and what the solver set it to.

    Attributes:
        name: stable name such as ``row2.left.blade_shank.slide``.
        kind: ``slide``, ``place``, ``rank`` or ``angle``.
        value: solved value (mm or degrees).
        low: least possible value.
        high: greatest possible value.
        unit: ``mm`` or ``deg``.
        wanted: value that was asked for before limits and holes; equals `value` where it fits.
        step: hole pitch it snaps to, or 0.
    """

    name: str
    kind: str
    value: float
    low: float
    high: float
    unit: str
    wanted: float
    step: float = 0.0

    @property
    def in_range(self) -> bool:
        """Whether the wanted value lies within the range (to a thousandth)."""
        return self.low - 1e-3 <= self.wanted <= self.high + 1e-3


@dataclass(frozen=True)
class Pose:
    """A named value for some joints; every joint not named stands at its working value."""

    name: str
    values: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


WORK = Pose("work")


@dataclass(frozen=True, eq=False)
class Mechanism:
    """Frames and parts: all that a clearance needs to know.

    Attributes:
        frames: parents come before children; index 0 is the world (no joint).
        parts: every part, with indices into `frames`.
    """

    frames: tuple[Frame, ...]
    parts: tuple[Part, ...]

    @cached_property
    def joints(self) -> Mapping[str, Joint]:
        """Every joint by name."""
        return MappingProxyType({f.joint.name: f.joint for f in self.frames if f.joint})

    @cached_property
    def part_index(self) -> Mapping[str, int]:
        """Index of each part by name."""
        return MappingProxyType({part.name: i for i, part in enumerate(self.parts)})

    def part(self, name: str) -> Part:
        """The part of that name; KeyError if there is none."""
        return self.parts[self.part_index[name]]

    def frame_poses(self, pose: Pose = WORK) -> np.ndarray:
        """World transforms (n_frames, 4, 4) of all frames in a pose."""
        worlds = np.empty((len(self.frames), 4, 4))
        for i, frame in enumerate(self.frames):
            world = frame.placement if frame.parent < 0 else worlds[frame.parent] @ frame.placement
            if frame.joint is not None:
                value = pose.values.get(frame.joint.name, frame.joint.value)
                world = world @ frame.joint.motion(value)
            worlds[i] = world
        return worlds

    def frame_pose(self, frame: int, pose: Pose = WORK) -> np.ndarray:
        """World transform (4, 4) of one frame in a pose, by way of its chain alone."""
        world = np.eye(4)
        for link in (self.frames[i] for i in self.chain(frame)):
            world = world @ link.placement
            if link.joint is not None:
                value = pose.values.get(link.joint.name, link.joint.value)
                world = world @ link.joint.motion(value)
        return world

    def chain(self, frame: int) -> tuple[int, ...]:
        """Indices of the frames from the world down to `frame`, both included."""
        links: list[int] = []
        while frame >= 0:
            links.append(frame)
            frame = self.frames[frame].parent
        return tuple(reversed(links))

    def placed(self, part: Part, pose: Pose = WORK) -> Solid:
        """The part's solid in world coordinates in a pose."""
        return part.solid.moved(self.frame_poses(pose)[part.frame])
