"""The first steps on every screen, and out of a clash and back, by names that the page shows."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from rigmodel.page.store import Store
from tests.page.test_browser import WAIT, address, browser, clashes, page, store

__all__ = ("address", "browser", "page", "store")  # fixtures
SCREENS = ((1366, 768), (820, 1180), (390, 844))
MOST_CLICKS = 5  # counted when this was written: 4


def passing_sheet(path: Path) -> None:
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(path.read_bytes())).pages)
    assert "Hill field rig" in text
    assert "DO NOT BUILD" not in text


@pytest.mark.parametrize(("wide", "high"), SCREENS)
def test_by_pointing_alone_on_every_screen(
    browser: Browser, address: str, tmp_path: Path, wide: int, high: int
) -> None:
    context = browser.new_context(
        viewport={"width": wide, "height": high}, has_touch=wide < 1000, reduced_motion="reduce"
    )
    page = context.new_page()
    page.set_default_timeout(WAIT)
    page.goto(address)
    clicks = 0

    def click(role: str, name: str) -> None:
        nonlocal clicks
        if role == "summary":
            page.locator("summary", has_text=name).first.click()
        else:
            page.get_by_role(role, name=name, exact=True).click()  # type: ignore[arg-type]
        clicks += 1

    page.get_by_label("Name", exact=True).fill("Hill field rig")
    clicks += 1
    click("button", "Make the scene")
    expect(page.locator("#verdict")).to_contain_text("pass", timeout=WAIT)
    page.wait_for_selector("#stage[data-state=drawn]")
    click("summary", "Download")
    with page.expect_download(timeout=2 * WAIT) as coming:
        click("link", "Setup sheet (PDF)")
    coming.value.save_as(tmp_path / "sheet.pdf")
    passing_sheet(tmp_path / "sheet.pdf")
    assert clicks <= MOST_CLICKS
    context.close()


def test_every_question_of_the_form_is_asked_in_words_and_no_two_alike(
    page: Page, address: str
) -> None:
    page.goto(address)
    asked = page.evaluate(
        """() => [...document.querySelectorAll("#begin-form [data-name]")]
            .filter((e) => !e.closest("details")).map((e) => e.labels[0].textContent)"""
    )
    assert len(asked) == len(set(asked)) > 5
    assert all(words[0].isupper() and "." not in words and "_" not in words for words in asked)


def test_out_of_a_clash_by_the_remedy_and_back_and_found_again(
    page: Page, address: str, store: Store
) -> None:
    page.goto(address)
    page.get_by_role("button", name="Make the scene").click()
    expect(page.locator("#verdict")).to_contain_text("pass", timeout=WAIT)
    spacing = page.get_by_label("Rows spacing")
    spacing.fill("14")
    spacing.press("Enter")
    expect(page.locator("#verdict")).to_contain_text("fail", timeout=WAIT)
    expect(clashes(page)).not_to_have_count(0)
    page.get_by_role("button", name="Apply the remedy of finding 1").click(timeout=2 * WAIT)
    expect(clashes(page)).to_have_count(0, timeout=2 * WAIT)
    after = page.locator("#verdict").inner_text()
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#verdict")).to_contain_text("fail", timeout=WAIT)
    page.get_by_role("button", name="Redo").click()
    expect(clashes(page)).to_have_count(0, timeout=WAIT)
    page.reload()
    expect(page.get_by_label("Rows spacing")).to_have_value("14", timeout=WAIT)
    expect(page.locator("#verdict")).to_have_text(after.replace("\n", " "), timeout=WAIT)
    page.goto(address)
    page.locator("#recent-list a").first.click()
    expect(page.get_by_label("Rows spacing")).to_have_value("14", timeout=WAIT)
