"""One HTML page of a study: what fits what, and why not."""

from __future__ import annotations

import base64
import hashlib
import itertools
from collections.abc import Iterator

from rigmodel.advise.study.cases import Outcome, Result
from rigmodel.advise.study.fits import Stretch, counts, reasons, robust, stretches
from rigmodel.advise.study.heat import MOODS, MOST_MAPS, SIGNS, heat_maps, maps, room_text
from rigmodel.advise.study.plan import StudyPlan
from rigmodel.advise.study.results import Results
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.html.markup import Child, Html, joined, table, tag
from rigmodel.report.html.page import page_style
from rigmodel.units import Unit

MOST_ROWS = 2000
_MOST_STRETCHES = 500
_STYLE = """
figure { margin: 0 0 22px; } figcaption { font-weight: 600; margin-bottom: 6px; }
.heat text { font-size: 13px; fill: var(--ink); } .heat .axis { fill: var(--soft); }
.heat .mid { text-anchor: middle; } .heat .small { font-size: 12px; }
.heat .sign { font-size: 15px; font-weight: 700; }
.heat rect { stroke: var(--line); stroke-width: 1; } .heat .no { fill: none; }
.heat .edge { fill: none; stroke: var(--ink); stroke-width: 3.5; stroke-linecap: square; }
.cell.pass rect { fill: var(--pass); } .cell.advise rect { fill: var(--advise); }
.cell.fail rect { fill: var(--fail); } .cell.open rect { fill: var(--open); }
.cell.invalid rect { fill: var(--soft); }
.end { display: inline-flex; gap: 6px; white-space: nowrap; font-weight: 600; }
.end.pass { color: var(--pass); } .end.advise { color: var(--advise); }
.end.fail { color: var(--fail); } .end.open { color: var(--open); }
.end.invalid { color: var(--soft); }
.sum { display: flex; flex-wrap: wrap; gap: 8px 26px; font-size: 18px; }
figure { break-inside: avoid; } tr { break-inside: avoid; }
@media print {
  @page { size: A4; margin: 12mm; }
  .heat { max-width: 100%; max-height: 118mm; height: auto; }
  header { padding-block: 0; } header h1 { font-size: 20px; }
  .sum { font-size: 15px; } table { font-size: 11px; } figure { margin-bottom: 4px; }
  h2 { font-size: 15px; margin: 0 0 2px; } p { margin: 2px 0; font-size: 12.5px; }
  caption, th { font-size: 11px; padding-block: 2px; } td { padding-block: 3px; }
  section { break-inside: auto; padding-block: 6px; } section:nth-of-type(4) { break-before: page; }
  .heat rect { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
td { vertical-align: top; } td:last-child { min-width: 22em; }
"""


