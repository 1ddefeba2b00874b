"""The two pages as HTML: where to begin, and the bench to work at."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from rigmodel import __version__
from rigmodel.page.asked import MOST_UNPACKED
from rigmodel.page.downloads import OFFERED
from rigmodel.page.parcel import KINDS
from rigmodel.page.start import demos_html, form_html
from rigmodel.report.html import page as report_page
from rigmodel.report.html import stage
from rigmodel.report.html.markup import Html, tag
from rigmodel.units import Unit

ASSETS = Path(__file__).parent / "assets"
_OWN = ("pick", "carry", "fill", "take", "bench", "begin")
_KEYS = (
    ("Move a station", "tap it, then drag it along the bar; or its handle with the arrow keys"),
    ("Numbers", "Enter takes what was typed; up and down turn it by 1/16 in or 1 mm"),
    ("Undo", "Ctrl+Z; again with Ctrl+Shift+Z or Ctrl+Y (outside of a text)"),
)


@cache
def style() -> str:
    """The style sheet: the report's own first, so that both look alike."""
    return report_page.page_style() + (ASSETS / "page.css").read_text(encoding="utf-8")


_ACCEPTED = ",".join((*KINDS, ".zip"))


@cache
def script() -> str:
    """The program: the report's 3D view, then what makes it live."""
    files = [report_page.ASSETS / "view" / f"{name}.js" for name in report_page.VIEW_SCRIPTS]
    files += [ASSETS / f"{name}.js" for name in _OWN]
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    return f'(() => {{\n"use strict";\n{text}}})();\n'


