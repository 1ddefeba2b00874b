"""How what the server writes comes into the page: nothing but what differs is touched."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page, sync_playwright

from rigmodel.page import shell

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FORM = """\
<fieldset id="rig"><legend>Rig</legend>
<div><input id="height" data-path="[1]" value="{height}"><p id="height-fault"></p></div>
<select id="use" data-path="[2]"><option{one}>one</option><option{two}>two</option></select>
<details id="more"><summary>More</summary><p>{words}</p><button>Do</button></details>
</fieldset>"""


def form(height: str = "20", chosen: str = "one", words: str = "few") -> str:
    """A form as the server might write it."""
    marks = {name: " selected" if name == chosen else "" for name in ("one", "two")}
    return FORM.format(height=height, words=words, **marks)


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """A page with one box to be filled."""
    assert CHROMIUM, "the page is tried in a browser; on Debian: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        made = browser.new_page()
        made.set_content('<!doctype html><div id="box"></div><input id="other">')
        script = (shell.ASSETS / "fill.js").read_text(encoding="utf-8")
        made.add_script_tag(content=f"const byId = (id) => document.getElementById(id);\n{script}")
        yield made
        browser.close()


@pytest.fixture
def fresh(page: Page) -> Page:
    """The same with nothing in its box."""
    page.evaluate(
        "() => { written.clear(); byId('box').replaceChildren(); byId('other').focus(); }"
    )
    return page


def filled(page: Page, html: str) -> None:
    page.evaluate("(html) => fill('box', html)", html)


words = st.text("ab ", max_size=3)
attributes = st.dictionaries(st.sampled_from(["class", "title", "hidden"]), words, max_size=2)
nodes = st.recursive(
    words,
    lambda below: st.tuples(
        st.sampled_from(["p", "div", "b", "ul", "button"]),
        st.sampled_from(["", "", "x", "y"]),
        attributes,
        st.lists(below, max_size=3),
    ),
    max_leaves=8,
)


def html_of(node: Any) -> str:
    if isinstance(node, str):
        return node
    name, id, more, below = node
    told = "".join(f' {key}="{value}"' for key, value in more.items())
    return f"<{name}{f' id={id}' if id else ''}{told}>{''.join(map(html_of, below))}</{name}>"


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(nodes, max_size=3), min_size=2, max_size=4))
def test_the_box_always_holds_what_was_written_last(page: Page, texts: list[list[Any]]) -> None:
    page.evaluate("() => { written.clear(); byId('box').replaceChildren(); }")
    for text in texts:
        html = "".join(map(html_of, text))
        filled(page, html)
        assert page.evaluate(
            """(html) => {
                const made = document.createElement("div");
                made.id = "box";
                made.innerHTML = html;
                return made.isEqualNode(byId("box"));
            }""",
            html,
        )


def test_only_what_differs_is_put_anew(fresh: Page) -> None:
    filled(fresh, form())
    fresh.evaluate("() => { window.kept = [...byId('box').querySelectorAll('*')]; }")
    filled(fresh, form(height="21", chosen="two", words="many"))
    assert fresh.evaluate("() => kept.every((e) => byId('box').contains(e))")
    assert fresh.locator("#height").input_value() == "21"
    assert fresh.locator("#use").input_value() == "two"
    assert fresh.locator("#more p").text_content() == "many"
    filled(fresh, f"<p>First</p>{form()}")
    assert not fresh.evaluate("() => byId('box').contains(kept[0])")


def test_what_the_user_opened_and_holds_stays(fresh: Page) -> None:
    filled(fresh, form())
    fresh.locator("summary").click()
    fresh.locator("#more button").focus()
    filled(fresh, form(words="many"))
    assert fresh.evaluate("() => byId('more').open && document.activeElement.textContent") == "Do"
    filled(fresh, f"<p>First</p>{form()}")  # all of it is put anew
    assert fresh.evaluate("() => byId('more').open")


def test_a_refused_value_gives_way_to_what_the_server_writes(fresh: Page) -> None:
    filled(fresh, form())
    fresh.evaluate(
        """() => {
            byId("height").value = "tall";
            byId("height").dataset.sent = "tall";
            byId("height").setAttribute("aria-invalid", "true");
            byId("height-fault").textContent = "not a length";
            byId("use").value = "two";
        }"""
    )
    filled(fresh, form(words="many"))
    assert fresh.locator("#height").input_value() == "20"
    assert fresh.locator("#use").input_value() == "one"
    assert fresh.locator("#height-fault").text_content() == ""
    assert fresh.evaluate("() => [byId('height').dataset.sent, byId('height').ariaInvalid]") == [
        None,
        None,
    ]


@pytest.mark.parametrize("lead", ["", "<p>First</p>"])
def test_what_is_half_typed_stays_and_is_sent_on_leaving(fresh: Page, lead: str) -> None:
    filled(fresh, form())
    fresh.evaluate("() => { window.sent = []; }")
    fresh.evaluate(
        """() => byId("box").addEventListener("change", ({ target: { value, dataset } }) => {
            if (dataset.sent !== value) sent.push(value); // as bench.js has it
        })"""
    )
    fresh.locator("#height").fill("")
    fresh.locator("#height").press_sequentially("21 1/")
    filled(fresh, lead + form(height="19"))
    assert fresh.locator("#height").input_value() == "21 1/"
    assert fresh.evaluate("() => byId('height').selectionStart") == 5
    fresh.keyboard.type("2")
    fresh.locator("#other").focus()
    sent = fresh.evaluate("sent")
    assert sent
    assert set(sent) == {"21 1/2"}