def study_page(plan: StudyPlan, results: Results, unit: Unit, version: str) -> str:
    """The page as one HTML file that needs nothing else; equal studies give equal pages.

    Args:
        plan: the study.
        results: of all its cases.
        unit: unit to print lengths in.
        version: version of the program, to be told in the page.
    """
    style = Html(page_style() + _STYLE)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode("ascii")
    policy = f"default-src 'none'; img-src data:; style-src 'sha256-{digest}'; base-uri 'none'"
    head = tag(
        "head",
        None,
        tag("meta", {"charset": "utf-8"}),
        tag("meta", {"http-equiv": "Content-Security-Policy", "content": policy}),
        tag("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}),
        tag("link", {"rel": "icon", "href": "data:,"}),
        tag("title", None, f"What fits what: {plan.name}"),
        tag("style", None, style),
    )
    body = tag(
        "body",
        None,
        tag(
            "header",
            None,
            tag("h1", None, f"What fits what, and why not: {plan.name}"),
            tag("p", {"class": "origin"}, f"{plan.origin} · {_drawn(plan)} · rigmodel {version}"),
        ),
        tag("main", None, *_sections(plan, results, unit)),
    )
    return f"<!doctype html>\n{tag('html', {'lang': 'en'}, head, body)}\n"


def _drawn(plan: StudyPlan) -> str:
    if plan.drawn is None:
        return f"all {plan.total} cases of the grid"
    return f"{plan.total} cases drawn from a grid of {plan.grid}"


def _sections(plan: StudyPlan, results: Results, unit: Unit) -> Iterator[Html]:
    yield _section("How the cases end", _sum(results))
    yield _section("What fits what", *_maps(plan, results, unit))
    yield _section("Why cases do not fit", _reasons(plan, results))
    yield _section("The most robust choice", _robust(plan, results, unit))
    yield _section("Where it fits, and what stops it", _stretches(plan, results))
    yield _section("What was varied", _axes(plan))
    yield _section("Every case", _matrix(plan, results, unit))
    notes = tag("ul", None, [tag("li", None, text) for text in CAUTIONS])
    yield _section("Cautions", notes)


def _section(title: str, *content: Html) -> Html:
    return tag("section", None, tag("h2", None, title), *content)


def _end(outcome: Outcome, more: str = "") -> Html:
    told = f"{outcome.value}{more}"
    return tag("span", {"class": f"end {MOODS[outcome]}"}, f"{SIGNS[outcome]} {told}")


def _sum(results: Results) -> Html:
    found = counts(results)
    ends = [_end(outcome, f": {number}") for outcome, number in found.items()]
    total = tag("span", None, f"= {sum(found.values())} cases")
    return tag("p", {"class": "sum"}, *ends, total)


def _axes(plan: StudyPlan) -> Html:
    rows = [(a.name, ", ".join(a.paths), ", ".join(a.labels)) for a in plan.axes]
    return table("Each value with each of the others", ("Name", "In the scene", "Values"), rows, ())


def _robust(plan: StudyPlan, results: Results, unit: Unit) -> Html:
    best = robust(plan, results)
    if best is None:
        return tag("p", None, "No case fits.")
    values = "; ".join(
        f"{a.name} {label}"
        for a, label in zip(plan.axes, plan.labels(best.result.case), strict=True)
    )
    far = "no case of the study fails"
    if best.steps is not None:
        steps = "step" if best.steps == 1 else "steps"
        far = f"{best.steps} {steps} away from any case that does not fit"
    room = best.result.room_mm
    least = "" if room is None else f" Its least room is {room_text(room, unit)}{_of(best.result)}."
    return joined(
        (
            tag("p", None, tag("b", None, values), " ", _end(best.result.outcome)),
            tag(
                "p", None, f"{far[0].upper()}{far[1:]}.{least} Outside the study nothing is known."
            ),
        )
    )


def _of(result: Result) -> str:
    return f" ({result.room_check})" if result.room_check else ""


def _maps(plan: StudyPlan, results: Results, unit: Unit) -> Iterator[Html]:
    yield tag(
        "p",
        None,
        *[joined((_end(outcome), "  ")) for outcome in Outcome],
        " The number is the least room to any limit, minus is too little; more colour is more of "
        "it. Below it stands what stops the case, and how many checks more do. The thick line is "
        "where it stops fitting. Point at a cell to read why.",
    )
    yield from heat_maps(plan, results, unit)
    left = maps(plan) - MOST_MAPS
    if left > 0:
        yield tag("p", None, f"{left} more maps are not drawn; every case is in the Parquet file.")


def _stretches(plan: StudyPlan, results: Results) -> Html:
    found = list(itertools.islice(stretches(plan, results), _MOST_STRETCHES + 1))
    if not found:
        return tag("p", None, "No case fits.")
    last = plan.axes[-1].name
    heads: list[Child] = [axis.name for axis in plan.axes[:-1]]
    heads += [f"{last}: fits", "Stopped below by", "Stopped above by"]
    rows = [_stretch(stretch) for stretch in found[:_MOST_STRETCHES]]
    told = "Neighbouring values that fit, with the others held"
    if len(found) > _MOST_STRETCHES:
        told += f" (the first {_MOST_STRETCHES})"
    return table(told, heads, rows, ())


def _stretch(stretch: Stretch) -> list[Child]:
    span = stretch.low if stretch.cases == 1 else f"{stretch.low} to {stretch.high}"
    return [*stretch.held, span, _stop(stretch.before), _stop(stretch.after)]


def _stop(result: Result | None) -> Child:
    if result is None:
        return "not known: not in this study"
    return joined((_end(result.outcome), " ", _lines(result.reason)))


def _lines(text: str) -> Html:
    return joined(tag("div", None, line) for line in text.splitlines())


def _reasons(plan: StudyPlan, results: Results) -> Html:
    rows = [
        (
            reason.cause,
            _end(reason.outcome),
            str(reason.cases),
            " / ".join(plan.labels(reason.example.case)),
            reason.says,
        )
        for reason in reasons(results)
    ]
    if not rows:
        return tag("p", None, "Every case fits.")
    heads = ("Cause", "Ends as", "Cases", "For example", "What is said there")
    return table("A case that fails two checks counts with both", heads, rows, (2,))


def _matrix(plan: StudyPlan, results: Results, unit: Unit) -> Html:
    rows = [
        (
            str(result.case + 1),
            *plan.labels(result.case),
            _end(result.outcome),
            room_text(result.room_mm, unit),
            _lines(result.reason),
        )
        for result in itertools.islice(results, MOST_ROWS)
    ]
    told = "Every case, how it ends and why"
    if len(results) > MOST_ROWS:
        told = f"The first {MOST_ROWS} of {len(results)} cases; all are in the Parquet file"
    heads = ("Case", *(axis.name for axis in plan.axes), "Ends as", "Least room", "Why")
    return table(told, heads, rows, (0, len(plan.axes) + 2))
