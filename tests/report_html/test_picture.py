"""What the 3D view sends to be drawn, and that no picture keeps anything of the one before.

The program of the view runs in a real browser; what it chose is held against a few lines of numpy.
"""

from __future__ import annotations

import base64
import json
import re
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page, sync_playwright
from scipy.spatial import cKDTree

from meshes_generic.mesh import Mesh
from meshes_generic.shapes import Box, Cylinder, RoundedDisc
from rigmodel.report.html.model_data import model_data
from rigmodel.report.html.page import ASSETS

if TYPE_CHECKING:
    from tests.report_html.conftest import Rig

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = ["--no-sandbox", "--disable-gpu", "--use-gl=angle", "--use-angle=swiftshader",
         "--enable-unsafe-swiftshader", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
MESHES = (
    Box(60.0, 40.0, 25.0).mesh(),
    Cylinder(18.0, 70.0).mesh(12),
    RoundedDisc(90.0, 16.0).mesh(16),
)
COLOURS = ("#804020", "#0a5f38", "#c8c8d2")
CREASE = np.cos(np.radians(32.0))  # as the pictures of `render` have it (rigmodel/view/edges.py)
FLAT = 0.9999
CHOSEN = """
([things, worlds, eye]) => {
  const shapes = things.map((thing) => new Shape(thing.told));
  const list = things.map((thing, i) => ({ ...thing, shape: shapes[i], opacity: 1 }));
  const batch = new Batch();
  const paint = (t) => ({ face: [...rgb(t.colour), 1], edge: [...rgb(t.edge), 1] });
  batch.hold(list.slice(0, 1), "own", paint); // what it held before must not show
  batch.place(worlds.map(() => IDENTITY));
  batch.look([0, 0, 1, 0]);
  batch.hold(list, "own", paint);
  batch.place(worlds);
  batch.look(eye);
  const strokes = new Strokes();
  batch.edges(strokes);
  const at = (i) => [...batch.places.subarray(3 * i, 3 * i + 3)];
  const bytes = (word) => [word & 255, (word >> 8) & 255, (word >> 16) & 255];
  const out = { faces: [], strokes: [] };
  for (let k = 0; k < batch.front.length; k += 3) {
    const corners = [...batch.front.subarray(k, k + 3)];
    out.faces.push([corners.map(at), bytes(batch.colours[corners[0]])]);
  }
  const step = 4 * STROKE_NUMBERS;
  for (let k = 0; k < strokes.count; k += 1) {
    const own = strokes.floats.subarray(k * step, k * step + 6);
    const ends = [[...own.subarray(0, 3)], [...own.subarray(3, 6)]];
    out.strokes.push([...ends, bytes(strokes.words[k * step + 6])]);
  }
  return out;
}
"""
GRAB = """
(deed) => {
  new Function("view", deed)(view);
  view.paintWhole();
  return view.canvas.toDataURL("image/png");
}
"""
STATES = {
    "at work": "",
    "cut": "view.cut = { kind: 'along', share: 0.6, flip: false }; view.look('left');",
    "lowered": "for (const j of view.model.joints) view.model.values[j.name] = j.low;",
    "ghosts": "for (const b of document.querySelectorAll('[data-ghosts]')) b.checked = true;",
    "lit": "const one = view.model.stations[0].name; view.lit = (b) => b.station === one;",
    "bare": "for (const { group } of view.model.bodies) "
    "if (group !== 'rig') view.model.hidden.add(group)",
}
AT_WORK = """
view.cut = { kind: 'none', share: 0.5, flip: false };
Object.assign(view.model.values, view.model.atWork());
for (const b of document.querySelectorAll('[data-ghosts]')) b.checked = false;
view.model.hidden.clear();
view.lit = null;
view.look('three-quarter');
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM, "the view is tried in a browser; on Debian: apt-get install chromium"
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield made
        made.close()


@pytest.fixture(scope="module")
def bare(browser: Browser) -> Iterator[Page]:
    """An empty page that knows the program's own names."""
    page = browser.new_page()
    page.set_content("<!doctype html>")
    names = ("linear", "model", "batch", "shaders", "smooth", "painter")
    page.add_script_tag(
        content="\n".join((ASSETS / "view" / f"{n}.js").read_text("utf-8") for n in names)
    )
    yield page
    page.close()


Show = Callable[["Rig"], Page]


@pytest.fixture
def show(browser: Browser, tmp_path: Path) -> Iterator[Show]:
    """Opens a report whose view can be told what to do by the name `view`."""
    made: list[Page] = []

    def opened(rig: Rig) -> Page:
        text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", rig.text)
        head, end = text.rsplit("})();</script>", 1)
        path = tmp_path / f"{len(made)}.html"
        path.write_text(f"{head};window.view = stage;}})();</script>{end}", encoding="utf-8")
        page = browser.new_page(viewport={"width": 700, "height": 400}, reduced_motion="reduce")
        made.append(page)
        page.goto(path.as_uri())
        page.wait_for_selector("#stage[data-state=drawn]")
        return page

    yield opened
    for page in made:
        page.close()


def told(mesh: Mesh) -> dict[str, str]:
    """A shape as the page is told of it."""
    return {
        "vertices": base64.b64encode(mesh.vertices.astype("<f4").tobytes()).decode(),
        "faces": base64.b64encode(mesh.faces.astype("<u4").tobytes()).decode(),
    }


def turned(angles: tuple[float, ...], shift: tuple[float, ...]) -> NDArray[np.float64]:
    """A rigid placement (4, 4)."""
    out = np.eye(4)
    for axis, angle in enumerate(angles):
        c, s = np.cos(angle), np.sin(angle)
        turn = np.eye(3)
        i, j = [k for k in range(3) if k != axis]
        turn[[i, i, j, j], [i, j, i, j]] = c, -s, s, c
        out[:3, :3] = turn @ out[:3, :3]
    out[:3, 3] = shift
    return out


@dataclass(frozen=True)
class Seen:
    """What of a mesh is to be drawn.

    Attributes:
        triangles: corners (n, 3, 3) of the triangles that look at the eye.
        edges: ends (m, 2, 3) of the edges to be seen.
        unsure: whether a triangle is so nearly edge-on that rounding decides.
    """

    triangles: NDArray[np.float64]
    edges: NDArray[np.float64]
    unsure: bool


def seen(mesh: Mesh, world: NDArray[np.float64], eye: NDArray[np.float64]) -> Seen:
    """It, told from the mesh's numbers alone."""
    points = mesh.vertices.astype("<f4") @ world[:3, :3].T + world[:3, 3]
    corners = points[mesh.faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    height = np.einsum("ij,ij->i", normal, eye - corners[:, 0])
    facing = height > 0.0
    sides: dict[frozenset[int], list[int]] = {}
    for face, triangle in enumerate(mesh.faces.tolist()):
        for k in range(3):
            sides.setdefault(frozenset((triangle[k], triangle[k - 1])), []).append(face)
    edges = [
        points[sorted(ends)]
        for ends, (one, other) in sides.items()
        if (even := float(normal[one] @ normal[other])) < FLAT
        and (facing[one] != facing[other] or (even < CREASE and facing[one]))
    ]
    unsure = bool((np.abs(height) < 1e-2).any())
    return Seen(corners[facing], np.array(edges).reshape(-1, 2, 3), unsure)


def unordered(ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """Edges (n, 2, 3) as rows (n, 6) that are the same whichever end comes first."""
    return np.hstack((ends.mean(axis=1), np.abs(ends[:, 0] - ends[:, 1])))


angle = st.floats(-3.1, 3.1)
place = st.tuples(st.tuples(angle, angle, angle), st.tuples(*[st.floats(-200.0, 200.0)] * 3))


@settings(max_examples=25, deadline=None)
@given(
    kinds=st.lists(st.integers(0, 2), min_size=1, max_size=4),
    frames=st.lists(place, min_size=4, max_size=4),
    eye=st.tuples(*[st.floats(-900.0, 900.0)] * 3),
)
def test_only_what_looks_at_the_eye_is_drawn_and_all_of_it(
    bare: Page, kinds: list[int], frames: list[Any], eye: tuple[float, float, float]
) -> None:
    worlds = [turned(*frame) for frame in frames]
    things = [
        {"told": told(MESHES[kind]), "frame": i, "colour": COLOURS[kind], "edge": COLOURS[i % 3]}
        for i, kind in enumerate(kinds)
    ]
    found = bare.evaluate(CHOSEN, [things, [w.reshape(-1).tolist() for w in worlds], [*eye, 1]])
    every = [seen(MESHES[kind], worlds[i], np.array(eye)) for i, kind in enumerate(kinds)]
    assume(not any(one.unsure for one in every))
    triangles = np.concatenate([one.triangles for one in every])
    drawn = np.array([corners for corners, _ in found["faces"]]).reshape(-1, 3, 3)
    assert drawn.shape == triangles.shape
    assert np.abs(drawn - triangles).max(initial=0.0) < 1e-3  # single floats hold 300 mm to 2e-5
    edges = np.concatenate([one.edges for one in every])
    strokes = np.array([ends for *ends, _ in found["strokes"]]).reshape(-1, 2, 3)
    assert strokes.shape == edges.shape
    if len(edges):
        for one, other in ((strokes, edges), (edges, strokes)):
            away, _ = cKDTree(unordered(one)).query(unordered(other))
            assert away.max() < 1e-2
    tints = [tuple(bytes.fromhex(colour[1:])) for colour in COLOURS]
    for what, counts in (
        ("faces", [(tints[kind], len(every[i].triangles)) for i, kind in enumerate(kinds)]),
        ("strokes", [(tints[i % 3], len(every[i].edges)) for i in range(len(kinds))]),
    ):
        expected: Counter[tuple[int, ...]] = Counter()
        for colour, count in counts:
            expected[colour] += count
        assert Counter(tuple(colour) for *_, colour in found[what]) == +expected


def test_a_box_shows_nine_edges_from_a_corner_and_four_from_straight_ahead(bare: Page) -> None:
    # A drawing of a cube: 12 edges, of which the 3 at the far corner are hidden.
    thing = {"told": told(MESHES[0]), "frame": 0, "colour": COLOURS[0], "edge": COLOURS[1]}
    world = np.eye(4).reshape(-1).tolist()
    for eye, strokes, faces in (
        ([500, 400, 300, 1], 9, 6),
        ([0, 0, 500, 1], 4, 2),
        ([1, 1, 1, 0], 9, 6),
        ([1, 0, 0, 0], 4, 2),
    ):
        found = bare.evaluate(CHOSEN, [[thing], [world], eye])
        assert (len(found["strokes"]), len(found["faces"])) == (strokes, faces)


def test_no_picture_keeps_anything_of_the_one_before(
    show: Show, passing: Rig, failing: Rig
) -> None:
    fresh, used = show(passing), show(failing)
    other = json.dumps(model_data(passing.assembly, passing.findings))
    used.evaluate("(data) => view.take(JSON.parse(data))", other)
    pictures = {}
    for name, deed in STATES.items():
        fresh.evaluate("(deed) => new Function('view', deed)(view)", AT_WORK)
        pictures[name] = fresh.evaluate(GRAB, deed)
        used.evaluate("(deed) => new Function('view', deed)(view)", AT_WORK)
        assert used.evaluate(GRAB, deed) == pictures[name], name
    assert len(set(pictures.values())) == len(STATES)
    assert fresh.evaluate(GRAB, AT_WORK) == pictures["at work"]


def test_where_drawing_is_slow_the_picture_is_smooth_at_rest(show: Show, passing: Rig) -> None:
    page = show(passing)
    smooth = page.evaluate(GRAB, "view.look('left')")
    page.wait_for_function("() => !view.timing")
    stepped = page.evaluate(
        "() => { view.drawn = ''; view.slow = true; view.paint(); return view.canvas.toDataURL(); }"
    )
    assert page.locator("#stage").get_attribute("data-picture") == "stepped"
    assert stepped != smooth
    page.wait_for_selector("#stage[data-picture=smooth]")
    assert page.evaluate(GRAB, "") == smooth


def test_what_has_not_changed_is_not_drawn_again(show: Show, passing: Rig) -> None:
    page = show(passing)
    page.evaluate(
        """() => {
            window.drawn = 0;
            const draw = view.painter.draw;
            view.painter.draw = function (...all) { window.drawn += 1; draw.apply(this, all); };
        }"""
    )
    data = json.dumps(model_data(passing.assembly, passing.findings))
    for _ in range(3):
        page.evaluate("(data) => { view.take(JSON.parse(data)); view.paint(); }", data)
    assert page.evaluate("drawn") == 0
    page.evaluate("() => { view.camera.orbit(1, 0); view.paint(); }")
    assert page.evaluate("drawn") == 1


def test_a_lost_context_comes_back_with_the_same_picture(show: Show, passing: Rig) -> None:
    page = show(passing)
    before = page.evaluate(GRAB, STATES["ghosts"])
    page.evaluate(
        """() => new Promise((done) => {
            const lose = view.painter.gl.getExtension("WEBGL_lose_context");
            view.canvas.addEventListener("webglcontextrestored", () => setTimeout(done, 50));
            lose.loseContext();
            setTimeout(() => lose.restoreContext(), 50);
        })"""
    )
    assert page.evaluate(GRAB, "") == before