def _page(title: str, body_class: str, *content: Html) -> str:
    head = tag(
        "head",
        None,
        tag("meta", {"charset": "utf-8"}),
        tag("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}),
        tag("link", {"rel": "icon", "href": "data:,"}),
        tag("link", {"rel": "stylesheet", "href": "/page.css"}),
        tag("title", None, title),
    )
    body = tag("body", {"class": body_class}, *content, tag("script", {"src": "/app.js"}, ""))
    return f"<!doctype html>\n{tag('html', {'lang': 'en'}, head, body)}\n"


def start_page() -> str:
    """Where to begin."""
    return _page(
        "rigmodel: begin",
        "begin",
        tag(
            "header",
            None,
            tag("h1", None, "Check a weeding rig before steel is cut"),
            tag("p", None, f"rigmodel {__version__}. Nothing leaves this machine."),
        ),
        tag(
            "main",
            None,
            tag("p", {"id": "wrong", "class": "wrong", "role": "alert"}, ""),
            _begin("recent", "Go on where you were", tag("ul", {"id": "recent-list"}, "")),
            _begin(
                "demo",
                "Start from a demo scene",
                tag("label", {"for": "demo"}, "Scene"),
                tag("select", {"id": "demo"}, demos_html()),
                _button("open-demo", "Open"),
            ),
            _begin(
                "file",
                "Open a scene file",
                tag(
                    "label",
                    {"for": "file"},
                    "A scene in YAML; choose its own catalogue and mesh files with it, or a ZIP "
                    f"of them all, at most {MOST_UNPACKED >> 20} MiB",
                ),
                tag(
                    "input",
                    {"type": "file", "id": "file", "multiple": True, "accept": _ACCEPTED},
                ),
                _button("open-file", "Open"),
            ),
            _begin(
                "form",
                "Describe tractor, rows and bar",
                tag("p", {"class": "help"}, "Lengths as in the shop: 2 1/2 in, 380 mm, 7' 3\"."),
                form_html(),
                _button("open-form", "Make the scene"),
            ),
        ),
    )


def _begin(name: str, title: str, *content: Html) -> Html:
    heading = tag("h2", {"id": f"title-{name}"}, title)
    return tag(
        "section",
        {"id": f"begin-{name}", "aria-labelledby": f"title-{name}"},
        heading,
        *content,
    )


def _button(name: str, words: str, **more: str) -> Html:
    told = {key.replace("_", "-"): value for key, value in more.items()}
    return tag("button", {"type": "button", "id": name, **told}, words)


def bench_page(session_id: str, title: str) -> str:
    """The bench; the program fills it from the session's state."""
    return _page(
        f"rigmodel: {title}",
        "bench-page",
        tag("a", {"class": "skip", "href": "#findings"}, "Skip to the findings"),
        _top(session_id),
        tag("p", {"id": "wrong", "class": "wrong", "role": "alert"}, ""),
        tag(
            "main",
            {"id": "bench", "data-session": session_id},
            tag(
                "aside",
                {"class": "controls-side", "aria-label": "Numbers", "data-scrolls": True},
                _numbers(),
            ),
            tag("div", {"class": "view"}, _view(), _coverage(), _loads(), _text()),
            tag(
                "section",
                {
                    "class": "findings-side",
                    "aria-labelledby": "title-findings",
                    "data-scrolls": True,
                },
                tag("h2", {"id": "title-findings"}, "Findings"),
                tag("ol", {"class": "findings", "id": "findings", "tabindex": -1}, ""),
                tag(
                    "details",
                    {"id": "unchecked", "open": True},
                    tag(
                        "summary",
                        None,
                        "What is not checked ",
                        tag("span", {"id": "not-checked-count"}, ""),
                    ),
                    tag("div", {"id": "not-checked"}, ""),
                ),
            ),
        ),
    )


def _top(session_id: str) -> Html:
    base = f"/s/{session_id}"
    links = [
        tag("li", None, tag("a", {"href": f"{base}/scene.yaml"}, "Scene (YAML)")),
        tag("li", None, tag("a", {"href": f"{base}/scene.zip"}, "Scene with its own files (ZIP)")),
    ]
    links += [
        tag("li", None, tag("a", {"href": f"{base}/get/{name}"}, download.words))
        for name, download in OFFERED.items()
    ]
    units = [tag("option", {"value": u.value}, u.value) for u in Unit]
    return tag(
        "header",
        {"class": "top"},
        tag("h1", {"id": "title"}, "Opening the scene …"),
        tag("p", {"class": "verdict", "id": "verdict", "role": "status"}, ""),
        tag(
            "div",
            {"class": "buttons"},
            _button("undo", "Undo", disabled=""),
            _button("redo", "Redo", disabled=""),
            tag("label", {"for": "units"}, "Shown in"),
            tag("select", {"id": "units"}, units),
            _button("save", "Save to the file", hidden=""),
            tag(
                "details",
                {"class": "menu", "id": "downloads"},
                tag("summary", None, "Download"),
                tag("ul", None, links),
            ),
            tag("a", {"href": "/"}, "Other scene"),
        ),
        tag("p", {"id": "kept", "class": "help"}, ""),
        tag("p", {"id": "taking", "class": "help", "role": "status"}, ""),
    )


def _numbers() -> Html:
    return tag(
        "div",
        None,
        tag("h2", None, "Numbers"),
        tag("div", {"id": "controls"}, ""),
        tag("h2", None, "Stations"),
        tag("div", {"id": "stations"}, ""),
    )


def _view() -> Html:
    return tag(
        "section",
        {"aria-label": "3D view", "id": "view"},
        stage.stage(
            "3D view of the rig",
            _grip(),
            tag("div", {"class": "verdict", "id": "verdict-small", "aria-hidden": "true"}, ""),
        ),
        stage.says(),
        stage.view_controls(
            tag("span", {"id": "groups"}, ""), tag("span", {"id": "motions"}, ""), _KEYS
        ),
    )


def _grip() -> Html:
    """The handle of the station that is chosen; it slides along the bar."""
    return tag(
        "div",
        {
            "id": "grip",
            "role": "slider",
            "tabindex": 0,
            "hidden": True,
            "aria-label": "Place on the bar",
            "aria-orientation": "horizontal",
            "aria-valuemin": 0,
            "aria-valuemax": 0,
            "aria-valuenow": 0,
        },
        tag(
            "svg",
            {"viewBox": "0 0 44 24", "aria-hidden": "true"},
            tag("path", {"d": "M14 4 4 12l10 8m16-16 10 8-10 8M5 12h34"}),
        ),
    )


def _coverage() -> Html:
    return tag(
        "section",
        {"aria-labelledby": "title-coverage"},
        tag("h2", {"id": "title-coverage"}, "Coverage across the bed"),
        tag("div", {"id": "coverage"}, ""),
    )


def _loads() -> Html:
    return tag(
        "section",
        {"aria-labelledby": "title-loads"},
        tag("h2", {"id": "title-loads"}, "Weights and forces"),
        tag(
            "details",
            {"id": "loads-fold"},
            tag("summary", None, "Show masses, balance, draft and how the bar sags"),
            tag("div", {"id": "loads"}, ""),
        ),
    )


def _text() -> Html:
    return tag(
        "section",
        {"class": "text-side", "aria-labelledby": "title-text"},
        tag("h2", {"id": "title-text"}, "The scene's text"),
        tag("ul", {"id": "faults", "aria-label": "What is wrong in the scene's text"}, ""),
        tag(
            "details",
            {"id": "text-fold"},
            tag("summary", None, "Show and edit the text"),
            tag("label", {"for": "text"}, "YAML"),
            tag("textarea", {"id": "text", "rows": 24, "spellcheck": "false", "wrap": "off"}, ""),
            tag("p", {"class": "buttons"}, _button("take-text", "Check this text")),
            tag("h3", None, "As it stands, with line numbers"),
            tag(
                "ol",
                {"id": "lines", "class": "lines", "tabindex": 0, "aria-label": "Lines of the text"},
                "",
            ),
        ),
    )
