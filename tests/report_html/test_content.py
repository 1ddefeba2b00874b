"""Numbers on the page: the 3D view's data, margins, coverage, marks, and the scene's text."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from rigmodel import assemble, load_scene
from rigmodel.assembly.model import Pose
from rigmodel.clearance.checks.coverage import rig_coverage
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.room import room_of
from rigmodel.report.html.margins import margins
from rigmodel.report.html.model_data import motions
from rigmodel.report.html.spec_text import spec_text, written_out
from rigmodel.report.html.strips import coverage_chart, in_words
from rigmodel.spec.load import scene_from_text

if TYPE_CHECKING:
    from tests.report_html.conftest import Page, Rig

ROOT = Path(__file__).parents[2]
SCENES = sorted(path.stem for path in (ROOT / "scenes").glob("*.yaml"))
CHECKED = ("three-rows-belly", "bar-out-of-level", "raised-bed-furrow", "rear-hitch-inches")


def data_of(rig: Rig) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(rig.page.by_id("model-data").text)
    return found


def worlds(data: dict[str, Any], pose: dict[str, float]) -> list[np.ndarray]:
    """World matrices from the page's data alone, as its own script finds them."""
    found: list[np.ndarray] = []
    for frame in data["frames"]:
        world = np.array(frame["placement"]).reshape(4, 4)
        if frame["parent"] >= 0:
            world = found[frame["parent"]] @ world
        joint = frame.get("joint")
        if joint:
            value = pose.get(joint["name"], joint["value"])
            x, y, z = joint["axis"]
            motion = np.eye(4)
            if joint["turns"]:  # the matrix exponential's closed form (Rodrigues' formula)
                k = np.array([(0, -z, y), (z, 0, -x), (-y, x, 0)])
                t = np.radians(value)
                motion[:3, :3] = np.eye(3) + np.sin(t) * k + (1 - np.cos(t)) * k @ k
            else:
                motion[:3, 3] = value * np.array((x, y, z))
            world = world @ motion
        found.append(world)
    return found


@pytest.mark.parametrize("name", CHECKED)
def test_the_view_shows_every_part_where_it_is(rig: Callable[[str], Rig], name: str) -> None:
    one = rig(name)
    data = data_of(one)
    at = worlds(data, {})
    points: dict[str, list[np.ndarray]] = {}
    for body in data["bodies"]:
        shape = data["shapes"][body["shape"]]
        vertices = np.frombuffer(base64.b64decode(shape["vertices"]), "<f4").reshape(-1, 3)
        faces = np.frombuffer(base64.b64decode(shape["faces"]), "<u4")
        assert faces.max() == len(vertices) - 1
        used = np.unique(faces)
        world = at[body["frame"]]
        points.setdefault(body["name"], []).append(
            vertices[used].astype(float) @ world[:3, :3].T + world[:3, 3]
        )
    mechanism = one.assembly.mechanism
    assert {p.name for p in mechanism.parts} <= set(points)
    for part in mechanism.parts:
        drawn = np.concatenate(points[part.name])
        box = one.assembly.at_work(part).bounds()
        # a round piece that lies skew has no corner at its outermost point: up to r(1 - cos(pi/n))
        room = 0.35 + 0.0022 * np.abs(box[1] - box[0]).max()
        assert np.abs(np.array([drawn.min(axis=0), drawn.max(axis=0)]) - box).max() <= room


def test_the_view_moves_as_the_mechanism_does(failing: Rig) -> None:
    data = data_of(failing)
    mechanism = failing.assembly.mechanism
    joints = list(mechanism.joints.values())
    for share in (0.0, 0.37, 1.0):
        values = {j.name: j.low + share * (j.high - j.low) for j in joints}
        expected = mechanism.frame_poses(Pose("some", values))
        assert np.allclose(np.array(worlds(data, values)), expected, atol=1e-6)


def test_the_view_has_each_finding_with_a_place(failing: Rig) -> None:
    data = data_of(failing)
    shown = {(f["message"], tuple(map(tuple, f["at"]))) for f in data["findings"]}
    for finding in failing.findings.findings:
        if finding.at:
            ends = (finding.at[0],) if finding.at[0] == finding.at[-1] else finding.at[::1]
            assert (finding.message, (ends[0], *ends[1:][-1:])) in shown
    joints = set(failing.assembly.mechanism.joints)
    assert all(set(f["pose"]) <= joints for f in data["findings"])


