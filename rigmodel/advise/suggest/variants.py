"""Tools that could be hung on the bar: each sub-assembly with each part it may be fitted with.

Nothing here is guessed: every variant is assembled once, and its strip of soil, its clamp and its
parts are read off the assembly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import product
from typing import Any

from rigmodel.advise.suggest.request import Request
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    FlatShank,
    Node,
    RoundShank,
    SpringHolder,
    SubAssembly,
    TrailingArm,
    walk,
)
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.shop.items import items
from rigmodel.spec.resolve import FIT_MM, Scene, resolve
from rigmodel.spec.scene import Station

ALONE = ("ground-contact", "shank-travel", "arm-float")  # what a tool passes or fails by itself


class Kind(StrEnum):
    """What a variant does."""

    WHEELS = "wheels"
    HOE = "hoe"


@dataclass(frozen=True)
class Fitted:
    """A sub-assembly with the parts it is fitted with, on one rank.

    Attributes:
        kind: a pair of finger wheels or a hoe.
        use: id of the sub-assembly.
        swap: parts put in place of its own, as (name of the place, catalogue id).
        tool: catalogue id of its wheel or blade.
        rank: ahead (+) or behind (-) of its place on the bar, mm.
    """

    kind: Kind
    use: str
    swap: tuple[tuple[str, str], ...]
    tool: str
    rank: float


@dataclass(frozen=True)
class Variant:
    """A fitted sub-assembly as it was measured, left hand. Lengths are mm.

    Attributes:
        fitted: what it is.
        width: width of soil its tool works (a hoe), or over the fingers (a wheel).
        clamp_at: its clamp's middle left of its tool's middle.
        tool_at: of a wheel, its middle left of the row; 0 for a hoe.
        clamp_width: length of bar its clamp covers.
        spanner: widest spanner its clamp takes.
        nut_inset: how far inside the clamp's edge the middle of its outermost nut lies.
        parts: catalogue parts of one of it, counted.
        behind_kg: mass of its parts whose centre lies behind the bar.
    """

    fitted: Fitted
    width: float
    clamp_at: float
    tool_at: float
    clamp_width: float
    spanner: float
    nut_inset: float
    parts: tuple[tuple[str, int], ...]
    behind_kg: float


@dataclass(frozen=True)
class Screened:
    """Variants that pass by themselves, and why the others do not.

    Attributes:
        good: variants to choose from.
        dropped: the checks' own words for each tool that fails alone.
    """

    good: tuple[Variant, ...]
    dropped: tuple[tuple[Fitted, str], ...]


def wheel_units(request: Request, every_part: bool) -> list[Fitted]:
    """Every pair of finger wheels on the bar's own rank, each content once.

    Sub-assemblies with a clamp for another bar are taken, with a clamp that fits, only where none
    is made for this bar.

    Args:
        request: what is asked.
        every_part: also with every other arm and stem that goes together.
    """
    return _for_this_bar(list(_units(request, Kind.WHEELS, every_part)))


def hoe_units(request: Request, every_part: bool) -> list[Fitted]:
    """Every hoe on the bar's own rank, each content once."""
    return _for_this_bar(list(_units(request, Kind.HOE, every_part)))


def _for_this_bar(units: list[Fitted]) -> list[Fitted]:
    own = [unit for unit in units if all(name != "mount" for name, _ in unit.swap)]
    return own or units


def _units(request: Request, kind: Kind, every_part: bool) -> Iterator[Fitted]:
    seen: set[tuple[object, ...]] = set()
    parts = request.catalogue.parts
    wanted = FingerWheel if kind is Kind.WHEELS else ABlade
    for use, unit in request.catalogue.assemblies.items():
        nodes = list(walk(unit.tool))
        if any(node.part not in parts for node in nodes) or not _of_kind(unit, kind, parts):
            continue
        mount = _mount_swap(request, unit)
        if mount is None:
            continue
        choices = [_at_hand(request, _choices(n, wanted, parts, every_part), n) for n in nodes]
        for chosen in product(*choices):
            # What tells two units apart is form: parts, how they hang, and where they are set.
            form = (chosen, mount, *((n.socket, n.offset, n.turn) for n in nodes))
            if form in seen:
                continue
            seen.add(form)
            swap = tuple(
                (node.name, part)
                for node, part in zip(nodes, chosen, strict=True)
                if part != node.part
            )
            tool = next(
                part
                for node, part in zip(nodes, chosen, strict=True)
                if isinstance(parts[node.part], wanted)
            )
            yield Fitted(kind, use, mount + swap, tool, 0.0)


