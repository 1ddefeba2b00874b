"""How the joints of a rig move through a sweep, as poses; nothing is drawn here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import TOOL_ROLES, Joint, JointKind, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.view.bodies import farther_stop
from rigmodel.view.options import PictureError

NEAR = 0.16  # share of a joint's travel within which a pose is near another
_ONE, _EACH = 24, 12  # pictures in a loop of one motion, and of each of several
_SHOWN = (JointKind.FLOAT, JointKind.TRIP, JointKind.LIFT, JointKind.STEER)


class Motion(StrEnum):
    """What moves; `all` shows each that the rig has, one after the other."""

    FLOAT = "float"
    TRIP = "trip"
    LIFT = "lift"
    STEER = "steer"
    ALL = "all"


SAYS: Mapping[Motion, str] = MappingProxyType(
    {
        Motion.FLOAT: "arms float from stop to stop, neighbours opposite",
        Motion.TRIP: "spring holders trip, all at once",
        Motion.LIFT: "lift over its whole travel, arms on their stops",
        Motion.STEER: "front wheels steer from lock to lock",
    }
)


@dataclass(frozen=True, eq=False)
class Sweep:
    """Poses to draw, and the order in which they are shown.

    Attributes:
        poses: each once; a way out and back is drawn once and shown twice.
        motions: what moves in each pose.
        order: index of the pose of each picture of the loop; the last leads on to the first.
    """

    poses: tuple[Pose, ...]
    motions: tuple[Motion, ...]
    order: tuple[int, ...]


def sweep_of(assembly: Assembly, motion: Motion) -> Sweep:
    """The poses of a sweep from work to the ends of the travel and back to work.

    Raises:
        PictureError: nothing on this rig moves that way.
    """
    wanted = [m for m in SAYS if motion in (m, Motion.ALL) and _joints(assembly, m)]
    if not wanted:
        raise PictureError(f"nothing on this rig moves in the sweep {motion.value}")
    count = _ONE if len(wanted) == 1 else _EACH
    drawn: dict[tuple[Motion, float], int] = {}
    order = []
    for each in wanted:
        for step in range(count):
            key = (each, round(_level(each, step / count), 9) + 0.0)
            order.append(drawn.setdefault(key, len(drawn)))
    poses = tuple(_pose(assembly, each, level) for each, level in drawn)
    return Sweep(poses, tuple(each for each, _ in drawn), tuple(order))


def _level(motion: Motion, phase: float) -> float:
    """How far along its way a motion is: 0 at work, 1 and -1 at the ends; `phase` 0 to 1."""
    if motion is Motion.TRIP:
        return (1.0 - math.cos(2.0 * math.pi * phase)) / 2.0
    return math.sin(2.0 * math.pi * phase)


def _joints(assembly: Assembly, motion: Motion) -> list[Joint]:
    """The joints that lead a motion, from the left to the right."""
    work = assembly.work_frames
    frames = [
        (float(-work[i, 1, 3]), float(work[i, 0, 3]), frame.joint)
        for i, frame in enumerate(assembly.mechanism.frames)
        if frame.joint is not None
        and frame.joint.kind.value == motion.value
        and frame.joint.high > frame.joint.low
    ]
    return [joint for _, _, joint in sorted(frames, key=lambda item: item[:2])]


def _pose(assembly: Assembly, motion: Motion, level: float) -> Pose:
    joints = _joints(assembly, motion)
    if motion is Motion.TRIP:
        values = {j.name: j.value + level * (farther_stop(j) - j.value) for j in joints}
    elif motion is Motion.FLOAT:
        values = {j.name: _between(j, -level if i % 2 else level) for i, j in enumerate(joints)}
    else:
        values = {j.name: _between(j, level) for j in joints}
    if motion is Motion.LIFT:
        values |= _riding(assembly, values)
    return Pose(f"{motion.value} {level:.3f}", MappingProxyType(values))


def _between(joint: Joint, level: float) -> float:
    """From work (0) to the upper end (1) or to the lower one (-1), mm or degrees."""
    end = joint.high if level > 0.0 else joint.low
    return joint.value + abs(level) * (end - joint.value)


def _riding(assembly: Assembly, lifted: Mapping[str, float]) -> dict[str, float]:
    """Arms while the bar is lifted: the tool stays on the soil until its arm is on a stop.

    The angle between is taken as even over the height, which no check depends on.
    """
    mechanism, work = assembly.mechanism, assembly.work_frames
    moved = mechanism.frame_poses(Pose("lifted", lifted))
    found = {}
    for i, frame in enumerate(mechanism.frames):
        joint = frame.joint
        if joint is None or joint.kind is not JointKind.FLOAT:
            continue
        rise = float(moved[i, 2, 3] - work[i, 2, 3])
        stop = joint.low if rise > 0.0 else joint.high
        at_stop = mechanism.frame_poses(Pose("stop", {joint.name: stop}))
        drops = [
            abs(float(at_stop[p.frame, 2, 3] - work[p.frame, 2, 3]))
            for p in mechanism.parts
            if p.role in TOOL_ROLES and i in mechanism.chain(p.frame)
        ]
        share = min(abs(rise) / max([1.0, *drops]), 1.0)
        found[joint.name] = joint.value + share * (stop - joint.value)
    return found


def moving_frames(assembly: Assembly, sweep: Sweep) -> Mapping[int, FloatArray]:
    """World transforms from work to each pose, (poses, 4, 4), of the frames that move."""
    work = np.linalg.inv(assembly.work_frames)
    ways = np.array([assembly.mechanism.frame_poses(pose) @ work for pose in sweep.poses])
    moves = np.abs(ways - np.eye(4)).max(axis=(0, 2, 3)) > 1e-6
    return {int(i): ways[:, i] for i in np.flatnonzero(moves)}


def worst_on_the_way(
    assembly: Assembly, findings: Findings | None, sweep: Sweep
) -> tuple[Finding, tuple[bool, ...]] | None:
    """The worst finding on what moves whose pose the sweep comes near, and which poses are near.

    A finding is near where every joint that carries its parts stands within `NEAR` of its travel
    of where the finding has it; tolerances are left out of that.
    """
    for finding in sorted(findings.findings if findings else (), key=_severity):
        if finding.verdict not in (Verdict.FAIL, Verdict.ADVISE) or not finding.at:
            continue
        frames = _frames_of(assembly, finding.parts)
        names = {j.name for j in _joints_of(assembly, frames)}
        near = tuple(
            not names.isdisjoint(pose.values) and _distance(assembly, frames, finding, pose) <= NEAR
            for pose in sweep.poses
        )
        if any(near):
            return finding, near
    return None


def _severity(finding: Finding) -> tuple[bool, bool, float]:
    margin = finding.margin
    return finding.verdict is not Verdict.FAIL, margin is None, margin or 0.0


def _frames_of(assembly: Assembly, parts: Iterable[str]) -> set[int]:
    mechanism = assembly.mechanism
    known = (mechanism.part(name) for name in parts if name in mechanism.part_index)
    return {frame for part in known for frame in mechanism.chain(part.frame)}


def _distance(assembly: Assembly, frames: Iterable[int], finding: Finding, pose: Pose) -> float:
    """Greatest difference of a joint between a finding and a pose, as a share of its travel."""
    return max(
        (
            abs(_value(pose.values, j) - _value(finding.pose, j)) / (j.high - j.low)
            for j in _joints_of(assembly, frames)
        ),
        default=0.0,
    )


def _joints_of(assembly: Assembly, frames: Iterable[int]) -> list[Joint]:
    """The joints of those frames that a sweep can move."""
    joints = (assembly.mechanism.frames[frame].joint for frame in frames)
    return [j for j in joints if j is not None and j.kind in _SHOWN and j.high > j.low]


def _value(values: Mapping[str, float], joint: Joint) -> float:
    return values.get(joint.name, joint.value)
