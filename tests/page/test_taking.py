"""Files to take away, in a browser: what is being made is said, and so is why something is not."""

from __future__ import annotations

import threading

import pytest
from playwright.sync_api import Page, Route, expect

from rigmodel.page.store import Store
from tests.page.scenes import SMALL
from tests.page.test_browser import WAIT, address, bench, browser, page, store

__all__ = ["address", "browser", "page", "store"]  # fixtures
pytestmark = pytest.mark.filterwarnings("ignore")


def menu(page: Page) -> None:
    page.locator("#downloads > summary").click()


def parts(page: Page) -> None:
    page.get_by_role("link", name="Parts list (CSV)").click()


@pytest.mark.parametrize("name", ["rig.yaml", 'Rüben 甜菜 100 % "neu".yaml'])
def test_a_file_comes_under_the_scene_s_name(
    page: Page, address: str, store: Store, name: str
) -> None:
    id = store.keep(SMALL, name)
    kept = store.get(id).record.name
    page.goto(f"{address}/s/{id}")
    page.wait_for_selector("#stage[data-state=drawn]")
    menu(page)
    with page.expect_download(timeout=2 * WAIT) as taken:
        parts(page)
    assert taken.value.suggested_filename == kept.removesuffix(".yaml") + "-parts.csv"
    expect(page.locator("#taking")).to_have_text("Parts list (CSV) is in your downloads.")
    assert page.url.endswith(id)


def test_what_is_being_made_is_said_and_asked_for_once(
    page: Page, address: str, store: Store
) -> None:
    bench(page, address, store, SMALL)
    asked: list[Route] = []
    came = threading.Event()

    def hold(route: Route) -> None:
        asked.append(route)
        came.set()

    page.route("**/get/parts", hold)
    menu(page)
    parts(page)
    expect(page.locator("#taking")).to_have_text("Making: Parts list (CSV) …")
    expect(page.locator("#downloads")).not_to_have_attribute("open", "")
    menu(page)
    parts(page)
    page.get_by_label("Toolbar height").first.fill("20 1/8")  # work goes on meanwhile
    page.keyboard.press("Enter")
    expect(page.locator("#undo")).to_be_enabled(timeout=WAIT)
    assert len(asked) == 1
    with page.expect_download():
        asked[0].fulfill(
            status=200, body="x", headers={"content-disposition": 'attachment; filename="a.csv"'}
        )


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ({"status": 500, "body": "the maker stopped"}, "the maker stopped"),
        ({"status": 422, "body": '{"message": "no font"}'}, "no font"),
        (None, "the server did not answer"),
    ],
)
def test_what_could_not_be_made_is_told_where_one_is(
    page: Page, address: str, store: Store, answer: dict[str, object] | None, told: str
) -> None:
    id = bench(page, address, store, SMALL)
    page.route("**/get/parts", lambda r: r.abort() if answer is None else r.fulfill(**answer))
    menu(page)
    parts(page)
    expect(page.locator("#wrong")).to_contain_text(f"Parts list (CSV) could not be made: {told}")
    expect(page.locator("#taking")).to_be_empty()
    assert page.url.endswith(id)
    page.unroute("**/get/parts")
    menu(page)
    with page.expect_download(timeout=2 * WAIT):
        parts(page)
    expect(page.locator("#wrong")).to_be_empty()


def test_of_a_broken_scene_nothing_is_made_and_it_is_said(
    page: Page, address: str, store: Store
) -> None:
    id = store.keep(SMALL.replace("height: 20", "height: tall"), "broken.yaml")
    page.goto(f"{address}/s/{id}")
    expect(page.locator("#faults")).to_contain_text("tall", timeout=WAIT)
    menu(page)
    parts(page)
    expect(page.locator("#wrong")).to_contain_text("correct the scene's text first")
    menu(page)
    with page.expect_download():
        page.get_by_role("link", name="Scene (YAML)").click()
