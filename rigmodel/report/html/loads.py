"""Weights and forces: what the rig weighs, where it balances, what it does to bar and lift."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.trace import trace
from rigmodel.report.html import load_tables as tables
from rigmodel.report.html.load_chart import load_chart
from rigmodel.report.html.load_curves import lift_curves, spring_curves
from rigmodel.report.html.load_side import side_view
from rigmodel.report.html.markup import Html, table, tag


def loads_section(assembly: Assembly, found: Account) -> Html:
    """Tables and drawings of everything known, what is not known, and how each number was found."""
    return tag("div", {"class": "weights"}, list(_parts(assembly, found)))


def _parts(assembly: Assembly, found: Account) -> Iterator[Html]:
    unit = assembly.scene.unit
    yield tag(
        "p",
        None,
        f"The rig weighs {words.mass(found.rig_kg, unit)}, the bar alone "
        f"{words.mass(found.bar_kg, unit)}. Bolts, springs' own weight, hangers and what the "
        f"tractor carries are not in it. {ENGINEER}",
    )
    yield side_view(assembly, found)
    yield tables.balance(assembly, found)
    curves = list(lift_curves(assembly, found))
    if curves:
        yield tag("div", {"class": "curves"}, curves)
    if found.axles is not None:
        yield tables.axles(assembly, found.axles)
    yield tables.stations(assembly, found)
    yield _fold("Mass of every part", tables.parts(assembly, found))
    if found.pull is not None:
        yield tables.pull(found)
        yield _fold("Draft of every tool", tables.drafts(assembly, found))
    if found.along is not None:
        yield load_chart(assembly, found.along)
        yield tables.hangers(assembly, found)
    if found.struts:
        yield tables.struts(assembly, found)
    yield from tables.strength(assembly, found)
    if found.springs:
        yield tables.springs(assembly, found)
        yield tag("div", {"class": "curves"}, list(spring_curves(assembly, found)))
    if found.clamps:
        yield _fold("What every clamp holds", tables.clamps(assembly, found))
    yield tag("h3", None, "Not known")
    yield tag("ul", None, [tag("li", None, text) for text in found.unknown])
    yield _fold("How each number was found", _trace(assembly, found))


def _fold(title: str, content: Html) -> Html:
    return tag(
        "details", {"id": title.lower().replace(" ", "-")}, tag("summary", None, title), content
    )


def _trace(assembly: Assembly, found: Account) -> Html:
    rows = [
        (one.what, one.formula, one.inputs, one.result, one.source)
        for one in trace(assembly, found)
    ]
    return table(
        "Formulas, what went into them, and their sources",
        ("What", "Formula", "What went in", "Result", "Source"),
        rows,
        (),
    )
