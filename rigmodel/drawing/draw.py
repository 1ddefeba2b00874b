"""`drawings(assembly)`: every sheet that a shop needs, from the assembly's own numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.drawing.arrangement import Arrangement
from rigmodel.drawing.bar import BarSheet
from rigmodel.drawing.details import DetailSheets
from rigmodel.drawing.flow import Flow, Page
from rigmodel.drawing.furniture import Title, drawing_area, furniture
from rigmodel.drawing.lettering import on_paper
from rigmodel.drawing.model import Drawn
from rigmodel.drawing.placing import arranged, round_behind, round_side
from rigmodel.drawing.primitives import Item
from rigmodel.drawing.sheet import Paper, Sheet, View, usual_paper
from rigmodel.drawing.stamp import stamp_items


@dataclass(frozen=True)
class _Draft:
    """A sheet before it is known how many there are."""

    name: str
    views: Sequence[View]
    items: Sequence[Item]
    notes: Sequence[str]

    @property
    def scale(self) -> str:
        """The scale for the title block."""
        found = {view.scale for view in self.views}
        if len(found) != 1:
            return "as shown" if found else "–"
        return f"1:{found.pop()}"


def drawings(
    assembly: Assembly, paper: Paper | None = None, date: str = "", stamp: str = ""
) -> tuple[Sheet, ...]:
    """The fabrication drawings of an assembly.

    Args:
        assembly: what `assemble` returned; it is not changed.
        paper: size of the sheets; None takes the one usual with the scene's unit.
        date: what the title block shows as the date; the drawing never asks the clock.
        stamp: what `stamp_of` says of the rig's findings; stands on every sheet.

    Returns:
        The general arrangement, the rig, the bar with the stations' table, and the details of the
        tubes and shanks that are cut to length.
    """
    unit = assembly.scene.unit
    paper = usual_paper(unit) if paper is None else paper
    drafts = list(_drafts(assembly, paper))
    name = on_paper(assembly.scene.spec.name)
    found = []
    for k, draft in enumerate(drafts, start=1):
        title = Title(name, draft.name, draft.scale, unit, k, len(drafts), date)
        items = (*furniture(paper, title, draft.notes), *draft.items, *stamp_items(paper, stamp))
        found.append(Sheet(draft.name, name, paper, unit, k, tuple(draft.views), items, stamp))
    return tuple(found)


def _drafts(assembly: Assembly, paper: Paper) -> Iterable[_Draft]:
    drawn = Drawn(assembly)
    area, unit = drawing_area(paper), assembly.scene.unit
    views = Arrangement(drawn, area.width)
    pages = arranged(views.on_tractor, round_side, area, unit)
    yield from _numbered(
        "General arrangement", [Page(list(p)) for p in pages], views.tractor_notes()
    )
    pages = arranged(views.rig, round_behind, area, unit)
    yield from _numbered("The rig", [Page(list(p)) for p in pages], views.rig_notes())
    bar = BarSheet(drawn)
    flow = Flow(paper)
    bar.fill(flow)
    yield from _numbered("The bar", flow.pages, bar.notes())
    cut = DetailSheets(assembly)
    if cut.details:
        flow = Flow(paper)
        cut.fill(flow)
        yield from _numbered("Tubes and shanks", flow.pages, cut.notes())


def _numbered(name: str, pages: Sequence[Page], notes: Sequence[str]) -> Iterable[_Draft]:
    for k, page in enumerate(pages, start=1):
        title = name if len(pages) == 1 else f"{name} ({k})"
        yield _Draft(title, page.views, page.items, notes)
