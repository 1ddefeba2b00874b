"""Values of a scene that are turned to cure a finding, shared by several checks.

A cure only names what could be turned and how far; `remedy` turns it, checks again and keeps it
only if the finding passes.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rigmodel.assembly.rig import Assembly, StationPlace, ToolPlace
from rigmodel.catalog.kinds import BarClamp, FingerWheel, Shank, SquareTube
from rigmodel.clearance.finding import Change, Choice, Knob
from rigmodel.spec.resolve import FIT_MM
from rigmodel.spec.scene import MAX_HANGERS

MOST_RANK_MM = 609.6  # 24 in: farther behind the bar no tool is set (common practice, no source)


def height_cures(assembly: Assembly, lower: bool = True, higher: bool = True) -> tuple[Knob, ...]:
    """Lower or raise the bar, inside the lift's range; only the ways that can help."""
    lowest, highest = assembly.scene.lift_range_mm
    height = assembly.scene.spec.toolbar.height
    path = ("toolbar", "height")
    found = []
    if lower and lowest < height:
        found.append(Knob(path, height, lowest, "mm", "work with the bar lower"))
    if higher and highest > height:
        found.append(Knob(path, height, highest, "mm", "work with the bar higher"))
    return tuple(found)


def shank_cures(assembly: Assembly, tool: ToolPlace) -> tuple[Choice, ...]:
    """Shanks of the same section and crank in other lengths, nearest length first."""
    if not tool.slide:
        return ()
    name = tool.slide.removesuffix(".slide")
    part = assembly.mechanism.part(name)
    entry = assembly.scene.catalogue.parts[part.item]
    if not isinstance(entry, Shank):
        return ()
    others = sorted(
        (abs(other.length - entry.length), item)
        for item, other in assembly.scene.catalogue.parts.items()
        if isinstance(other, Shank) and item != part.item and _same_but_length(entry, other)
    )
    station = assembly.station[tool.station]
    path = ("stations", station.index, "swap", name.removeprefix(station.name + "."))
    values = tuple(item for _, item in others)
    return (Choice(path, values, part.item, "fit another shank"),) if values else ()


def _same_but_length(one: Shank, other: Shank) -> bool:
    if type(other) is not type(one):
        return False
    skip = {"length", "summary", "fasteners"}
    return all(
        getattr(one, field) == getattr(other, field)
        for field in type(one).model_fields
        if field not in skip
    )


def rank_cures(assembly: Assembly, station: StationPlace) -> Iterator[Knob]:
    """Set a station's place (every second one, where it stands at every row) back or forward.

    Back to `MOST_RANK_MM` behind the bar; one that stands behind the bar also forward up to it.
    """
    spec = assembly.scene.spec.stations[station.index]
    unit = assembly.scene.stations[station.index].unit
    if unit.rank_mount is None:
        return
    path = ("stations", station.index, "rank")
    ranks = spec.rank if isinstance(spec.rank, tuple) else (spec.rank,)
    number = _number(assembly, station)
    if len(ranks) == 1 and _places(assembly, station) > 1:
        ranks = (ranks[0], ranks[0])
    turned = (number - 1) % len(ranks)
    build = (turned, tuple(ranks)) if len(ranks) > 1 else None
    now, name = ranks[turned], station.name.split(".")[0]
    if now > -MOST_RANK_MM:
        yield Knob(path, now, -MOST_RANK_MM, "mm", f"set {name} back", build=build)
    if now < 0.0:
        yield Knob(path, now, 0.0, "mm", f"set {name} forward", build=build)


def _number(assembly: Assembly, station: StationPlace) -> int:
    planned = assembly.scene.stations[station.index]
    prefix = (
        station.name.removesuffix(f".{planned.spec.name}") if planned.spec.name else station.name
    )
    return next(place.number for place in planned.places if place.name == prefix)


