"""The numbers a fitter turns: what each is called, what it takes, and what stands there now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from types import MappingProxyType, NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from rigmodel.catalog.kinds import SquareTube, TrailingArm, walk
from rigmodel.catalog.store import Catalogue
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.page.text_edit import Path, value_at
from rigmodel.reading.faults import path_text
from rigmodel.reading.fields import AngleRule, CountRule, LengthRule
from rigmodel.sheet.fields import SECTIONS, SpecField, spec_field, steps
from rigmodel.spec.limits import Limits, Tolerances
from rigmodel.spec.resolve import Scene
from rigmodel.spec.scene import SceneSpec
from rigmodel.units import Unit, format_setting, parse_length

QUICK = (
    "rows.count",
    "rows.spacing",
    "rows.offset",
    "rows.keep_out",
    "toolbar.length",
    "toolbar.height",
    "tractor.rear.track",
    "tractor.front.track",
)
_MORE = (
    ("How the bar stands and hangs", ("toolbar.roll", "toolbar.pitch", "toolbar.hangers")),
    (
        "For weights and forces",
        (
            "soil.texture",
            "soil.stone_n",
            "tractor.speed_kmh",
            "tractor.front.load_kg",
            "tractor.rear.load_kg",
            "tractor.lift.capacity_kg",
            "toolbar.yield_mpa",
            "toolbar.clamp_torque_nm",
            "toolbar.clamp_grade",
            "toolbar.clamp_nut_factor",
            "toolbar.clamp_friction",
        ),
    ),
    ("More about the rows", ("rows.band_height", "rows.next_pass")),
)
STATION = (
    *("depth", "pair_gap", "keep_out", "rank", "shift", "at", "only", "sides", "hand", "face"),
    *("draft_n", "side_n", "spring_hole", "press_n"),
)
_OF_ARMS = frozenset(("spring_hole", "press_n"))
_UNITS = MappingProxyType(  # what the end of a value's name says of its unit
    {"n": "N", "kg": "kg", "kmh": "km/h", "mpa": "MPa", "nm": "N m"}
)
_TITLES = MappingProxyType({"side_n": "side draft"})  # where the name alone would mislead
_STRUT_PARTS: Mapping[str | int, type[SquareTube | StrutClamp]] = MappingProxyType(
    {"tube": SquareTube, "clamp": StrutClamp}
)
_SAME_MM = 1e-6
_NOT_HERE = frozenset(("units",))


@dataclass(frozen=True)
class Control:
    """One value of the scene as it is shown and typed.

    Attributes:
        path: where in the scene.
        title: its name for people.
        help: what it is, in the spec's own words.
        kind: ``length``, ``angle``, ``count``, ``text`` or ``choice``.
        unit: unit of a bare number, ``°`` for angles, or an empty string.
        written: what is shown; empty where a default stands.
        default: what holds where nothing is written; may be empty.
        choices: values of a choice with their words.
    """

    path: Path
    title: str
    help: str
    kind: str
    unit: str
    written: str
    default: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def id(self) -> str:
        """Id of the control in the page."""
        return "field-" + "-".join(str(step) for step in self.path)


def quick_controls(scene: Scene, text: str) -> tuple[Control, ...]:
    """The few numbers that matter."""
    names: tuple[str, ...] = (
        QUICK if scene.spec.rows.positions is None else ("rows.positions", *QUICK[3:])
    )
    if len(scene.axles) < 2:
        names = tuple(name for name in names if not name.startswith("tractor.front"))
    return tuple(control(steps(name), scene, text) for name in names)


def more_controls(scene: Scene, text: str) -> tuple[tuple[str, tuple[Control, ...]], ...]:
    """Everything else in the order of the measuring sheet, then limits and tolerances.

    Lists that grow and shrink have controls of their own (`lists.py`).
    """
    shown = {c.path for c in quick_controls(scene, text)}
    found: list[tuple[str, tuple[Control, ...]]] = []
    for title, paths in _sections():
        found.append((title, _of(paths, shown, scene, text)))
        shown |= set(paths)
    return tuple((title, items) for title, items in found if items)


@cache
def _sections() -> tuple[tuple[str, tuple[Path, ...]], ...]:
    return tuple((title, tuple(paths)) for title, paths in _all_sections())


def _all_sections() -> Iterator[tuple[str, list[Path]]]:
    for section in SECTIONS:
        yield section.title, [steps(n) for n in section.names if n not in _NOT_HERE]
    for title, names in _MORE:
        yield title, [steps(n) for n in names]
    for title, part, kinds in (
        ("Limits of the checks", "limits", Limits.model_fields),
        ("What may be off", "tolerances", Tolerances.model_fields),
    ):
        yield title, [(part, name) for name in kinds]


def station_controls(scene: Scene, text: str, index: int) -> tuple[Control, ...]:
    """What is set of one station."""
    wanted = [name for name in STATION if name != "pair_gap" or _has_gap(scene, index)]
    if not _has_arm(scene, index):
        wanted = [name for name in wanted if name not in _OF_ARMS]
    return tuple(control(("stations", index, name), scene, text) for name in wanted)


def _has_gap(scene: Scene, index: int) -> bool:
    return scene.stations[index].unit.place == "pair-gap"


def _has_arm(scene: Scene, index: int) -> bool:
    parts = scene.catalogue.parts
    nodes = walk(scene.stations[index].unit.tool)
    return any(isinstance(parts.get(node.part), TrailingArm) for node in nodes)


def _of(paths: Iterable[Path], shown: set[Path], scene: Scene, text: str) -> tuple[Control, ...]:
    inside = (p for p in paths if p not in shown and not any(isinstance(s, int) for s in p))
    return tuple(control(path, scene, text) for path in inside)


def control(path: Path, scene: Scene, text: str) -> Control:
    """The control of one place of the scene."""
    field, kind, title, in_name = _meaning(path)
    choices = _choices(path, field, scene)
    if choices:
        kind = "choice"
    unit = {"length": scene.unit.value, "angle": "°"}.get(kind, in_name)
    written = _shown(value_at(text, path), kind, text, scene)
    return Control(path, title, field.what, kind, unit, written, _default(path, scene), choices)


@lru_cache(maxsize=4096)
def _meaning(path: Path) -> tuple[SpecField, str, str, str]:
    """What is the same in every scene: the field, what it takes, its name, and a unit in that."""
    field = spec_field(path_text(path))
    assert field is not None  # only places of the spec are asked for
    return field, kind_of(path), *_title(path)


def _title(path: Path) -> tuple[str, str]:
    """A value's name for people, and the unit that its name in the scene ends with."""
    names = [str(step) for step in path if not isinstance(step, int)]
    if path[0] in ("stations", "limits", "tolerances"):
        names = names[1:]
    own = _TITLES.get(names[-1], "")
    first, _, last = names[-1].rpartition("_")
    unit = _UNITS.get(last, "") if first else ""
    names[-1] = first if unit else names[-1]
    title = own or " ".join(names).replace("_", " ")
    return title[0].upper() + title[1:], unit


