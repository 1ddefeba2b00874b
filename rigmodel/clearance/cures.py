"""Values of a scene that are turned to cure a finding, shared by several checks.

A cure only names what could be turned and how far; `remedy` turns it, checks again and keeps it
only if the finding passes.
"""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly, StationPlace, ToolPlace
from rigmodel.catalog.kinds import FingerWheel, Shank
from rigmodel.clearance.finding import Choice, Knob

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
    yield from unshifted(assembly, station)
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