def _places(assembly: Assembly, station: StationPlace) -> int:
    return len({place.number for place in assembly.scene.stations[station.index].places})


def wheel_cures(assembly: Assembly, station: StationPlace) -> Iterator[Choice]:
    """Smaller finger wheels, largest first."""
    parts = assembly.scene.catalogue.parts
    for name in station.parts:
        item = assembly.mechanism.part(name).item
        entry = parts.get(item)
        if not isinstance(entry, FingerWheel) or name.endswith("_axle"):
            continue
        smaller = sorted(
            (
                (-other.diameter, other_item)
                for other_item, other in parts.items()
                if isinstance(other, FingerWheel)
                and other.diameter < entry.diameter
                and other.finger_material == entry.finger_material
            )
        )
        node = name.removeprefix(station.name + ".")
        if smaller:
            yield Choice(
                ("stations", station.index, "swap", node),
                tuple(item for _, item in smaller),
                item,
                "fit smaller finger wheels",
            )


def shift_cures(
    assembly: Assembly, station: StationPlace, reach: float = 250.0
) -> Iterator[Knob | Choice]:
    """Shift a station's places outward or inward (left or right where it is single).

    A pair of wheels is moved by its gap, both of it together.
    """
    spec = assembly.scene.spec.stations[station.index]
    if station.pair_gap_mm is not None:
        yield from gap_cures(assembly, station, reach)
        return
    path = ("stations", station.index, "shift")
    ways = ("outward", "inward") if station.side else ("left", "right")
    for sign, way in zip((1.0, -1.0), ways, strict=True):
        yield Knob(path, spec.shift, spec.shift + sign * reach, "mm", f"shift {station.name} {way}")


def gap_cures(
    assembly: Assembly, station: StationPlace, reach: float = 150.0
) -> Iterator[Knob | Choice]:
    """Both wheels of a pair set where their gap puts them, farther apart, or nearer."""
    gap = station.pair_gap_mm
    yield from unshifted(assembly, station)
    if gap is not None:
        path = ("stations", station.index, "pair_gap")
        yield Knob(path, gap, gap + reach, "mm", "open the pair's gap")
        if gap > 0.0:
            yield Knob(path, gap, 0.0, "mm", "close the pair's gap")


def unshifted(assembly: Assembly, station: StationPlace) -> Iterator[Choice]:
    """A station set without the shift that is given for it."""
    shift = assembly.scene.spec.stations[station.index].shift
    if shift != 0.0:
        path = ("stations", station.index, "shift")
        says = f"set {station.name.partition('.')[0]} without a shift"
        yield Choice(path, (0.0,), shift, says, "mm")


def other_walls(assembly: Assembly, thicker: bool) -> Iterator[Choice]:
    """Tubes of the bar's size and holes with a thicker or thinner wall, nearest first."""
    wanted, tube = assembly.scene.spec.toolbar.tube, assembly.scene.tube
    if wanted is None:
        return
    found = sorted(
        (abs(other.wall - tube.wall), item)
        for item, other in assembly.scene.catalogue.parts.items()
        if other.kind == "square-tube"
        and other.size == tube.size
        and other.hole_pitch == tube.hole_pitch
        and (other.wall > tube.wall if thicker else other.wall < tube.wall)
    )
    if found:
        says = f"take a tube with a {'thicker' if thicker else 'thinner'} wall{_steel(assembly)}"
        yield Choice(("toolbar", "tube"), tuple(item for _, item in found), wanted, says)


def _steel(assembly: Assembly) -> str:
    """What another tube must be made of: the strength stated for the bar is counted on again."""
    stated = assembly.scene.spec.toolbar.yield_mpa
    return "" if stated is None else f" of steel with a yield strength of {stated:g} MPa or more"


