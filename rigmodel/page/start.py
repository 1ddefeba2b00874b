"""Ways to begin: a demo scene, a file, or a short form in the order one walks round the tractor."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

import rigmodel
from rigmodel.catalog.kinds import SquareTube
from rigmodel.catalog.store import builtin_catalogue
from rigmodel.errors import InputError, sentence
from rigmodel.page.text_edit import value_at
from rigmodel.report.html.markup import Html, Value, joined, tag
from rigmodel.sheet.fields import SECTIONS, all_names, spec_field
from rigmodel.sheet.form import what_is
from rigmodel.sheet.measures import scene_text_from_measures
from rigmodel.spec.new import QUESTIONS, new_scene_text

_FILLED = {
    "name": "My weeding rig",
    "units": "in",
    "rows.count": "3",
    "rows.spacing": "15",
    "rows.keep_out": "2 1/2",
    "tractor.use": "small-belly",
    "toolbar.tube": "tube-2x1-4",
    "toolbar.length": "72",
    "toolbar.height": "20",
    "stations[1].pair_gap": "1 1/2",
    "stations[1].depth": "1/2",
    "stations[2].depth": "1",
}
_OWNERS = MappingProxyType(
    {
        "stations[1].": "Finger wheels",
        "stations[2].": "Blades",
        "tractor.obstacles[1].": "Thing on the tractor",
        "toolbar.no_clamp[1].": "Stretch of bar to keep free",
    }
)
NEW = "new"
_LONGEST = 400


def demo_scenes() -> Mapping[str, Path | None]:
    """Demo scenes by name: the new scene of `rigmodel new`, and the files of the source tree."""
    folder = Path(rigmodel.__file__).resolve().parents[1] / "scenes"
    return {NEW: None, **{path.stem: path for path in sorted(folder.glob("*.yaml"))}}


def demo_text(name: str) -> str | None:
    """The text of a demo scene; None where there is none of that name."""
    demos = demo_scenes()
    if name not in demos:
        return None
    path = demos[name]
    if path is None:
        return new_scene_text({q.key: q.default for q in QUESTIONS})
    return path.read_text(encoding="utf-8")


def form_text(values: Mapping[str, str]) -> str:
    """A scene's text from the answers of the form.

    Raises:
        InputError: an answer does not read, or one that is needed is missing; each fault's path
            is the field's name.
    """
    known = set(all_names())
    lines = [
        f"{name}: {json.dumps(' '.join(text.split())[:_LONGEST])}"
        for name, text in values.items()
        if name in known and text.strip()
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "answers.yaml"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return scene_text_from_measures(path)


def form_faults(error: InputError) -> list[dict[str, str]]:
    """What is wrong in the form: the field's name where it is known, and the words."""
    return [
        {"name": f.path, "message": sentence(f.message, f.expected, f.hint)} for f in error.faults
    ]


def demos_html() -> Html:
    """The demo scenes as options."""
    return joined(
        tag("option", {"value": name}, _title(name, path)) for name, path in demo_scenes().items()
    )


def _title(name: str, path: Path | None) -> str:
    if path is None:
        return "A new scene: three rows, 15 in apart"
    title = value_at(path.read_text(encoding="utf-8"), ("name",))
    return str(title or name)


def form_html() -> Html:
    """The form: what has an answer to begin with is shown, the rest is behind a fold."""
    return joined(_sections())


def _sections() -> Iterator[Html]:
    for section in SECTIONS:
        first = [n for n in section.names if n in _FILLED]
        rest = [n for n in section.names if n not in _FILLED]
        fold = tag(
            "details",
            None,
            tag("summary", None, f"More to measure here ({len(rest)})"),
            [_field(n) for n in rest],
        )
        yield tag(
            "fieldset",
            {"class": "step"},
            tag("legend", None, section.title),
            tag("p", {"class": "help"}, section.how),
            [_field(n) for n in first],
            fold if rest else "",
        )


def _field(name: str) -> Html:
    field_id = "form-" + name.replace(".", "-").replace("[", "-").replace("]", "")
    attributes: dict[str, Value] = {
        "id": field_id,
        "data-name": name,
        "aria-describedby": f"{field_id}-help {field_id}-fault",
    }
    choices = _choices(name)
    if choices:
        written = _FILLED.get(name, "")
        picks = [
            tag("option", {"value": v, "selected": v == written}, words) for v, words in choices
        ]
        entry = tag("select", attributes, picks)
    else:
        value = {"type": "text", "value": _FILLED.get(name, ""), "autocomplete": "off"}
        entry = tag("input", {**attributes, **value})
    return tag(
        "div",
        {"class": "field"},
        tag("label", {"for": field_id}, _words(name)),
        tag("div", {"class": "entry"}, entry),
        tag("p", {"class": "help", "id": f"{field_id}-help"}, what_is(name)),
        tag("p", {"class": "wrong", "id": f"{field_id}-fault", "role": "alert"}, ""),
    )


def _words(name: str) -> str:
    """A field's name for people."""
    for start, words in _OWNERS.items():
        if name.startswith(start):
            return f"{words}: {name.removeprefix(start).replace('_', ' ')}"
    told = re.sub(r"[._]", " ", name)
    return told[0].upper() + told[1:]


def _choices(name: str) -> tuple[tuple[str, str], ...]:
    catalogue = builtin_catalogue()
    if name == "tractor.use":
        return tuple((n, f"{n}: {t.summary}") for n, t in catalogue.tractors.items())
    if name == "toolbar.tube":
        tubes = [(n, p) for n, p in catalogue.parts.items() if isinstance(p, SquareTube)]
        return (("", "size and wall are given"), *((n, f"{n}: {p.summary}") for n, p in tubes))
    field = spec_field(name)
    if field is None or not field.choices or field.lists:
        return ()
    words = tuple((c, c) for c in field.choices)
    return words if name in _FILLED else (("", "(not given)"), *words)