def _of_kind(unit: SubAssembly, kind: Kind, parts: Mapping[str, AnyPart]) -> bool:
    tools = [parts[n.part] for n in walk(unit.tool)]
    wheels = sum(isinstance(part, FingerWheel) for part in tools)
    hoes = sum(part.kind in ("a-blade", "half-blade", "point") for part in tools)
    if kind is Kind.WHEELS:
        return unit.place == "pair-gap" and wheels == 1 and hoes == 0
    return wheels == 0 and hoes == 1 and any(isinstance(part, ABlade) for part in tools)


def _mount_swap(request: Request, unit: SubAssembly) -> tuple[tuple[str, str], ...] | None:
    """Nothing where the unit's clamp fits the bar, another clamp that does, or None."""
    parts, size = request.catalogue.parts, request.scene.tube.size
    own = parts.get(unit.mount)
    if isinstance(own, BarClamp) and abs(own.fits - size) <= FIT_MM:
        return ()
    for name, part in parts.items():
        if isinstance(part, BarClamp) and abs(part.fits - size) <= FIT_MM:
            return (("mount", name),)
    return None


def _choices(
    node: Node,
    tool: type,
    parts: Mapping[str, AnyPart],
    every_part: bool,
) -> tuple[str, ...]:
    """Parts that can stand at one place of a sub-assembly, its own first."""
    own = parts[node.part]
    if isinstance(own, tool):
        others = [name for name, part in parts.items() if type(part) is type(own)]
    elif every_part and isinstance(own, TrailingArm):
        others = [name for name, part in parts.items() if isinstance(part, TrailingArm)]
    elif every_part and isinstance(own, FlatShank | RoundShank):
        others = [name for name, part in parts.items() if _same_section(own, part)]
    else:
        return (node.part,)
    return tuple(dict.fromkeys([node.part, *others]))


def _at_hand(request: Request, choices: tuple[str, ...], node: Node) -> tuple[str, ...]:
    """Of the parts that can stand at a place, its own and, with a stock list, those in stock.

    Blades and wheels may be bought in every size; other parts are bought as the sub-assembly has
    them.
    """
    stock = request.stock
    if stock is None or isinstance(request.catalogue.parts[node.part], ABlade | FingerWheel):
        return choices
    return tuple(name for name in choices if name == node.part or stock.get(name, 0) > 0)


def _same_section(own: FlatShank | RoundShank, other: AnyPart) -> bool:
    if isinstance(own, FlatShank) and isinstance(other, FlatShank):
        return max(abs(own.width - other.width), abs(own.thickness - other.thickness)) <= FIT_MM
    if isinstance(own, RoundShank) and isinstance(other, RoundShank):
        return abs(own.diameter - other.diameter) <= FIT_MM
    return False


def may_stand(request: Request, fitted: Fitted, rank: float) -> bool:
    """Whether a unit can be carried on a rank at all: it has a cross tube, and swings clear."""
    if rank == 0.0:
        return True
    unit, parts = request.catalogue.assemblies[fitted.use], request.catalogue.parts
    if unit.rank_mount is None or any(name == "mount" for name, _ in fitted.swap):
        return False
    swings = any(isinstance(parts[n.part], TrailingArm | SpringHolder) for n in walk(unit.tool))
    return rank < 0.0 or not swings


def with_stations(scene: Scene, stations: Sequence[Station]) -> Scene | None:
    """The scene with other stations, or None where they do not go together."""
    spec = scene.spec.model_copy(update={"stations": tuple(stations)})
    found = resolve(spec, scene.catalogue, scene.origin)
    return found if isinstance(found, Scene) else None


