"""The 3D view with its controls, beside the findings."""

from __future__ import annotations

from collections.abc import Mapping

from rigmodel.assembly.model import JointKind
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.report.html.finding_list import finding_list
from rigmodel.report.html.markup import Html, Value, joined, tag
from rigmodel.report.html.model_data import groups, motions

_VIEWS = (
    ("three-quarter", "Three-quarter"),
    ("top", "Top"),
    ("front", "Front"),
    ("rear", "Rear"),
    ("left", "Left"),
    ("right", "Right"),
)
_CUTS = (
    ("none", "no cut"),
    ("across", "across the tractor"),
    ("along", "along the tractor"),
    ("level", "level with the soil"),
)
_ALONE = frozenset((JointKind.FLOAT.value, JointKind.TRIP.value))  # each may be moved alone
_HIDDEN_AT_FIRST = frozenset(("plants", "sag"))
_NOTHING = "data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw=="
_KEYS = (
    ("Turn", "drag with the mouse or one finger; arrow keys"),
    ("Move", "drag with the right button, Shift or two fingers; Shift + arrow keys"),
    ("Zoom", "wheel (after a click into the view) or pinch; + and -"),
    ("Views", "keys 1 to 6; Home for the first"),
)


def bench(assembly: Assembly, findings: Findings) -> Html:
    """View and controls at the left, findings at the right."""
    return tag(
        "div",
        {"class": "bench"},
        tag(
            "div",
            {"class": "view"},
            tag(
                "div",
                {"class": "frame"},
                stage(
                    f"3D view of {assembly.scene.spec.name}",
                    tag("noscript", None, "The 3D view needs JavaScript; the rest does not."),
                ),
                tag(
                    "img",
                    {"id": "picture", "src": _NOTHING, "alt": "The rig as the 3D view shows it"},
                ),
            ),
            says(),
            view_controls(group_boxes(assembly), motion_sliders(assembly)),
        ),
        finding_list(findings, assembly.scene.unit),
    )


def stage(title: str, *over: Html) -> Html:
    """Where the rig is drawn.

    Args:
        title: what it is called for those who do not see it.
        over: what stands over the picture.
    """
    canvas = tag(
        "canvas",
        {
            "id": "canvas",
            "tabindex": 0,
            "role": "application",
            "aria-label": title,
            "aria-describedby": "says",
        },
        "",
    )
    marks = tag("svg", {"id": "marks", "aria-hidden": "true"}, "")
    return tag("div", {"id": "stage", "data-state": "waiting"}, canvas, marks, *over)


def says() -> Html:
    """Where the view tells in words what it shows."""
    return tag("p", {"id": "says", "role": "status"}, "The rig stands at work.")


def view_controls(show: Html, move: Html, more_keys: tuple[tuple[str, str], ...] = ()) -> Html:
    """All controls of the view.

    Args:
        show: boxes for what can be hidden.
        move: sliders for what can be moved.
        more_keys: what mouse, touch and keys do beyond the view: where, and how.
    """
    return tag(
        "div",
        {"class": "controls"},
        _group("Look from", [_view(name, text) for name, text in _VIEWS], _flat()),
        _group("Show", show, _check({"id": "labels"}, "Labels and marks")),
        _group("Move", move, tag("button", {"type": "button", "id": "work"}, "Back to work")),
        _group("Cut", *_cut()),
        tag(
            "details",
            {"id": "keys"},
            tag("summary", None, "Mouse, touch and keys"),
            tag(
                "dl",
                None,
                *((tag("dt", None, a), tag("dd", None, b)) for a, b in (*_KEYS, *more_keys)),
            ),
        ),
    )


def group_boxes(assembly: Assembly) -> Html:
    """Boxes for what can be hidden."""
    return joined(
        _check(
            {
                "id": f"group-{name}",
                "data-group": name,
                "checked": name not in _HIDDEN_AT_FIRST,
            },
            text,
        )
        for name, text in groups(assembly)
    )


def motion_sliders(assembly: Assembly) -> Html:
    """A slider for every kind of motion there is, all joints of the kind together or one alone."""
    return joined(
        _slider(motion, _joints(assembly, motion["kind"])) for motion in motions(assembly)
    )


def _joints(assembly: Assembly, kind: str) -> list[str]:
    joints = assembly.mechanism.joints.values()
    return [j.name for j in joints if j.kind.value == kind and j.high > j.low]


def _cut() -> tuple[Html, ...]:
    return (
        tag(
            "select",
            {"id": "cut", "aria-label": "Direction of the cut"},
            [tag("option", {"value": name}, text) for name, text in _CUTS],
        ),
        tag(
            "input",
            {
                "type": "range",
                "id": "cut-place",
                "min": 0,
                "max": 100,
                "step": 0.5,
                "value": 50,
                "disabled": True,
                "aria-label": "Place of the cut",
            },
        ),
        _check({"id": "cut-flip", "disabled": True}, "other side"),
    )


def _group(title: str, *content: Html | list[Html]) -> Html:
    return tag("fieldset", None, tag("legend", None, title), *content)


def _view(name: str, text: str) -> Html:
    pressed = "true" if name == _VIEWS[0][0] else "false"
    attributes = {"type": "button", "data-view": name, "aria-pressed": pressed}
    return tag("button", attributes, text)


def _flat() -> Html:
    return _check({"id": "flat"}, "no perspective")


def _check(attributes: Mapping[str, Value], text: str) -> Html:
    box = tag("input", {"type": "checkbox", **attributes})
    return tag("label", {"class": "check"}, box, text)


def _slider(motion: Mapping[str, str], joints: list[str]) -> Html:
    kind, title = motion["kind"], motion["title"]
    name = f"motion-{kind}"
    one = tag(
        "select",
        {"id": f"one-{kind}", "data-one": kind, "aria-label": f"{title}: which of them to move"},
        tag("option", {"value": ""}, f"all {len(joints)} together"),
        [tag("option", {"value": joint}, joint.removesuffix(f".{kind}")) for joint in joints],
    )
    ends = "both ends" if motion["low"] and motion["high"] else "the end"
    return tag(
        "div",
        {"class": "slider"},
        tag("label", {"for": name}, title),
        tag(
            "input",
            {
                "type": "range",
                "id": name,
                "min": -100 if motion["low"] else 0,
                "max": 100 if motion["high"] else 0,
                "step": 5,
                "value": 0,
                "data-motion": kind,
                "data-low": motion["low"],
                "data-high": motion["high"],
            },
        ),
        tag("output", {"for": name}, "at work"),
        one if len(joints) > 1 and kind in _ALONE else "",
        tag(
            "label",
            {"class": "check"},
            tag(
                "input",
                {
                    "type": "checkbox",
                    "id": f"ghosts-{kind}",
                    "data-ghosts": kind,
                    "aria-label": f"{title}: ghosts at {ends} of the motion",
                },
            ),
            f"ghosts at {ends}",
        ),
    )
