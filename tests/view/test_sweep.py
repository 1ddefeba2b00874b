"""Moving pictures: what moves, how far, what is marked, and the file that comes of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageSequence

from meshes_generic.transform import FloatArray, apply
from rigmodel.assembly.model import JointKind, Pose
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings, Verdict
from rigmodel.units import format_setting
from rigmodel.view.camera import project
from rigmodel.view.film import SweepOptions, describe_sweep, sweep_options
from rigmodel.view.motions import Motion, moving_frames, sweep_of, worst_on_the_way
from rigmodel.view.options import PictureError, View
from rigmodel.view.picture import Fill, Film, Words
from rigmodel.view.render import gif_of, render_sweep

SINGLE = [motion for motion in Motion if motion is not Motion.ALL]
SMALL = SweepOptions(Motion.FLOAT, View.SIDE, 420, 320)
Frames = list[NDArray[np.int64]]


def _leads(rig: Assembly, motion: Motion) -> list[str]:
    kind = JointKind(motion.value)
    return [j.name for j in rig.mechanism.joints.values() if j.kind is kind]


@pytest.mark.parametrize("motion", SINGLE)
def test_a_loop_goes_from_end_to_end_smoothly_and_closes(rig: Assembly, motion: Motion) -> None:
    sweep = sweep_of(rig, motion)
    assert len(sweep.order) == 24
    assert set(sweep.order) == set(range(len(sweep.poses)))
    joints = rig.mechanism.joints
    for name in _leads(rig, motion):
        joint = joints[name]
        values = [sweep.poses[i].values[name] for i in sweep.order]
        assert values[0] == pytest.approx(joint.value)
        ends = [joint.low, joint.high]
        if motion is Motion.TRIP:
            ends = [joint.value, max(ends, key=lambda stop: abs(stop - joint.value))]
        assert [min(values), max(values)] == pytest.approx(sorted(ends))
        steps = [abs(b - a) for a, b in pairwise([*values, values[0]])]
        assert max(steps) <= 0.27 * (joint.high - joint.low)


@pytest.mark.parametrize("motion", list(Motion))
def test_only_joints_of_the_motion_move_and_never_past_a_stop(
    rig: Assembly, motion: Motion
) -> None:
    sweep, joints = sweep_of(rig, motion), rig.mechanism.joints
    for pose, each in zip(sweep.poses, sweep.motions, strict=True):
        kinds = {joints[name].kind for name in pose.values}
        allowed = {JointKind(each.value)} | ({JointKind.FLOAT} if each is Motion.LIFT else set())
        assert kinds <= allowed
        for name, value in pose.values.items():
            assert joints[name].low - 1e-9 <= value <= joints[name].high + 1e-9


def test_all_shows_each_motion_in_turn(rig: Assembly) -> None:
    sweep = sweep_of(rig, Motion.ALL)
    shown = [sweep.motions[i] for i in sweep.order]
    assert list(dict.fromkeys(shown)) == SINGLE
    assert len(shown) == 4 * 12


def test_neighbouring_arms_go_opposite_ways(rig: Assembly) -> None:
    sweep = sweep_of(rig, Motion.FLOAT)
    pose = sweep.poses[sweep.order[6]]
    arms = [(i, f.joint) for i, f in enumerate(rig.mechanism.frames) if f.joint]
    floats = [(rig.work_frames[i][1, 3], j) for i, j in arms if j.kind is JointKind.FLOAT]
    ordered = [j for _, j in sorted(floats, key=lambda item: -item[0])]
    assert [pose.values[j.name] for j in ordered] == pytest.approx(
        [j.low if i % 2 else j.high for i, j in enumerate(ordered)]
    )


def test_wheels_stay_on_the_soil_until_their_arm_hangs_on_its_stop(rig: Assembly) -> None:
    sweep, mechanism = sweep_of(rig, Motion.LIFT), rig.mechanism
    part = mechanism.part("row1.left.finger_wheel")
    arm = mechanism.joints["row1.left.finger_wheel_arm.float"]
    work = mechanism.placed(part).bounds()[:, 2].mean()
    hung = 0
    for pose in sweep.poses:
        height = mechanism.placed(part, pose).bounds()[:, 2].mean()
        if arm.low + 1e-6 < pose.values[arm.name] < arm.high - 1e-6:
            assert height == pytest.approx(work, abs=12.0)
        elif pose.values["lift"] > 0.0:
            hung += 1
            assert pose.values[arm.name] == pytest.approx(arm.low)
    assert hung >= 3


@pytest.mark.parametrize("motion", SINGLE)
def test_movers_are_what_the_mechanism_moves_where_it_moves_it(
    rig: Assembly, motion: Motion
) -> None:
    film, sweep = describe_sweep(rig, None, SweepOptions(motion)), sweep_of(rig, motion)
    still = {s.name.rpartition("/")[0] for s in film.still.panels[0].surfaces}
    moving = set()
    for k in (sweep.order[4], sweep.order[19]):
        drawn: dict[int, list[FloatArray]] = {}
        for mover in film.movers:
            if mover.surface is not None and not mover.surface.name.endswith("/rim"):
                frame = rig.mechanism.part(mover.surface.name.rpartition("/")[0]).frame
                points = apply(mover.ways[k], mover.surface.mesh.vertices)
                drawn.setdefault(frame, []).append(points)
        expected: dict[int, list[FloatArray]] = {}
        for part in rig.mechanism.parts:
            there = rig.mechanism.placed(part, sweep.poses[k])
            if np.abs(there.mesh(8).vertices - rig.at_work(part).mesh(8).vertices).max() > 1e-3:
                moving.add(part.name)
                expected.setdefault(part.frame, []).append(there.bounds())
        assert set(drawn) == set(expected)
        for frame, clouds in drawn.items():  # round parts are drawn with corners: a bit inside
            assert _box(clouds) == pytest.approx(_box(expected[frame]), abs=1.0)
    assert not still & moving
    assert {part.name for part in rig.mechanism.parts} - moving <= still


def _box(clouds: list[FloatArray]) -> FloatArray:
    points = np.concatenate(clouds)
    return np.array([points.min(axis=0), points.max(axis=0)])


@pytest.mark.parametrize("view", [View.THREE_QUARTER, View.SIDE])
def test_everything_stays_inside_the_picture(rig: Assembly, view: View) -> None:
    film = describe_sweep(rig, None, SweepOptions(Motion.ALL, view))
    (panel,) = film.still.panels
    for mover in film.movers:
        for way in mover.ways:
            if mover.surface is not None:
                points = apply(way, mover.surface.mesh.vertices)
                flat = project(panel.camera, panel.area, points)
                assert (flat >= 0.0).all()
                assert (flat <= (panel.area.width, panel.area.height)).all()


def _finding(verdict: Verdict, value: float, pose: dict[str, float], part: str) -> Finding:
    at = ((1200.0, 300.0, 100.0), (1200.0, 340.0, 100.0))
    return Finding(
        "a-check", verdict, value, 10.0, "mm", "a sentence", 0.0, (part,), at,
        MappingProxyType(pose), "over the motion",
    )  # fmt: skip


ARM, WHEEL = "row1.left.finger_wheel_arm.float", "row1.left.finger_wheel"


def test_the_worst_finding_is_marked_only_while_its_pose_is_near(rig: Assembly) -> None:
    stop = rig.mechanism.joints[ARM].high
    findings = Findings(
        "",
        (
            _finding(Verdict.ADVISE, 11.0, {ARM: stop}, WHEEL),
            _finding(Verdict.FAIL, 9.0, {ARM: stop}, WHEEL),
            _finding(Verdict.FAIL, 4.0, {ARM: stop, "row1.left.setting": 1.6}, WHEEL),
            _finding(Verdict.FAIL, 1.0, {}, "tractor.rear.left.tyre"),
            _finding(Verdict.PASS, -5.0, {ARM: stop}, WHEEL),
        ),
        (),
        (),
    )
    sweep = sweep_of(rig, Motion.FLOAT)
    found = worst_on_the_way(rig, findings, sweep)
    assert found is not None
    assert found[0].value == 4.0
    values = np.array([pose.values[ARM] for pose in sweep.poses])
    assert found[1][int(values.argmax())]
    assert not found[1][int(values.argmin())]
    assert not found[1][sweep.order[0]]
    film = describe_sweep(rig, findings, SMALL)
    marked = [any(isinstance(d, Fill) for d in notes) for notes in film.notes]
    assert tuple(marked) == found[1]
    texts = [w.text for notes in film.notes for w in notes if isinstance(w, Words)]
    assert any(text == format_setting(4.0, rig.scene.unit) for text in texts), texts


@pytest.mark.parametrize("motion", [Motion.STEER, Motion.TRIP])
def test_a_finding_of_another_motion_is_not_marked(rig: Assembly, motion: Motion) -> None:
    pose = {ARM: rig.mechanism.joints[ARM].high}
    findings = Findings("", (_finding(Verdict.FAIL, 4.0, pose, WHEEL),), (), ())
    assert worst_on_the_way(rig, findings, sweep_of(rig, motion)) is None


def test_a_moving_bar_has_no_name_left_behind(rig: Assembly) -> None:
    def names(motion: Motion) -> list[str]:
        (panel,) = describe_sweep(rig, None, SweepOptions(motion)).still.panels
        return [label.text for label in panel.labels]

    assert any(name.startswith("bar") for name in names(Motion.FLOAT))
    assert not any(name.startswith("bar") for name in names(Motion.LIFT))


def _frames(file: Path) -> tuple[Frames, dict[str | tuple[int, int], object]]:
    """The pictures of a loop, rows from above, and what the file says of them."""
    frames = []
    with Image.open(file) as image:
        info = dict(image.info)
        for shown in ImageSequence.Iterator(image):
            frames.append(np.asarray(shown.convert("RGB")).astype(np.int64))
    return frames, info


def _differ(one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.bool_]:
    differs: NDArray[np.bool_] = np.abs(one - other).max(axis=2) > 24
    return differs


@pytest.fixture(scope="module")
def floating(tmp_path_factory: pytest.TempPathFactory, rig: Assembly) -> tuple[Path, Film]:
    target = tmp_path_factory.mktemp("sweep") / "float.gif"
    render_sweep(rig, None, replace(SMALL, width=640, height=420), target)
    return target, describe_sweep(rig, None, replace(SMALL, width=640, height=420))


def test_the_file_loops_is_small_and_has_its_size(floating: tuple[Path, Film]) -> None:
    target, film = floating
    frames, info = _frames(target)
    assert target.stat().st_size < 3e6
    assert len(frames) == len(film.order) == 24
    assert {frame.shape for frame in frames} == {(420, 640, 3)}
    assert info["loop"] == 0
    assert info["duration"] == film.pause_ms
    assert [file.name for file in target.parent.iterdir()] == ["float.gif"]


def test_pictures_differ_only_where_something_moves_and_the_loop_closes(
    floating: tuple[Path, Film],
) -> None:
    target, film = floating
    frames, _ = _frames(target)
    (panel,) = film.still.panels
    reach = np.concatenate(
        [
            project(panel.camera, panel.area, apply(way, m.surface.mesh.vertices))
            for m in film.movers
            if m.surface is not None
            for way in m.ways
        ]
    )
    low, high = np.floor(reach.min(axis=0)) - 3, np.ceil(reach.max(axis=0)) + 3
    elsewhere = np.ones(frames[0].shape[:2], dtype=bool)
    top = frames[0].shape[0]
    elsewhere[int(top - high[1]) : int(top - low[1]), int(low[0]) : int(high[0])] = False
    assert 0.5 < elsewhere.mean() < 0.99
    steps = []
    for before, after in pairwise([*frames, frames[0]]):
        changed = _differ(before, after)
        steps.append(int(changed.sum()))
        assert not (changed & elsewhere).any()
    assert min(steps) > 0
    assert steps[-1] <= max(steps[:-1])
    for end in (frames[6], frames[18]):
        assert _differ(frames[0], end).sum() > max(steps) / 2
    assert not _differ(frames[3], frames[9]).any()  # out and back by the same way


def test_a_mark_appears_and_goes_in_the_file(rig: Assembly, tmp_path: Path) -> None:
    joint = rig.mechanism.joints[ARM]
    at = rig.mechanism.placed(rig.mechanism.part(WHEEL), Pose("up", {ARM: joint.high})).bounds()
    x, y, z = at.mean(axis=0).tolist()
    finding = replace(_finding(Verdict.FAIL, 4.0, {ARM: joint.high}, WHEEL), at=((x, y, z),))
    findings = Findings("", (finding,), (), ())
    (tmp_path / "mark.gif").write_bytes(gif_of(describe_sweep(rig, findings, SMALL)))
    frames, _ = _frames(tmp_path / "mark.gif")
    sign = np.array((0xD5, 0x5E, 0x00))
    body = slice(60, 280)  # neither the header nor the legend

    def signs(frame: NDArray[np.int64]) -> int:
        return int((np.abs(frame[body] - sign).max(axis=2) < 40).sum())

    assert signs(frames[6]) > 40 or signs(frames[18]) > 40
    assert signs(frames[0]) == 0


def test_a_file_that_is_there_is_kept(rig: Assembly, tmp_path: Path) -> None:
    target = tmp_path / "rig.gif"
    target.write_bytes(b"mine")
    with pytest.raises(PictureError, match=r"rig\.gif"):
        render_sweep(rig, None, SMALL, target)
    assert target.read_bytes() == b"mine"
    with pytest.raises(PictureError, match="cannot write"):
        render_sweep(rig, None, SMALL, tmp_path / "nowhere" / "rig.gif")
    assert [file.name for file in tmp_path.iterdir()] == ["rig.gif"]


def test_a_rig_that_cannot_move_so_is_refused(rig: Assembly) -> None:
    frames = tuple(
        replace(f, joint=None) if f.joint and f.joint.kind is JointKind.TRIP else f
        for f in rig.mechanism.frames
    )
    stiff = replace(rig, mechanism=replace(rig.mechanism, frames=frames))
    with pytest.raises(PictureError, match="sweep trip"):
        sweep_of(stiff, Motion.TRIP)
    assert Motion.TRIP not in sweep_of(stiff, Motion.ALL).motions


@pytest.mark.parametrize(
    ("motion", "view", "size", "says"),
    [
        ("jump", "side", "", "float, trip, lift, steer, all"),
        ("float", "sheet", "", "one view"),
        ("float", "behind", "", "a view"),
        ("float", "side", "901x500", "320 to 900"),
        ("float", "side", "600x300", "320 to 900"),
        ("float", "side", "wide", "size in pixels"),
    ],
)
def test_options_that_do_not_read_are_refused(motion: str, view: str, size: str, says: str) -> None:
    with pytest.raises(PictureError, match=says) as caught:
        sweep_options(motion, view, size, False)
    assert "\n" not in caught.value.text()


def test_options_are_read_as_written() -> None:
    read = sweep_options(" Lift ", "side", "640x400", True)
    assert read == SweepOptions(Motion.LIFT, View.SIDE, 640, 400, True)


@pytest.mark.parametrize("scene", ["rear-hitch-inches", "six-wide-rows", "bar-out-of-level"])
def test_other_rigs_sweep_too(rig_of: Callable[[str], Assembly], scene: str) -> None:
    rig = rig_of(scene)
    sweep = sweep_of(rig, Motion.ALL)
    assert moving_frames(rig, sweep)
    assert set(sweep.motions) <= set(SINGLE)
