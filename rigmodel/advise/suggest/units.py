"""Sub-assemblies that could be hung, each with every part it may be fitted with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import product

from rigmodel.advise.suggest.request import Request
from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    FlatShank,
    HalfBlade,
    Node,
    Point,
    RoundShank,
    SpringHolder,
    SubAssembly,
    TrailingArm,
    walk,
)
from rigmodel.spec.stations import FIT_MM


class Kind(StrEnum):
    """What a variant does."""

    WHEELS = "wheels"
    HOE = "hoe"
    TRACK = "track"


@dataclass(frozen=True)
class Fitted:
    """A sub-assembly with the parts it is fitted with, on one rank.

    Attributes:
        kind: a pair of finger wheels, a hoe, or a point that loosens a wheel track.
        use: id of the sub-assembly.
        swap: parts put in place of its own, as (name of the place, catalogue id).
        tool: catalogue id of its wheel or blade.
        rank: ahead (+) or behind (-) of its place on the bar, mm.
        gap: of a pair of wheels, the gap asked between its fingers, mm.
    """

    kind: Kind
    use: str
    swap: tuple[tuple[str, str], ...]
    tool: str
    rank: float
    gap: float = 0.0


_HOES = (ABlade, HalfBlade, Point)
_TOOLS: Mapping[Kind, tuple[type, ...]] = {
    Kind.WHEELS: (FingerWheel,),
    Kind.HOE: _HOES,
    Kind.TRACK: (Point,),
}


def wheel_units(request: Request, every_part: bool) -> list[Fitted]:
    """Every pair of finger wheels on the bar's own rank, each content once.

    Sub-assemblies with a clamp for another bar are taken, with a clamp that fits, only where none
    is made for this bar.

    Args:
        request: what is asked.
        every_part: also with every other arm and stem that goes together.
    """
    return _for_this_bar(request, list(_units(request, Kind.WHEELS, every_part)))


def hoe_units(request: Request, every_part: bool) -> list[Fitted]:
    """Every hoe on the bar's own rank, each content once."""
    return _for_this_bar(request, list(_units(request, Kind.HOE, every_part)))


def hoes_at_hand(request: Request, every_part: bool) -> list[Fitted]:
    """The same, but where nothing may be bought only those whose blade is at hand."""
    units, stock = hoe_units(request, every_part), request.stock
    if request.may_buy or stock is None:
        return units
    return [unit for unit in units if stock.get(unit.tool, 0) > 0]


def track_units(request: Request, every_part: bool) -> list[Fitted]:
    """Every narrow point that can loosen a wheel track, on the bar's own rank."""
    return _for_this_bar(request, list(_units(request, Kind.TRACK, every_part)))


def _for_this_bar(request: Request, units: list[Fitted]) -> list[Fitted]:
    """Of each kind of tool, the units that are made for this bar, or all where none is."""
    kinds = {unit: type(request.catalogue.parts[unit.tool]) for unit in units}
    own = {kinds[unit] for unit in units if _own_clamp(unit)}
    return [unit for unit in units if _own_clamp(unit) or kinds[unit] not in own]


def _own_clamp(unit: Fitted) -> bool:
    return all(name != "mount" for name, _ in unit.swap)


def _units(request: Request, kind: Kind, every_part: bool) -> Iterator[Fitted]:
    seen: set[tuple[object, ...]] = set()
    parts = request.catalogue.parts
    wanted = _TOOLS[kind]
    gap = request.pair_gap if kind is Kind.WHEELS else 0.0
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
            yield Fitted(kind, use, mount + swap, tool, 0.0, gap)


def _of_kind(unit: SubAssembly, kind: Kind, parts: Mapping[str, AnyPart]) -> bool:
    """Whether a sub-assembly carries one tool of a kind, and no other."""
    tools = [parts[n.part] for n in walk(unit.tool)]
    worked = [part for part in tools if isinstance(part, (FingerWheel, *_HOES))]
    if len(worked) != 1 or not isinstance(worked[0], _TOOLS[kind]):
        return False
    return unit.place == "pair-gap" if kind is Kind.WHEELS else unit.place != "pair-gap"


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
    tool: tuple[type, ...],
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
    if stock is None or isinstance(request.catalogue.parts[node.part], (FingerWheel, *_HOES)):
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
    if unit.rank_mount is None or not _own_clamp(fitted):
        return False
    swings = any(isinstance(parts[n.part], TrailingArm | SpringHolder) for n in walk(unit.tool))
    return rank < 0.0 or not swings


def on_ranks(request: Request, units: Sequence[Fitted], ranks: Sequence[float]) -> list[Fitted]:
    """The units on every rank of a list on which they can be carried."""
    return [
        replace(unit, rank=rank)
        for unit in units
        for rank in ranks
        if may_stand(request, unit, rank)
    ]