def _choices(path: Path, field: SpecField, scene: Scene) -> tuple[tuple[str, str], ...]:
    if path == ("tractor", "use"):
        tractors = scene.catalogue.tractors
        return tuple((n, f"{n}: {t.summary}") for n, t in tractors.items())
    if path == ("toolbar", "tube"):
        parts = scene.catalogue.parts
        tubes = [(n, p) for n, p in parts.items() if isinstance(p, SquareTube)]
        return (("", "size and wall are given"), *((n, f"{n}: {p.summary}") for n, p in tubes))
    if path[:2] == ("toolbar", "struts") and path[-1] in _STRUT_PARTS:
        kind = _STRUT_PARTS[path[-1]]
        parts = scene.catalogue.parts
        return tuple((n, f"{n}: {p.summary}") for n, p in parts.items() if isinstance(p, kind))
    if field.choices and not field.lists:
        default = _default(path, scene)
        return (("", f"({default or 'as usual'})"), *((c, c) for c in field.choices))
    return ()


def units_of_scene(text: str) -> Unit:
    """The unit of bare numbers in a scene's text; millimetres where it is not given well."""
    word = value_at(text, ("units",))
    return Unit(word) if word in {u.value for u in Unit} else Unit.MM


def exact_length(mm: float, unit: Unit) -> str:
    """A length as a text that reads back as the same length, in `unit` where it can."""
    told = format_setting(mm, unit)
    if abs(parse_length(told, unit) - mm) <= _SAME_MM:
        return told
    return f"{round(mm, 6):.6f}".rstrip("0").rstrip(".") + " mm"