def test_a_slider_stands_for_every_motion_there_is(failing: Rig) -> None:
    kinds = {m["kind"] for m in motions(failing.assembly)}
    moving = {j.kind.value for j in failing.assembly.mechanism.joints.values() if j.high > j.low}
    assert kinds == moving & {"lift", "float", "trip", "steer"}
    sliders = [
        e.attributes["data-motion"] for e in failing.page.elements if "data-motion" in e.attributes
    ]
    assert set(sliders) == kinds


@pytest.mark.parametrize("name", CHECKED)
def test_margins_are_negative_just_where_a_check_fails(
    rig: Callable[[str], Rig], name: str
) -> None:
    one = rig(name)
    listed = {m.number: m for m in margins(one.assembly, one.findings)}
    for finding in one.findings.findings:
        room = room_of(one.assembly, finding)
        if room is None:
            assert finding.value is None or finding.limit is None
            continue
        assert any(m.finding is finding for m in listed.values())
        if finding.verdict is Verdict.FAIL:
            assert room < 0.0, finding
        if finding.verdict is Verdict.PASS:
            assert room >= -2e-3, finding
        if finding.margin is not None and finding.check != "pair-gap":
            assert abs(room) == pytest.approx(abs(finding.margin))
    bars = [e for e in one.page.of_class("bar") if e.name == "svg"]
    assert len(bars) == len(listed)


@pytest.mark.parametrize("name", CHECKED)
def test_coverage_is_drawn_to_scale(
    rig: Callable[[str], Rig], taken_apart: Callable[[str], Page], name: str
) -> None:
    one = rig(name)
    found = rig_coverage(one.assembly)
    page = taken_apart(coverage_chart(one.assembly))
    boxes = [e.attributes for e in page.of_class("strip") if float(e.attributes["width"]) != 26]
    (field,) = [b for b in boxes if b["class"] == "strip field"]
    scale = float(field["width"]) / (found.field[1] - found.field[0])
    for kind, strips in (
        ("missed", found.missed),
        ("doubled", found.doubled),
        ("worked", found.worked),
    ):
        drawn = [b for b in boxes if b["class"] == f"strip {kind}"]
        assert len(drawn) == len(strips)
        for box, (low, high) in zip(drawn, strips, strict=True):
            assert float(box["width"]) == pytest.approx(max((high - low) * scale, 1.0), abs=0.02)
            # the left of the tractor is at the left of the drawing
            from_left = float(box["x"]) - float(field["x"])
            assert from_left == pytest.approx((found.field[1] - high) * scale, abs=0.02)
    assert in_words(one.assembly, found) in one.page.by_id("section-coverage").text


def test_marks_are_those_of_the_assembly(failing: Rig) -> None:
    say = failing.assembly.scene.say
    text = failing.page.by_id("section-marks").text
    for clamp in failing.assembly.clamps:
        assert clamp.part in text
        assert say(abs(clamp.centre_mm)) in text
    parts = failing.page.by_id("section-parts").text
    for part in failing.assembly.rig_parts():
        assert part.item in parts


@pytest.mark.parametrize("name", SCENES)
def test_scene_text_gives_the_same_scene_again(name: str) -> None:
    path = ROOT / "scenes" / f"{name}.yaml"
    scene = load_scene(path)
    assert spec_text(scene) == path.read_text(encoding="utf-8")
    again = scene_from_text(written_out(scene), folder=path.parent)
    assert again.unit == scene.unit
    one, other = assemble(scene), assemble(again)
    assert np.allclose(one.work_frames, other.work_frames, atol=1e-4)
    assert [p.item for p in one.mechanism.parts] == [p.item for p in other.mechanism.parts]
    assert again.spec.limits == scene.spec.limits


def test_a_file_changed_since_is_not_taken_for_the_scene(
    demo: str, written: Callable[[str], Path]
) -> None:
    scene = load_scene(written(demo))
    written(demo.replace("count: 3", "count: 2"))
    text = spec_text(scene)
    assert "count: 3" in text
    assert scene_from_text(text).spec.rows.count == 3


def test_a_scene_held_as_text_is_written_out(demo: str) -> None:
    scene = scene_from_text(demo)
    assert scene_from_text(spec_text(scene)).spec.stations == scene.spec.stations
