"""The page in a real browser, without a screen and without a network."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from tests.report_html.conftest import Rig

PROBE = (Path(__file__).parent / "probe.js").read_text(encoding="utf-8")


def browser() -> str:
    names = ("chromium", "chromium-browser", "google-chrome")
    found = next(filter(None, map(shutil.which, names)), None)
    assert found, "the page is tried in a browser; on Debian: apt-get install chromium libatomic1"
    return found


def opened(text: str, folder: Path) -> tuple[str, list[str]]:
    """The page as it stands after its scripts ran, and what the browser's console said."""
    path = folder / "page.html"
    path.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [
            browser(),
            "--headless",
            "--no-sandbox",
            "--use-gl=angle",
            "--use-angle=swiftshader",
            "--enable-unsafe-swiftshader",
            "--force-prefers-reduced-motion",
            "--host-resolver-rules=MAP * ~NOTFOUND",
            "--disable-background-networking",
            "--no-first-run",
            "--window-size=1100,520",
            "--virtual-time-budget=20000",
            "--enable-logging=stderr",
            f"--user-data-dir={folder / 'profile'}",
            "--dump-dom",
            path.as_uri(),
        ],
        capture_output=True,
        timeout=300,
        check=True,
    )
    said = done.stderr.decode("utf-8", "replace").splitlines()
    return done.stdout.decode("utf-8"), [line for line in said if "CONSOLE" in line]


def test_page_opens_and_draws_under_its_own_policy(failing: Rig, tmp_path: Path) -> None:
    dom, console = opened(failing.text, tmp_path)
    assert console == []
    assert 'data-state="drawn"' in dom
    picture = re.search(r'<img id="picture" src="data:image/png;base64,([^"]+)"', dom)
    assert picture
    assert len(picture.group(1)) > 20_000  # a blank picture packs to far less


@pytest.fixture(scope="module")
def probed(failing: Rig, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What `probe.js` found in the page; the page's policy is taken off so that it may run."""
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", failing.text)
    text = text.replace("</body>", f"<script>{PROBE}</script></body>")
    dom, console = opened(text, tmp_path_factory.mktemp("probe"))
    assert console == []
    found = re.search(r'<pre id="probe">(.*?)</pre>', dom, re.DOTALL)
    assert found, "the probe did not finish"
    result: dict[str, Any] = json.loads(found.group(1).replace("&lt;", "<").replace("&amp;", "&"))
    return result


def test_canvas_is_not_blank(probed: dict[str, Any]) -> None:
    assert probed["colours"] > 200
    assert 0.3 < probed["drawn"] <= 1.0


def test_views_turn_the_rig(probed: dict[str, Any]) -> None:
    assert len(set(probed["views"])) == 6


def test_finding_is_shown_where_it_is(probed: dict[str, Any], failing: Rig) -> None:
    worst = next(f for f in failing.findings.findings if f.verdict == "fail" and f.at)
    assert probed["chosen"]["moved"]
    assert worst.message in probed["chosen"]["says"]
    assert probed["chosen"]["marks"] == 1
    assert probed["chosen"]["pressed"] == ["1"]
    # its two points lie within the view, a line between them
    assert all(
        0 < x < probed["width"] and 0 < y < probed["height"] for x, y in probed["chosen"]["ends"]
    )
    assert probed["chosen"]["back"] == 0


def test_keys_turn_move_and_zoom(probed: dict[str, Any]) -> None:
    assert probed["keys"] == {"ArrowLeft": True, "Shift+ArrowUp": True, "+": True, "2": True}


def test_cut_shows_filled_sections(probed: dict[str, Any]) -> None:
    assert probed["cut"]["before"] == 0
    assert probed["cut"]["after"] > 50


def test_motion_sliders_move_the_rig(probed: dict[str, Any]) -> None:
    assert probed["motion"]
    assert all(m["moved"] and m["told"].startswith("100 % to ") for m in probed["motion"])


def test_hidden_groups_are_not_drawn(probed: dict[str, Any]) -> None:
    assert probed["groups"]
    assert all(probed["groups"].values())


def test_ghosts_and_labels_are_drawn(probed: dict[str, Any]) -> None:
    assert {"lift", "float", "labels"} <= set(probed["more"])
    assert all(probed["more"].values())


def test_one_arm_can_be_moved_alone(probed: dict[str, Any]) -> None:
    assert probed["alone"]


def test_all_text_stands_out_from_what_is_behind_it(probed: dict[str, Any]) -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1, or 3 to 1 for text of 24 px, or bold of 18.66 px and more.
    assert probed["texts"] > 100
    assert probed["faint"] == []


def test_controls_have_names_and_room(probed: dict[str, Any]) -> None:
    # WCAG 2.2, 4.1.2 (name) and 2.5.8 (targets of 24 by 24 CSS pixels).
    assert probed["controls"] > 15
    assert probed["nameless"] == []
    assert probed["small"] == []


def test_nothing_sticks_out_sideways_on_a_telephone(failing: Rig, tmp_path: Path) -> None:
    script = (
        "const f=document.createElement('iframe');f.style.width='360px';f.style.height='800px';"
        "f.srcdoc=document.documentElement.outerHTML.replace(/<script>[^]*/,'</body>');"
        "f.onload=()=>{const d=f.contentDocument.documentElement;"
        "const p=document.createElement('pre');p.id='probe';"
        "p.textContent=d.scrollWidth+' '+d.clientWidth;document.body.append(p);};"
        "document.body.append(f);"
    )
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", failing.text)
    text = re.sub(r"<script>.*?</script>", "", text, flags=re.DOTALL)
    dom, _ = opened(text.replace("</body>", f"<script>{script}</script></body>"), tmp_path)
    found = re.search(r'<pre id="probe">(\d+) (\d+)</pre>', dom)
    assert found
    assert int(found.group(1)) <= int(found.group(2))
