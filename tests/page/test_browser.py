"""The page in a real browser: what a fitter sees, types and clicks, with nothing from outside."""

from __future__ import annotations

import re
import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Locator, Page, expect, sync_playwright

from rigmodel.page import shell
from rigmodel.page.actions import act
from rigmodel.page.app import page_app
from rigmodel.page.store import Store
from rigmodel.report.html.colours import COLOURS

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = ["--no-sandbox", "--disable-gpu", "--use-gl=angle", "--use-angle=swiftshader",
         "--enable-unsafe-swiftshader", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
WAIT = 30_000
NARROW = """\
# Two rows too near for their wheels.
name: Two narrow rows
units: in
rows: {count: 2, spacing: 12, keep_out: 2 1/2}  # narrow
tractor: {use: small-belly}
toolbar: {tube: tube-2x1-4, length: 72, height: 20}
stations:
  - {use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2}  # wheels
"""
DEAF = """\
const real = window.fetch;
window.fetch = async (address, ...more) => {
  const answer = await real(address, ...more);  // one that was asked before is not heard either
  if (window.deaf && String(address).includes("/news")) throw new Error("deaf");
  return answer;
};
"""
ONE = NARROW.replace("count: 2", "count: 1")  # nothing clashes, so no remedies are looked for


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Store:
    return Store(tmp_path_factory.mktemp("browser"))


@pytest.fixture(scope="module")
def address(store: Store) -> Iterator[str]:
    config = uvicorn.Config(
        page_app(store, ""), port=0, log_level="error", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join(10.0)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    assert CHROMIUM, (
        "the page is tried in a browser; on Debian: apt-get install chromium libatomic1"
    )
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS, headless=True)
        yield made
        made.close()


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    """A page that notes every error and every request that would leave the machine."""
    made = browser.new_page(viewport={"width": 1240, "height": 700}, reduced_motion="reduce")
    made.set_default_timeout(WAIT)
    wrong: list[str] = []
    made.on("pageerror", lambda error: wrong.append(str(error)))
    made.on(
        "request",
        lambda r: None if r.url.startswith((address, "data:")) else wrong.append(r.url),
    )
    yield made
    made.close()
    assert wrong == []


def bench(page: Page, address: str, store: Store, text: str) -> str:
    """Opens a scene and waits for its picture."""
    id = store.keep(text, "test.yaml")
    page.goto(f"{address}/s/{id}")
    page.wait_for_selector("#stage[data-state=drawn]")
    return id


def clashes(page: Page) -> Locator:
    """Failing findings between wheels."""
    return page.locator("#findings li.fail").filter(has_text="wheel-clash")


def written(store: Store, id: str) -> str:
    return store.get(id).record.text


def test_a_remedy_is_shown_in_the_picture_and_applied_by_one_click(
    page: Page, address: str, store: Store
) -> None:
    id = bench(page, address, store, NARROW)
    expect(page.locator("#verdict")).to_contain_text("fail")
    expect(page.locator("#findings li").first).to_contain_text(re.compile("Measured.*Limit", re.S))
    expect(page.locator("#not-checked")).to_contain_text("hoses, wiring")
    before = page.locator("#canvas").screenshot()
    page.click("#show-1")
    expect(page.locator("#says")).to_contain_text("Finding 1, fail")
    page.wait_for_timeout(300)
    assert page.locator("#canvas").screenshot() != before
    page.locator("[data-remedy]").first.click()
    expect(page.locator("#says")).to_contain_text("remedy", timeout=WAIT)
    expect(clashes(page)).to_have_count(0, timeout=WAIT)
    assert "rank: [" in written(store, id)
    assert written(store, id).count("#") == NARROW.count("#")
    page.click("#undo")
    expect(clashes(page)).not_to_have_count(0, timeout=WAIT)
    assert written(store, id) == NARROW
    page.locator("body").press("Control+y")
    expect(clashes(page)).to_have_count(0, timeout=WAIT)


def test_numbers_are_typed_as_in_the_shop_and_refused_beside_the_field(
    page: Page, address: str, store: Store
) -> None:
    id = bench(page, address, store, NARROW)
    spacing = page.get_by_label("Rows spacing", exact=True)
    spacing.fill("2 feet 7")
    spacing.press("Enter")
    fault = page.locator("#field-rows-spacing-fault")
    expect(fault).to_contain_text("'2 feet 7'", timeout=WAIT)
    expect(spacing).to_have_attribute("aria-invalid", "true")
    expect(spacing).to_have_value("2 feet 7")
    assert written(store, id) == NARROW
    stamp = page.locator("#stage").get_attribute("data-stamp")
    spacing.fill("2' 6 1/2\"")
    spacing.press("Enter")
    expect(clashes(page)).to_have_count(0, timeout=WAIT)
    expect(fault).to_be_empty()
    expect(spacing).to_be_focused()
    expect(page.locator("#stage")).not_to_have_attribute("data-stamp", stamp or "")
    spacing.press("ArrowUp")
    expect(spacing).to_have_value("30 9/16 in", timeout=WAIT)
    page.select_option("#units", "mm")
    expect(spacing).to_have_value("776.3 mm", timeout=WAIT)
    expect(page.locator("#findings")).to_contain_text("mm")
    assert "spacing: 30 9/16 in" in written(store, id)


def test_two_tabs_do_not_overwrite_each_other(
    page: Page, browser: Browser, address: str, store: Store
) -> None:
    page.add_init_script(DEAF)
    id = bench(page, address, store, NARROW)
    other = browser.new_page()
    other.goto(page.url)
    other.wait_for_selector("#stage[data-state=drawn]")
    height = other.get_by_label("Toolbar height", exact=True)
    height.fill("20 1/4")
    height.press("Enter")
    expect(page.get_by_label("Toolbar height", exact=True)).to_have_value("20 1/4", timeout=WAIT)
    page.evaluate("() => { window.deaf = true; }")  # this tab no longer hears of the other
    page.wait_for_timeout(300)
    store.get(id).undo(store.get(id).record.version)
    mine = page.get_by_label("Rows spacing", exact=True)
    mine.fill("14")
    mine.press("Enter")
    expect(page.locator("#wrong")).to_contain_text("another tab", timeout=WAIT)
    expect(mine).to_have_value("12")
    assert written(store, id) == NARROW
    other.close()


def test_view_sliders_cut_and_stations(page: Page, address: str, store: Store) -> None:
    id = bench(page, address, store, ONE)

    def picture() -> bytes:
        page.wait_for_timeout(250)
        return page.locator("#canvas").screenshot()

    seen = [picture()]
    for deed in (
        lambda: page.get_by_role("button", name="Top").click(),
        lambda: page.locator("#motion-lift").fill("-100"),
        lambda: page.locator("#motion-float").fill("100"),
        lambda: page.locator("#motion-steer").fill("100"),
        lambda: page.select_option("#cut", "across"),
        lambda: page.locator("#group-soil").uncheck(),
        lambda: page.locator("#canvas").press("ArrowLeft"),
        lambda: page.locator("#canvas").press("+"),
    ):
        deed()
        seen.append(picture())
        assert seen[-1] != seen[-2]
    expect(page.locator("#motion-lift")).to_have_attribute("aria-valuetext", "100 % to lowest")
    page.locator("#station-0 > summary").click()
    page.get_by_role("button", name="Move outward").first.click()
    expect(page.locator("#station-0")).to_be_visible()
    expect(page.locator("#field-stations-0-shift")).to_have_value("1/16 in", timeout=WAIT)
    page.select_option("#add-use", "blade-rigid")
    page.select_option("#add-at", "outside")
    page.click("#add-station")
    expect(page.locator("details.station")).to_have_count(2, timeout=WAIT)
    expect(page.locator("#coverage svg.coverage")).to_contain_text("outside")
    assert "shift: 1/16 in" in written(store, id)


def test_a_broken_text_is_marked_and_a_restart_goes_on(
    page: Page, address: str, store: Store
) -> None:
    bench(page, address, store, ONE)
    page.locator("#text-fold > summary").click()
    page.fill("#text", ONE.replace("height: 20", "height: <b>tall"))
    page.click("#take-text")
    expect(page.locator("#faults")).to_contain_text("test.yaml:6: toolbar.height", timeout=WAIT)
    expect(page.locator("#line-6.bad")).to_contain_text("✗")
    page.get_by_role("button", name="Go to line 6").click()
    expect(page.locator("#text")).to_be_focused()
    page.reload()
    expect(page.locator("#faults")).to_contain_text("test.yaml:6", timeout=WAIT)
    expect(page.locator("#text")).to_have_value(re.compile("<b>tall"))
    page.click("#undo")
    expect(page.locator("#title")).to_have_text("Two narrow rows", timeout=WAIT)


def test_a_scene_is_begun_from_a_file_a_demo_and_the_form(
    page: Page, address: str, tmp_path: Path
) -> None:
    page.goto(address)
    file = tmp_path / "mine.yaml"
    file.write_text(ONE, encoding="utf-8")
    page.set_input_files("#file", file)
    page.click("#open-file")
    expect(page.locator("#title")).to_have_text("Two narrow rows", timeout=WAIT)
    page.goto(address)
    expect(page.locator("#recent-list")).to_contain_text("Two narrow rows")
    page.locator("[data-name='rows.spacing']").fill("wide")
    page.click("#open-form")
    expect(page.locator("[data-name='rows.spacing']")).to_be_focused(timeout=WAIT)
    expect(page.locator("[aria-invalid=true]")).to_have_count(1)
    page.locator("[data-name='rows.spacing']").fill("15")
    page.locator("[data-name='rows.count']").fill("1")
    page.click("#open-form")
    expect(page.locator("#title")).to_have_text("My weeding rig", timeout=WAIT)


def test_everything_that_takes_the_focus_has_a_name(page: Page, address: str, store: Store) -> None:
    bench(page, address, store, ONE)
    page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")
    nameless = page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, textarea, a, summary')]
            .filter(e => !(e.getAttribute('aria-label') || e.textContent.trim()
                || (e.labels && [...e.labels].some(l => l.textContent.trim()))))
            .map(e => e.outerHTML)"""
    )
    assert nameless == []
    doubled = page.evaluate(
        """() => { const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
            return ids.filter((id, i) => ids.indexOf(id) !== i); }"""
    )
    assert doubled == []
    page.keyboard.press("Tab")
    outline = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"


def test_own_style_takes_colours_from_the_checked_palette_only() -> None:
    text = (shell.ASSETS / "page.css").read_text(encoding="utf-8")
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[^{]*;)", text)
    assert set(re.findall(r"var\(--([\w-]+)\)", text)) <= set(COLOURS) | {"c", "t"}


def with_news_while_typing(
    page: Page, address: str, store: Store, typed: str
) -> tuple[str, Locator]:
    """A session, and its field for the spacing in which a text stands when news comes."""
    id = bench(page, address, store, ONE)
    field = page.get_by_label("Rows spacing", exact=True)
    field.click()
    field.press("Control+a")
    field.press_sequentially(typed)
    session = store.get(id)
    act(session, {"what": "set", "version": session.record.version,
                  "path": ["toolbar", "height"], "typed": "21"})  # fmt: skip
    expect(page.get_by_label("Toolbar height", exact=True)).to_have_value("21", timeout=WAIT)
    return id, field


def test_what_is_half_typed_outlives_news_and_is_sent_on_leaving(
    page: Page, address: str, store: Store
) -> None:
    id, field = with_news_while_typing(page, address, store, "16 1/")
    expect(field).to_have_value("16 1/")
    expect(field).to_be_focused()
    assert field.evaluate("e => e.selectionStart") == 5
    field.press_sequentially("2")
    field.press("Tab")
    page.wait_for_function("() => document.getElementById('text').value.includes('16 1/2')")
    expect(field).to_have_value("16 1/2")
    assert "spacing: 16 1/2" in written(store, id)
    assert "height: 21" in written(store, id)


def test_what_was_typed_before_the_news_is_sent_though_nothing_is_typed_after(
    page: Page, address: str, store: Store
) -> None:
    id, field = with_news_while_typing(page, address, store, "16 1/2")
    field.press("Tab")
    expect(page.locator("#undo")).to_be_enabled()
    page.wait_for_function("() => document.getElementById('text').value.includes('16 1/2')")
    assert store.get(id).record.version == 3  # each change was made once


def test_weights_and_forces_follow_the_scene_while_their_fold_is_open(
    page: Page, address: str, store: Store
) -> None:
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url) if r.url.endswith("/loads") else None)
    bench(page, address, store, ONE)
    length = page.get_by_label("Toolbar length", exact=True)
    length.fill("80")
    length.press("Enter")
    expect(length).to_have_value("80", timeout=WAIT)
    assert asked == []  # nobody looks
    page.locator("#loads-fold > summary").click()
    rig = page.locator("#loads tr").filter(has_text="whole rig")
    expect(rig).to_contain_text("lb", timeout=WAIT)
    before = rig.inner_text()
    length.fill("100")
    length.press("Enter")
    expect(rig).not_to_have_text(before, timeout=WAIT)
    expect(page.locator("#loads")).to_contain_text("toolbar.hangers is not given")


def test_a_scene_is_opened_with_its_own_files_and_taken_away_with_them(
    page: Page, address: str, tmp_path: Path
) -> None:
    scenes = Path(__file__).parents[2] / "scenes"
    files = [scenes / "own-mesh-obstacle.yaml", scenes / "own-mesh-obstacle.obj"]
    page.goto(address)
    page.set_input_files("#file", [files[0]])
    page.click("#open-file")
    expect(page.locator("#faults")).to_contain_text("own-mesh-obstacle.obj", timeout=WAIT)
    page.goto(address)
    page.set_input_files("#file", files)
    page.click("#open-file")
    page.wait_for_selector("#stage[data-state=drawn]")
    page.locator("#downloads > summary").click()
    with page.expect_download() as taken:
        page.get_by_role("link", name="Scene with its own files").click()
    path = tmp_path / taken.value.suggested_filename
    taken.value.save_as(path)
    assert path.suffix == ".zip"
    page.goto(address)
    page.set_input_files("#file", [path])
    page.click("#open-file")
    page.wait_for_selector("#stage[data-state=drawn]")
    page.goto(address)
    page.set_input_files("#file", {"name": "a.zip", "mimeType": "", "buffer": b"PK\x03\x04 no"})
    page.click("#open-file")
    expect(page.locator("#wrong")).to_contain_text("archive is damaged")


def test_parts_and_tools_are_chosen_by_their_pictures(
    page: Page, address: str, store: Store
) -> None:
    id = bench(page, address, store, ONE)
    page.locator("#station-0 > summary").click()
    fold = page.locator("#pictures-stations-0-swap-finger_wheel")
    fold.locator("summary").click()
    picks = fold.locator(".pick")
    expect(picks.first).to_be_visible(timeout=WAIT)
    expect(fold.locator("[aria-pressed=true]")).to_contain_text("finger-wheel-8")
    for picture in fold.locator("img").all():
        picture.scroll_into_view_if_needed()
        page.wait_for_function(
            "e => e.complete && e.naturalWidth > 0", arg=picture.element_handle()
        )
    fold.get_by_role("button", name="finger-wheel-10:").press("Enter")
    expect(fold.locator("[aria-pressed=true]")).to_contain_text("finger-wheel-10:", timeout=WAIT)
    assert "swap: {finger_wheel: finger-wheel-10}" in written(store, id)
    adding = page.locator("#pictures-stations-use")
    adding.locator("summary").click()
    adding.locator("[data-pick=blade-rigid]").click()
    expect(page.locator("#add-use")).to_have_value("blade-rigid")
    page.select_option("#add-at", "outside")
    page.click("#add-station")
    expect(page.locator("#station-1")).to_contain_text("blade-rigid", timeout=WAIT)


def test_pictures_and_choices_of_what_is_not_there_are_refused(
    page: Page, address: str, store: Store
) -> None:
    id = store.keep(ONE, "one.yaml")
    for path in ("picture/part/no-such", "picture/unit/../x", "picture/file/blade-4",
                 "choices?path=[]", 'choices?path=["rows","count"]'):  # fmt: skip
        assert page.request.get(f"{address}/s/{id}/{path}").status == 404
    assert page.request.get(f"{address}/s/{id}/choices?path=x").status == 400
    told = page.request.get(f"{address}/s/{id}/picture/part/blade-4")
    assert told.headers["content-type"].startswith("image/svg+xml")


def test_what_passes_is_folded_and_stays_open_once_opened(
    page: Page, address: str, store: Store
) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    bench(page, address, store, NARROW)
    fold = page.locator("#passed")
    expect(fold.locator("summary")).to_have_text(re.compile(r"\d+ checks pass"))
    expect(fold.locator("li").first).not_to_be_visible()
    expect(page.locator("#findings > li.fail").first).to_be_visible()
    fold.locator("summary").press("Enter")
    expect(fold.locator("li").first).to_be_visible()
    height = page.get_by_label("Toolbar height", exact=True)
    height.fill("20 1/8")
    height.press("Enter")
    expect(height).to_have_value("20 1/8", timeout=WAIT)
    expect(fold.locator("li").first).to_be_visible()
