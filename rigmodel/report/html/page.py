"""`html_report`: the whole page, with its styles, its program and its data inside it."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.loads.account import Account
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.html import colours
from rigmodel.report.html.finding_list import counts
from rigmodel.report.html.loads import loads_section
from rigmodel.report.html.margins import margins_chart
from rigmodel.report.html.markup import Html, embedded_json, joined, tag
from rigmodel.report.html.model_data import model_data
from rigmodel.report.html.spec_text import spec_text
from rigmodel.report.html.stage import bench
from rigmodel.report.html.strips import coverage_chart
from rigmodel.report.html.tables import adjustments_table, marks_table, parts_table
from rigmodel.report.html.verdicts import badge

ASSETS = Path(__file__).parent / "assets"
VIEW_SCRIPTS = (
    "linear",
    "model",
    "batch",
    "shaders",
    "smooth",
    "painter",
    "camera",
    "hands",
    "marks",
    "stage",
)
_UNITS = {
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "in": "inches",
    "ft": "feet and inches",
}


def html_report(assembly: Assembly, findings: Findings, version: str) -> str:
    """The report as one HTML file that needs nothing else, and no network, to open.

    The page forbids itself every request; only its own script and style, known by their hashes,
    may run. Equal assemblies and findings give equal pages.

    Args:
        assembly: what `assemble` returned.
        findings: what `check` found in it.
        version: version of the program, to be told in the page.
    """
    loads = findings.loads or Account(assembly)
    style, script = page_style(), page_script()
    head = tag(
        "head",
        None,
        tag("meta", {"charset": "utf-8"}),
        tag("meta", {"http-equiv": "Content-Security-Policy", "content": _policy(style, script)}),
        tag("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}),
        tag("meta", {"name": "generator", "content": f"rigmodel {version}"}),
        tag("link", {"rel": "icon", "href": "data:,"}),
        tag("title", None, f"{findings.verdict.value}: {findings.scene}"),
        tag("style", None, style),
    )
    body = tag(
        "body",
        None,
        tag("a", {"class": "skip", "href": "#findings"}, "Skip to the findings"),
        _header(assembly, findings, version),
        tag("main", None, *_sections(assembly, findings, version, loads)),
        tag(
            "script",
            {"type": "application/json", "id": "model-data"},
            embedded_json(model_data(assembly, findings)),
        ),
        tag("script", None, script),
    )
    return f"<!doctype html>\n{tag('html', {'lang': 'en'}, head, body)}\n"


@cache
def page_style() -> Html:
    """The style sheet, its colours first."""
    rules = (ASSETS / "style.css").read_text(encoding="utf-8")
    return Html(colours.variables() + re.sub(r"/\*.*?\*/", "", rules, flags=re.DOTALL))


@cache
def page_script() -> Html:
    """The program of the 3D view, in a scope of its own."""
    files = (ASSETS / "view" / f"{name}.js" for name in (*VIEW_SCRIPTS, "page"))
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    return Html(f'(() => {{\n"use strict";\n{text}}})();')


def _policy(style: str, script: str) -> str:
    return (
        f"default-src 'none'; img-src data:; style-src {_hash(style)}; "
        f"script-src {_hash(script)}; base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def _header(assembly: Assembly, findings: Findings, version: str) -> Html:
    unit = _UNITS[assembly.scene.unit.value]
    origin = Path(assembly.scene.origin).name or "scene"
    return tag(
        "header",
        None,
        tag("h1", None, findings.scene),
        tag(
            "p",
            {"class": "verdict"},
            badge(findings.verdict),
            tag("span", None, counts(findings)),
        ),
        tag("p", {"class": "origin"}, f"{origin} · lengths in {unit} · rigmodel {version}"),
    )


def _sections(
    assembly: Assembly, findings: Findings, version: str, loads: Account
) -> tuple[Html, ...]:
    return (
        _section("view", "3D view and findings", bench(assembly, findings)),
        _section("margins", "Room left to each limit", margins_chart(assembly, findings)),
        _section("coverage", "Coverage across the bed", coverage_chart(assembly)),
        _section("marks", "Marks on the bar", marks_table(assembly)),
        _section("settings", "Settings", adjustments_table(assembly)),
        _section("loads", "Weights and forces", loads_section(assembly, loads)),
        _section("parts", "Parts", parts_table(assembly)),
        _section("not-checked", "What was not checked", _not_checked(findings)),
        _section("cautions", "Cautions", _list(CAUTIONS)),
        _section("again", "To get this report again", _again(assembly, version)),
    )


def _section(name: str, title: str, *content: Html) -> Html:
    return tag(
        "section",
        {"id": f"section-{name}", "aria-labelledby": f"title-{name}"},
        tag("h2", {"id": f"title-{name}"}, title),
        *content,
    )


def _not_checked(findings: Findings) -> Html:
    reasons: dict[str, list[str]] = {}
    for item in findings.not_checked:
        reasons.setdefault(item.reason, []).append(item.check)
    told = [
        joined((reason, " (", tag("code", None, ", ".join(checks)), ")"))
        for reason, checks in reasons.items()
    ]
    bolted = [f"{one} + {other}" for one, other in findings.bolted]
    return joined(
        (
            _list(told),
            tag(
                "details",
                None,
                tag(
                    "summary",
                    None,
                    "Not held against each other, because they are bolted together: "
                    f"{len(bolted)} pairs",
                ),
                tag("div", {"class": "columns"}, _list(bolted)),
            ),
        )
    )


def _list(texts: tuple[str, ...] | list[str] | list[Html]) -> Html:
    return tag("ul", None, [tag("li", None, text) for text in texts])


def _again(assembly: Assembly, version: str) -> Html:
    name = Path(assembly.scene.origin).name or "scene.yaml"
    return joined(
        (
            tag(
                "p",
                None,
                "Save the text below as ",
                tag("code", None, name),
                " next to any catalogue and mesh files of your own, and run ",
                tag("code", None, f"rigmodel report {name}"),
                f" with rigmodel {version}.",
            ),
            tag(
                "pre",
                {"id": "spec", "tabindex": 0, "aria-label": "The scene's text"},
                tag("code", None, spec_text(assembly.scene)),
            ),
        )
    )
