"""The 3D view with its controls, beside the findings."""

from __future__ import annotations

from collections.abc import Mapping

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.report.html.finding_list import finding_list
from rigmodel.report.html.markup import Html, Value, tag
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
_HIDDEN_AT_FIRST = frozenset(("plants",))
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
            _stage(assembly),
            tag("p", {"id": "says", "role": "status"}, "The rig stands at work."),
            _controls(assembly),
        ),
        finding_list(findings, assembly.scene.unit),
    )


def _stage(assembly: Assembly) -> Html:
    canvas = tag(
        "canvas",
        {
            "id": "canvas",
            "tabindex": 0,
            "role": "application",
            "aria-label": f"3D view of {assembly.scene.spec.name}",
            "aria-describedby": "keys",
        },
        "",
    )
    return tag(
        "div",
        {"class": "frame"},
        tag(
            "div",
            {"id": "stage", "data-state": "waiting"},
            canvas,
            tag("svg", {"id": "marks", "aria-hidden": "true"}, ""),
            tag("noscript", None, "The 3D view needs JavaScript; the rest of the page does not."),
        ),
        tag("img", {"id": "picture", "src": _NOTHING, "alt": "The rig as the 3D view shows it"}),
    )


def _controls(assembly: Assembly) -> Html:
    return tag(
        "div",
        {"class": "controls"},
        _group("Look from", [_view(name, text) for name, text in _VIEWS], _flat()),
        _group(
            "Show",
            [
                _check({"data-group": name, "checked": name not in _HIDDEN_AT_FIRST}, text)
                for name, text in groups(assembly)
            ],
        ),
        _group(
            "Cut",
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
        ),
        _group(
            "Move",
            [_slider(motion) for motion in motions(assembly)],
            tag("button", {"type": "button", "id": "work"}, "Back to work"),
        ),
        tag(
            "details",
            {"id": "keys"},
            tag("summary", None, "Mouse, touch and keys"),
            tag("dl", None, *((tag("dt", None, a), tag("dd", None, b)) for a, b in _KEYS)),
        ),
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


def _slider(motion: Mapping[str, str]) -> Html:
    name = f"motion-{motion['kind']}"
    return tag(
        "div",
        {"class": "slider"},
        tag("label", {"for": name}, motion["title"]),
        tag(
            "input",
            {
                "type": "range",
                "id": name,
                "min": -100 if motion["low"] else 0,
                "max": 100 if motion["high"] else 0,
                "step": 5,
                "value": 0,
                "data-motion": motion["kind"],
                "data-low": motion["low"],
                "data-high": motion["high"],
            },
        ),
        tag("output", {"for": name}, "at work"),
    )