def larger_tubes(assembly: Assembly) -> Iterator[Choice]:
    """Larger tubes with the bar's holes, next size first, every bar clamp with one for that size.

    A size is left out for which the catalogue has no clamp like each of those that are on the bar.
    """
    scene = assembly.scene
    wanted, parts = scene.spec.toolbar.tube, scene.catalogue.parts
    if wanted is None:
        return
    tubes: dict[float, list[tuple[float, str]]] = {}
    for item, tube in parts.items():
        if (
            isinstance(tube, SquareTube)
            and tube.size > scene.tube.size + FIT_MM
            and tube.hole_pitch == scene.tube.hole_pitch
        ):
            tubes.setdefault(tube.size, []).append((tube.wall, item))
    for size in sorted(tubes):
        clamps = _clamps_for(assembly, size)
        if clamps is not None:
            items = tuple(item for _, item in sorted(tubes[size]))
            says = f"take a larger tube{_steel(assembly)}, with clamps for it"
            yield Choice(("toolbar", "tube"), items, wanted, says, also=clamps)


def _clamps_for(assembly: Assembly, size: float) -> tuple[Change, ...] | None:
    """Every station's clamp changed for one round a bar of `size`, or None where one has none."""
    parts = assembly.scene.catalogue.parts
    found = []
    for index, planned in enumerate(assembly.scene.stations):
        old = parts[planned.unit.mount]
        fitting = [
            (abs(new.fits - size), abs(new.bolt_diameter - old.bolt_diameter), item)
            for item, new in parts.items()
            if isinstance(old, BarClamp)
            and isinstance(new, BarClamp)
            and abs(new.fits - size) <= FIT_MM
        ]
        if not fitting:
            return None
        item = min(fitting)[-1]
        found.append(Change(("stations", index, "swap", "mount"), item, planned.unit.mount, ""))
    return tuple(found)


def bar_cures(assembly: Assembly) -> tuple[Knob | Choice, ...]:
    """A thicker wall, a larger tube, the outer hangers elsewhere, then more hangers."""
    bar = assembly.scene.spec.toolbar
    places = tuple(sorted(bar.hangers or ()))
    found: list[Knob | Choice] = [*other_walls(assembly, thicker=True), *larger_tubes(assembly)]
    path, was = ("toolbar", "hangers"), tuple(bar.hangers or ())
    half, middle = bar.length / 2.0, (places[0] + places[-1]) / 2.0
    for says, far in (("out", half - abs(middle)), ("in", (places[-1] - places[0]) / 4.0)):
        values = tuple(v for v in _spreads(places, middle, far) if v is not None)
        if values:
            found.append(Choice(path, values, was, f"hang the bar farther {says}", "mm"))
    more = tuple(
        (v[0], *places, v[-1])
        for v in _spreads(places, middle, half - abs(middle))
        if v is not None and v[0] < places[0]
    )
    room = MAX_HANGERS - len(places)
    if more and room >= 2:
        found.append(Choice(path, more, was, "hang the bar at two more places", "mm"))
    if room >= 1:
        widest = max(pairwise(places), key=lambda pair: pair[1] - pair[0])
        inner = tuple(sorted((*places, round(sum(widest) / 2.0))))
        if len(set(inner)) == len(inner):
            found.append(Choice(path, (inner,), was, "hang the bar at one more place", "mm"))
    return tuple(found)


def _spreads(
    places: tuple[float, ...], middle: float, far: float
) -> Iterator[tuple[float, ...] | None]:
    """The outer hangers moved to `far` from their middle in eight steps."""
    return (_spread(places, middle, far, step / 8.0) for step in range(1, 9))


def _spread(
    places: tuple[float, ...], middle: float, far: float, share: float
) -> tuple[float, ...] | None:
    """The outer hangers moved a share of the way to `far` from their middle; whole mm."""
    now = (places[-1] - places[0]) / 2.0
    reach = float(int(now + (far - now) * share))
    inner = places[1:-1]
    if any(abs(place - middle) >= reach for place in inner) or reach <= 0.0:
        return None
    return (middle - reach, *inner, middle + reach)
