"""What stands round the 3D view, as HTML made on the server: findings, controls, stations."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache

from rigmodel.clearance.finding import Finding, NotChecked, Verdict
from rigmodel.errors import Fault
from rigmodel.page.checking import Checked
from rigmodel.page.choosers import ADDING, Place, fitting_units, pictures_fold, places_of
from rigmodel.page.controls import (
    Control,
    more_controls,
    quick_controls,
    station_controls,
)
from rigmodel.page.lists import LISTS, Listed, items
from rigmodel.page.scene_edits import step_mm
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.html.finding_list import finding_item
from rigmodel.report.html.markup import Html, Value, joined, tag
from rigmodel.report.html.verdicts import ranked
from rigmodel.spec.resolve import PlannedStation, Scene

_LOADS, _ALLOWANCES = "Weights and forces", "What may be off, and is taken as exact"
_FEW = 3  # so many lines need no fold
_PLACES = (
    ("rows", "at every row"),
    ("gaps", "in every gap between rows"),
    ("tracks", "in the wheel tracks"),
    ("outside", "outside the outer rows"),
)


def findings_html(checked: Checked) -> Html:
    """All findings, worst first, each with what was measured and a remedy to apply.

    What passes is behind a fold, so that what is to be done stands at the top of a small screen.
    """
    unit = checked.scene.unit
    open_items: list[Html] = []
    passed: list[Html] = []
    for n, f in ranked(checked.findings.findings):
        item = finding_item(n, f, unit, *_remedy(n, f, checked))
        (passed if f.verdict is Verdict.PASS else open_items).append(item)
    if not passed:
        return joined(open_items)
    count = len(passed)
    summary = f"{count} check{'s' if count > 1 else ''} pass{'' if count > 1 else 'es'}"
    fold = tag(
        "details",
        {"id": "passed"},
        tag("summary", None, summary),
        tag("ol", {"class": "findings", "aria-label": "What passes"}, passed),
    )
    return joined((*open_items, tag("li", {"class": "fold"}, fold)))


def _remedy(number: int, finding: Finding, checked: Checked) -> Iterator[Html]:
    if finding.verdict is not Verdict.FAIL:
        return
    if finding.remedy is None:
        words = (
            "No remedy found by turning one value; change the layout or the parts."
            if checked.cured
            else "Looking for a remedy …"
        )
        yield tag("p", {"class": "remedy"}, words)
        return
    leaves = finding.remedy.leaves
    told = finding.remedy.says + (f" But then these fail: {', '.join(leaves)}." if leaves else "")
    target = json.dumps([finding.check, list(finding.parts)])
    yield tag(
        "p",
        {"class": "remedy"},
        tag("span", None, f"Remedy, re-checked: {told}"),
        tag(
            "button",
            {
                "type": "button",
                "id": f"remedy-{number}",
                "data-remedy": target,
                "aria-label": f"Apply the remedy of finding {number}",
            },
            "Apply",
        ),
    )


def not_checked_html(checked: Checked) -> Html:
    """What the checks leave out, and the cautions.

    What can be told in a few lines stands open: what of the rig's clearances and work the verdict
    does not speak for. Long lists of values that are not given are behind folds that count them.
    """
    reasons: dict[str, dict[str, list[str]]] = {"": {}, _LOADS: {}, _ALLOWANCES: {}}
    for item in checked.findings.not_checked:
        reasons[_kind_of_gap(item)].setdefault(item.reason, []).append(item.check)
    told = {kind: _reasons(found) for kind, found in reasons.items()}
    folded = [
        tag(
            "details",
            {"id": "unchecked-" + kind.split(maxsplit=1)[0].lower()},
            tag("summary", None, f"{kind} ({len(found)})"),
            tag("ul", None, found),
        )
        for kind, found in told.items()
        if kind and len(found) > _FEW
    ]
    stand_open = [one for k, found in told.items() if not k or len(found) <= _FEW for one in found]
    return joined(
        (
            tag("ul", None, stand_open) if stand_open else "",
            folded,
            tag("h3", None, "Cautions"),
            tag("ul", None, [tag("li", None, caution) for caution in CAUTIONS]),
        )
    )


def _kind_of_gap(item: NotChecked) -> str:
    if item.check.startswith("load-"):
        return _LOADS
    return _ALLOWANCES if "tolerances." in item.reason else ""


def _reasons(found: Mapping[str, Sequence[str]]) -> list[Html]:
    return [
        tag(
            "li",
            {"data-reason": True},
            reason,
            " (",
            tag("code", None, ", ".join(dict.fromkeys(checks))),
            ")",
        )
        for reason, checks in found.items()
    ]


def controls_html(checked: Checked, text: str) -> Html:
    """The few numbers that matter, and the rest behind folds."""
    scene = checked.scene
    folds = [
        tag(
            "details",
            {"id": f"more-{i}"},
            tag("summary", None, title),
            [_field(item) for item in items],
        )
        for i, (title, items) in enumerate(more_controls(scene, text))
    ]
    grown = [_list(listed, scene, text) for listed in LISTS]
    return joined(([_field(c) for c in quick_controls(scene, text)], folds, grown))


def _list(listed: Listed, scene: Scene, text: str) -> Html:
    """A list with all its items, and a button for one more."""
    found = items(listed, scene, text)
    return tag(
        "details",
        {"id": f"list-{listed.id}"},
        tag("summary", None, f"{listed.title} ({len(found)})"),
        tag("p", {"class": "help"}, listed.help),
        [_item(listed, number, fields) for number, fields in enumerate(found, start=1)],
        tag(
            "button",
            {"type": "button", "id": f"grow-{listed.id}", "data-grow": listed.id},
            f"Add: {listed.item.lower()} {len(found) + 1}",
        ),
    )


def _item(listed: Listed, number: int, fields: tuple[Control, ...]) -> Html:
    name = f"{listed.item} {number}"
    return tag(
        "fieldset",
        {"class": "item"},
        tag("legend", None, name),
        [_field(field) for field in fields],
        tag(
            "button",
            {
                "type": "button",
                "id": f"shrink-{listed.id}-{number}",
                "data-shrink": listed.id,
                "data-index": number - 1,
                "aria-label": f"Delete {name.lower()}: {listed.title}",
            },
            "Delete",
        ),
    )


@lru_cache(maxsize=4096)  # of two states most controls are the same
def _field(control: Control, lead: str = "") -> Html:
    """One control with its label, unit, help and room for what is wrong with it."""
    help_id, fault_id = f"{control.id}-help", f"{control.id}-fault"
    attributes: dict[str, Value] = {
        "id": control.id,
        "data-path": json.dumps(control.path),
        "data-kind": control.kind,
        "aria-describedby": f"{help_id} {fault_id}",
    }
    if control.kind == "choice":
        picks = [_option(v, words, v == control.written) for v, words in control.choices]
        entry = tag("select", attributes, picks)
    else:
        attributes |= {"type": "text", "value": control.written, "autocomplete": "off"}
        if control.default:
            attributes["placeholder"] = control.default
        entry = tag("input", attributes)
    unit = tag("span", {"class": "unit"}, control.unit) if control.unit else ""
    return tag(
        "div",
        {"class": "field"},
        tag("label", {"for": control.id}, lead + control.title),
        tag("div", {"class": "entry"}, entry, unit),
        tag("p", {"class": "help", "id": help_id}, control.help),
        tag("p", {"class": "wrong", "id": fault_id, "role": "alert"}, ""),
    )


def _option(value: str, words: str, chosen: bool) -> Html:
    return tag("option", {"value": value, "selected": chosen}, words)


def stations_html(checked: Checked, text: str) -> Html:
    """A card for every station, and one to add another."""
    cards = [_station(planned, checked, text) for planned in checked.scene.stations]
    return joined((cards, _adding(checked.scene)))


def _station(planned: PlannedStation, checked: Checked, text: str) -> Html:
    scene = checked.scene
    single = isinstance(planned.spec.at, tuple) or all(p.side == 0 for p in planned.places)
    return _card(
        planned.index,
        planned.spec.use or "own build",
        ", ".join(place.name for place in planned.places),
        ("Move left", "Move right") if single else ("Move outward", "Move inward"),
        scene.say(step_mm(scene)),
        station_controls(scene, text, planned.index),
        tuple((place, _part_control(place, scene)) for place in places_of(scene, planned)),
    )


@lru_cache(maxsize=256)  # most changes leave most stations as they are
def _card(
    index: int,
    use: str,
    places: str,
    ways: tuple[str, str],
    step: str,
    controls: tuple[Control, ...],
    parts: tuple[tuple[Place, Control], ...],
) -> Html:
    name = f"Station {index + 1}: {use}"
    buttons = (
        ("choose", 0, "Move in 3D"),
        ("move", 1, f"{ways[0]} {step}"),
        ("move", -1, f"{ways[1]} {step}"),
        ("copy", 0, "Copy"),
        ("rows", 0, "To all rows"),
        ("mirror", 0, "Mirror"),
        ("remove", 0, "Delete"),
    )
    return tag(
        "details",
        {"class": "station", "id": f"station-{index}"},
        tag("summary", None, name, " ", tag("small", None, places)),
        tag(
            "div",
            {"class": "buttons", "role": "group", "aria-label": f"{name}: what to do with it"},
            [_action(index, name, *button) for button in buttons],
        ),
        [_field(c) for c in controls],
        tag("h4", None, "What it is made of"),
        [joined((_field(control), pictures_fold(place))) for place, control in parts],
    )


def _action(index: int, name: str, what: str, count: int, words: str) -> Html:
    does: dict[str, Value] = {"data-station": index, "data-do": what, "data-count": count}
    return tag(
        "button",
        {
            "type": "button",
            "id": f"do-{index}-{what}{count}",
            **({"data-choose": index} if what == "choose" else does),
            "aria-label": f"{words}: {name}",
        },
        words,
    )


def _part_control(place: Place, scene: Scene) -> Control:
    """Chooses what the station uses, or another part for one of its own."""
    kind = "" if place.units else scene.catalogue.parts[place.now].kind
    help_text = "Sub-assembly" if place.units else f"Part ({kind})"
    title = str(place.path[-1]).replace("_", " ").capitalize()
    told = f"{help_text} from the catalogue"
    return Control(place.path, title, told, "choice", "", place.now, "", place.choices)


def _adding(scene: Scene) -> Html:
    uses = [_option(name, words, False) for name, words in fitting_units(scene)]
    return tag(
        "fieldset",
        {"class": "adding"},
        tag("legend", None, "Add a station"),
        tag("label", {"for": "add-use"}, "What"),
        tag("select", {"id": "add-use"}, uses),
        pictures_fold(Place(ADDING, "", True, ())),
        tag("label", {"for": "add-at"}, "Where"),
        tag("select", {"id": "add-at"}, [_option(v, words, False) for v, words in _PLACES]),
        tag("button", {"type": "button", "id": "add-station"}, "Add"),
    )


def faults_html(faults: Sequence[Fault]) -> Html:
    """Every fault as the command line says it, with a link to its line."""
    return joined(
        tag(
            "li",
            None,
            tag("code", None, fault.text()),
            tag(
                "button",
                {
                    "type": "button",
                    "data-line": fault.line,
                    "aria-label": f"Go to line {fault.line} of the scene's text",
                },
                f"Line {fault.line}",
            )
            if fault.line
            else "",
        )
        for fault in faults
    )


def lines_html(text: str, faults: Sequence[Fault]) -> Html:
    """The scene's text with line numbers; lines at fault are marked by colour, sign and words."""
    wrong = {fault.line: fault for fault in faults if fault.line}
    return joined(
        tag(
            "li",
            {"id": f"line-{i}", **({"class": "bad"} if i in wrong else {})},
            tag("code", None, line or " "),
            tag("span", {"class": "why"}, f"✗ {wrong[i].message}") if i in wrong else "",
        )
        for i, line in enumerate(text.splitlines(), start=1)
    )
