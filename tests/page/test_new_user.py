"""A person who never saw the page: from the blank form to a passing rig and its sheet.

Only what the page itself says is followed: labels, buttons, remedies. Once with a mouse, once with
the keyboard alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from rigmodel.page.store import Store
from tests.page.scenes import SMALL
from tests.page.test_browser import WAIT, address, browser, store

__all__ = ["address", "browser", "store"]  # fixtures
pytestmark = pytest.mark.filterwarnings("ignore")
MEASURED = {  # what stands on this person's card; the outer rows come too near the tyres
    "Name": "Herbs, four rows",
    "Rows count": "4",
    "Toolbar length": "76",
}
CHANGED = "text => document.getElementById('findings').innerText !== text"
MOST_STEPS = 40  # of hand or key: five minutes at more than seven seconds each


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    made = browser.new_page(viewport={"width": 1366, "height": 768}, reduced_motion="reduce")
    made.set_default_timeout(WAIT)
    yield made
    made.close()


def settled(page: Page) -> str:
    """The verdict once nothing is looked for any more."""
    page.wait_for_selector("#stage[data-state=drawn]")
    expect(page.locator("#findings")).not_to_contain_text("Looking for a remedy", timeout=WAIT)
    return page.locator("#verdict").inner_text().split()[0].lower()


def test_with_a_mouse(page: Page, address: str, tmp_path: Path) -> None:
    steps = 0
    page.goto(address)
    for label, value in MEASURED.items():
        page.get_by_label(label, exact=True).fill(value)
        steps += 2
    page.get_by_role("button", name="Make the scene").click()
    steps += 1
    assert settled(page) == "fail"
    while settled(page) == "fail":
        before = page.locator("#findings").inner_text()
        page.get_by_role("button", name="Apply").first.click()
        page.wait_for_function(CHANGED, arg=before)
        steps += 1
        assert steps < MOST_STEPS
    page.get_by_text("Download", exact=True).click()
    with page.expect_download() as taken:
        page.get_by_role("link", name="Setup sheet").first.click()
    steps += 2
    path = tmp_path / "sheet.pdf"
    taken.value.save_as(path)
    assert path.read_bytes().startswith(b"%PDF")
    assert steps < MOST_STEPS


def tab_to(page: Page, wanted: Locator) -> None:
    """Presses Tab until a thing has the focus."""
    for _ in range(400):
        page.keyboard.press("Tab")
        if wanted.evaluate("e => e === document.activeElement"):
            return
    raise AssertionError("Tab does not lead there")


def test_with_the_keyboard_alone(page: Page, address: str, tmp_path: Path) -> None:
    page.goto(address)
    for label, value in MEASURED.items():
        tab_to(page, page.get_by_label(label, exact=True))
        page.keyboard.press("Control+a")
        page.keyboard.type(value)
    tab_to(page, page.get_by_role("button", name="Make the scene"))
    page.keyboard.press("Enter")
    for _ in range(8):
        if settled(page) != "fail":
            break
        before = page.locator("#findings").inner_text()
        tab_to(page, page.get_by_role("button", name="Apply").first)
        page.keyboard.press("Enter")
        page.wait_for_function(CHANGED, arg=before)
    assert settled(page) != "fail"
    tab_to(page, page.locator("#downloads > summary"))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_role("link", name="Setup sheet").first)
    with page.expect_download() as taken:
        page.keyboard.press("Enter")
    path = tmp_path / "sheet.pdf"
    taken.value.save_as(path)
    assert path.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(("wide", "high"), [(1366, 768), (390, 844)])
def test_why_a_change_was_not_made_is_seen_however_far_down_one_is(
    browser: Browser, address: str, store: Store, wide: int, high: int
) -> None:
    id = store.keep(SMALL, "small.yaml")
    pages = [browser.new_page(viewport={"width": wide, "height": high}) for _ in range(2)]
    pages[1].route("**/news*", lambda route: None)  # it hears of the other's change too late
    for made in pages:
        made.set_default_timeout(WAIT)
        made.goto(f"{address}/s/{id}")
        made.wait_for_selector("#stage[data-state=drawn]")
    one, other = pages
    for made, typed in ((one, "21"), (other, "22")):
        field = made.get_by_label("Toolbar height").first
        field.scroll_into_view_if_needed()
        made.mouse.wheel(0, 200)
        field.fill(typed)
        field.press("Enter")
        expect(made.locator("#undo")).to_be_enabled(timeout=WAIT)
    expect(other.locator("#wrong")).to_contain_text("changed in another tab", timeout=WAIT)
    expect(other.locator("#wrong")).to_be_in_viewport(ratio=1)
    assert other.get_by_label("Toolbar height").first.input_value() == "21"
    for made in pages:
        made.close()