def station_of(request: Request, fitted: Fitted, where: Mapping[str, Any]) -> Station:
    """A station of a fitted unit at a place given by the station's own fields, in mm."""
    fields: dict[str, Any] = {
        "use": fitted.use,
        "rank": fitted.rank,
        "depth": request.wheel_depth if fitted.kind is Kind.WHEELS else request.hoe_depth,
        "swap": dict(fitted.swap),
        **where,
    }
    if fitted.kind is Kind.WHEELS:
        fields["pair_gap"] = request.pair_gap
    return Station.model_construct(None, **_with_defaults(fields))


def _with_defaults(fields: dict[str, Any]) -> dict[str, Any]:
    """All fields of a station; values are mm already, so nothing is to be read from text."""
    defaults = {
        name: field.get_default(call_default_factory=True)
        for name, field in Station.model_fields.items()
        if not field.is_required()
    }
    return {**defaults, **fields}


def measured(request: Request, units: Sequence[Fitted], memo: Memo) -> Screened:
    """Assembles every unit once and reads off what the choice between them needs.

    A unit that fails by itself (its shank ends, its arm hits a stop) is dropped with the check's
    words. On a bed, where this depends on the place, nothing is dropped beforehand.
    """
    scene = request.scene
    lines = scene.spec.rows.places
    middle = (lines[0] + lines[-1]) / 2.0 - scene.spec.toolbar.offset
    stations: list[Station] = []
    kept: list[Fitted] = []
    for unit in units:
        name = f"u{len(kept)}"
        if unit.kind is Kind.WHEELS:
            station = station_of(request, unit, {"at": "rows", "only": (1,), "name": name})
        else:
            station = station_of(request, unit, {"at": (middle,), "name": name})
        if with_stations(scene, (station,)) is not None:
            stations.append(station)
            kept.append(unit)
    whole = with_stations(scene, stations) if stations else None
    if whole is None:
        return Screened((), ())
    assembly = assemble(whole)
    flat = scene.spec.soil.shape == "flat"
    failing = _failing(assembly, memo) if flat else {}
    parts = _part_counts(assembly)
    good, dropped = [], []
    for index, unit in enumerate(kept):
        if index in failing:
            dropped.append((unit, failing[index]))
        else:
            place = next(s for s in assembly.stations if s.index == index)
            good.append(_variant(assembly, unit, place, parts))
    return Screened(tuple(good), tuple(dropped))


def _failing(assembly: Assembly, memo: Memo) -> dict[int, str]:
    found: dict[int, str] = {}
    index = {name: s.index for s in assembly.stations for name in s.parts}
    for finding in run(assembly, memo, ALONE):
        if finding.verdict is Verdict.FAIL:
            for part in finding.parts:
                if part in index:
                    found.setdefault(index[part], finding.message)
    return found


def _part_counts(assembly: Assembly) -> dict[str, Counter[str]]:
    counts: dict[str, Counter[str]] = {}
    for item in items(assembly):
        counts.setdefault(item.station, Counter())[item.part_id] += 1
    return counts


def _variant(
    assembly: Assembly, unit: Fitted, place: StationPlace, counts: Mapping[str, Counter[str]]
) -> Variant:
    offset = assembly.scene.spec.toolbar.offset
    tool = next(t for t in assembly.tools if t.station == place.name)
    clamp = next(c for c in assembly.clamps if c.part.rpartition(".")[0] == place.name)
    bar_back = assembly.scene.tractor.toolbar_ahead - assembly.scene.tube.size / 2.0
    behind = 0.0
    for name in place.parts:
        mass = assembly.at_work(assembly.mechanism.part(name)).mass_properties()
        if float(mass.centroid_mm[0]) < bar_back:
            behind += mass.mass_kg
    return Variant(
        unit,
        tool.high_mm - tool.low_mm,
        clamp.centre_mm + offset - tool.centre_mm,
        tool.centre_mm - place.line_mm if unit.kind is Kind.WHEELS else 0.0,
        clamp.width_mm,
        clamp.spanner_mm,
        clamp.nut_inset_mm,
        tuple(sorted(counts[place.name].items())),
        behind,
    )


def on_ranks(request: Request, units: Sequence[Fitted], ranks: Sequence[float]) -> list[Fitted]:
    """The units on every rank of a list on which they can be carried."""
    return [
        replace(unit, rank=rank)
        for unit in units
        for rank in ranks
        if may_stand(request, unit, rank)
    ]
