"""Can everyone use it: screen readers, keys alone, small screens, fingers."""

from __future__ import annotations

import json
import re

import pytest
from playwright.sync_api import Browser, Page, expect

from rigmodel.page.store import Store
from tests.page.test_browser import NARROW, ONE, WAIT, address, bench, browser, page, store, written

__all__ = ("address", "browser", "page", "store")  # fixtures
SMALL_SCREENS = ((390, 844), (820, 1180), (1180, 820))


def faults(page: Page, axe: str) -> list[str]:
    """Serious and critical faults that axe-core finds in the page as it stands.

    It runs by the debugger, which the page's own policy does not bind.
    """
    page.evaluate(axe)
    found = page.evaluate("async () => (await axe.run()).violations")
    return [
        f"{v['id']}: {v['help']}: {json.dumps([n['html'][:120] for n in v['nodes'][:4]])}"
        for v in found
        if v["impact"] in ("serious", "critical")
    ]


def open_all(page: Page) -> None:
    page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")


def test_axe_finds_no_serious_fault_in_the_first_page(page: Page, address: str, axe: str) -> None:
    page.goto(address)
    open_all(page)
    assert faults(page, axe) == []


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_axe_finds_no_serious_fault_at_the_bench(
    page: Page, address: str, store: Store, axe: str, unit: str
) -> None:
    bench(page, address, store, NARROW.replace("units: in", f"units: {unit}")
          if unit == "in" else NARROW)  # fmt: skip
    page.select_option("#units", unit)
    expect(page.locator("#field-rows-spacing")).to_have_value(
        re.compile("12" if unit == "in" else "304.8 mm"), timeout=WAIT
    )
    page.locator("[data-grow=toolbar-no_clamp]").dispatch_event("click")
    expect(page.locator("#field-toolbar-no_clamp-0-low")).to_be_attached(timeout=WAIT)
    open_all(page)
    page.locator("[data-choose]").first.click()
    expect(page.locator("#grip")).to_be_focused()
    assert faults(page, axe) == []


@pytest.mark.parametrize(("wide", "high"), SMALL_SCREENS)
def test_small_screens_scroll_one_way_and_have_targets_for_fingers(
    browser: Browser, address: str, store: Store, wide: int, high: int
) -> None:
    context = browser.new_context(
        viewport={"width": wide, "height": high}, has_touch=True, reduced_motion="reduce"
    )
    page = context.new_page()
    page.set_default_timeout(WAIT)
    for start in (True, False):
        if start:
            page.goto(address)
        else:
            bench(page, address, store, ONE)
        open_all(page)
        sizes = page.evaluate(
            "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert sizes[0] <= sizes[1]
        # WCAG 2.2, 2.5.8: 24 by 24 CSS pixels; links in running text are excepted there.
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, input, select, summary, #text, #grip')]
                .map(e => e.matches('[type=checkbox]') ? e.closest('label') : e)
                .filter(e => { const r = e.getBoundingClientRect();
                    return r.width && (r.width < 24 || r.height < 24); })
                .map(e => e.outerHTML.slice(0, 100))"""
        )
        assert small == []
    context.close()


def test_a_finger_turns_the_view_and_moves_a_station(
    browser: Browser, address: str, store: Store
) -> None:
    context = browser.new_context(
        viewport={"width": 820, "height": 1180}, has_touch=True, reduced_motion="reduce"
    )
    page = context.new_page()
    page.set_default_timeout(WAIT)
    id = bench(page, address, store, ONE)
    devtools = context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        told = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)]
        devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    def stroke(*ways: tuple[tuple[float, float], tuple[float, float]]) -> bytes:
        touch("touchStart", *(a for a, _ in ways))
        for share in (0.25, 0.5, 0.75, 1.0):
            touch("touchMove", *(
                (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for a, b in ways
            ))  # fmt: skip
        touch("touchEnd")
        page.wait_for_timeout(300)
        return page.locator("#canvas").screenshot()

    box = page.locator("#canvas").bounding_box()
    assert box is not None
    x, y = box["x"] + 30, box["y"] + 40
    seen = [page.locator("#canvas").screenshot()]
    seen.append(stroke(((x, y), (x + 60, y + 20))))
    seen.append(stroke(((x, y), (x - 20, y)), ((x + 60, y + 40), (x + 120, y + 40))))
    assert len(set(seen)) == 3
    page.get_by_role("button", name="Rear", exact=True).tap()
    page.locator("#station-0 > summary").tap()
    page.locator("[data-choose]").first.tap()
    page.wait_for_timeout(300)
    grip = page.locator("#grip").bounding_box()
    assert grip is not None
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    stroke(((x, y), (x - 40, y)))
    expect(page.locator("#field-stations-0-shift")).not_to_have_value("", timeout=WAIT)
    assert "shift: " in written(store, id)
    assert written(store, id).count("#") == ONE.count("#")
    page.tap("#undo")
    expect(page.locator("#field-stations-0-shift")).to_have_value("", timeout=WAIT)
    assert written(store, id) == ONE
    context.close()


def test_keys_alone_move_a_station_and_escape_leaves_it(
    page: Page, address: str, store: Store
) -> None:
    id = bench(page, address, store, ONE)
    page.locator("#station-0 > summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator("[data-choose]").first).to_be_focused()
    page.keyboard.press("Enter")
    grip = page.locator("#grip")
    expect(grip).to_be_focused()
    before = grip.get_attribute("aria-valuetext")
    page.keyboard.press("ArrowLeft")
    expect(grip).not_to_have_attribute("aria-valuetext", before or "")
    page.keyboard.press("Escape")
    expect(grip).to_have_attribute("aria-valuetext", before or "")
    page.wait_for_timeout(900)
    assert written(store, id) == ONE
    page.keyboard.press("PageUp")
    page.keyboard.press("Enter")
    expect(page.locator("#field-stations-0-shift")).not_to_have_value("", timeout=WAIT)
    told = (grip.get_attribute("aria-valuetext") or "").split(" of the ")[0]
    page.check("#labels")
    expect(page.locator("#marks .label", has_text="row1.left")).to_contain_text(told)