def _shown(value: Any, kind: str, text: str, scene: Scene) -> str:
    if isinstance(value, list):
        return ", ".join(_shown(item, kind, text, scene) for item in value)
    if value is None or isinstance(value, dict):
        return ""
    own = units_of_scene(text)
    if kind != "length" or own is scene.unit:
        return str(value)
    try:
        return format_setting(parse_length(value, own), scene.unit)
    except ValueError:
        return str(value)


def _default(path: Path, scene: Scene) -> str:
    """What holds where nothing is written, as far as the spec itself knows it."""
    here: Any = resolved(path, scene)
    if here is None or here == () or isinstance(here, BaseModel | dict):
        return ""
    kind = kind_of(path)
    values = here if isinstance(here, tuple) else (here,)
    if not all(isinstance(v, str | int | float) for v in values):
        return ""
    say = [scene.say(v) if kind == "length" and isinstance(v, float) else str(v) for v in values]
    return ", ".join(say)


def resolved(path: Path, scene: Scene) -> Any:
    """A value of the scene, with the tractor's own where the scene says nothing."""
    homes: list[Any] = [scene.spec]
    if path[0] == "tractor" and len(path) > 1:
        homes.append(scene.tractor)
    for home, rest in zip(homes, (path, path[1:]), strict=False):
        here: Any = home
        for step in rest:
            if isinstance(step, int):
                here = here[step] if isinstance(here, tuple) and step < len(here) else None
            else:
                here = getattr(here, step, None)
            if here is None:
                break
        if here is not None:
            return here
    return scene.tractor.toolbar_ahead if path == ("toolbar", "ahead") else None


def kind_of(path: Path) -> str:
    """What a place of the spec takes: a length, an angle, a count or a text."""
    return _kind(tuple("#" if isinstance(step, int) else step for step in path))


@cache
def _kind(path: tuple[str, ...]) -> str:
    kinds: list[tuple[Any, tuple[Any, ...]]] = [(SceneSpec, ())]
    for step in path:
        below: list[tuple[Any, tuple[Any, ...]]] = []
        for kind, _ in kinds:
            if step == "#" and get_origin(kind) is tuple:
                below += _flat(get_args(kind)[0], ())
            elif isinstance(kind, type) and issubclass(kind, BaseModel):
                field = kind.model_fields.get(step)
                if field is not None:
                    below += _flat(field.annotation, tuple(field.metadata))
        kinds = below
    inner = [pair for kind, _ in kinds for pair in _inside(kind)]
    rules = [m for _, metadata in (*kinds, *inner) for m in metadata]
    for rule, name in ((LengthRule, "length"), (AngleRule, "angle"), (CountRule, "count")):
        if any(isinstance(m, rule) for m in rules):
            return name
    return "text"


def _inside(kind: Any) -> list[tuple[Any, tuple[Any, ...]]]:
    return _flat(get_args(kind)[0], ()) if get_origin(kind) is tuple else []


def _flat(annotation: Any, metadata: tuple[Any, ...]) -> list[tuple[Any, tuple[Any, ...]]]:
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *more = get_args(annotation)
        return _flat(inner, (*metadata, *more))
    if origin in (Union, UnionType):
        return [pair for arg in get_args(annotation) for pair in _flat(arg, metadata)]
    if origin is Literal or annotation is NoneType:
        return []
    return [(annotation, metadata)]


def part_choices(catalogue: Catalogue, item: str) -> tuple[tuple[str, str], ...]:
    """Parts of the catalogue of the same kind as `item`, with their words."""
    here = catalogue.parts[item]
    return tuple(
        (name, f"{name}: {part.summary}" if part.summary else name)
        for name, part in catalogue.parts.items()
        if part.kind == here.kind
    )
