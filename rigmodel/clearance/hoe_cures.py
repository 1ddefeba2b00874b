"""Other hoes: what several checks may offer where a blade does not suit its strip or its clamp."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, pairwise, product

from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.catalog.kinds import ABlade, HalfBlade, Point
from rigmodel.clearance.finding import Change, Choice, Knob

Hoe = ABlade | HalfBlade | Point
_GRAIN_MM = 0.05  # no tape shows a difference this small
_WIDER_BAND_MM = 50.8  # 2 in: more soil than this is not left beside a row


@dataclass(frozen=True)
class Fitted:
    """The hoe of one station of the scene.

    Attributes:
        index: which station.
        node: its place in the sub-assembly.
        item: its catalogue id.
        hoe: its entry.
        places: the station's places.
    """

    index: int
    node: str
    item: str
    hoe: Hoe
    places: tuple[StationPlace, ...]

    @property
    def path(self) -> tuple[str | int, ...]:
        """Where in the scene another one is written."""
        return ("stations", self.index, "swap", self.node)

    def others(self, assembly: Assembly) -> list[tuple[float, str]]:
        """Width and id of every hoe that could stand in its place, narrowest first."""
        parts = assembly.scene.catalogue.parts.items()
        return sorted(
            (other.width, name)
            for name, other in parts
            if isinstance(other, Hoe) and type(other) is type(self.hoe) and name != self.item
        )


def fitted_hoes(assembly: Assembly) -> tuple[Fitted, ...]:
    """The hoe of every station that carries one, in the scene's order."""
    places: dict[int, list[StationPlace]] = {}
    for station in assembly.stations:
        places.setdefault(station.index, []).append(station)
    found: dict[int, Fitted] = {}
    for tool in assembly.tools:
        station = assembly.station[tool.station]
        item = assembly.mechanism.part(tool.part).item
        entry = assembly.scene.catalogue.parts.get(item)
        if isinstance(entry, Hoe) and station.index not in found:
            node = tool.part.removeprefix(station.name + ".")
            here = tuple(places[station.index])
            found[station.index] = Fitted(station.index, node, item, entry, here)
    return tuple(found[index] for index in sorted(found))


def wider_hoes(assembly: Assembly) -> Iterator[Choice]:
    """Wider hoes of the same kind, narrowest first, for every station that carries one."""
    for fitted in fitted_hoes(assembly):
        wider = [name for width, name in fitted.others(assembly) if width > fitted.hoe.width]
        if wider:
            says = f"fit a wider {fitted.node.replace('_', ' ')}"
            yield Choice(fitted.path, tuple(wider), fitted.item, says)


def narrower_hoes(assembly: Assembly, fitted: Fitted) -> Iterator[Choice]:
    """Narrower hoes of the same kind, widest first."""
    others = fitted.others(assembly)
    narrower = [name for width, name in reversed(others) if width < fitted.hoe.width]
    if narrower:
        says = f"fit a narrower {fitted.node.replace('_', ' ')}"
        yield Choice(fitted.path, tuple(narrower), fitted.item, says)


def too_wide(assembly: Assembly, fitted: Fitted) -> bool:
    """Whether a hoe is wider than a strip that it stands in the middle of."""
    strips = _strips(assembly, fitted)
    return bool(strips) and fitted.hoe.width > min(strips) + _GRAIN_MM


def fitting_hoes(assembly: Assembly) -> Iterator[Choice]:
    """In every gap the widest hoe that it takes, in its middle; all changed together."""
    changes = [change for f in fitted_hoes(assembly) for change in _fitting(assembly, f)]
    changes.sort(key=lambda change: change.unit)  # other parts first, then what is only set
    if changes:
        first, *more = changes
        says = "fit each gap with the widest hoe that it takes, in its middle"
        yield Choice(first.path, (first.value,), first.was, says, first.unit, tuple(more))


def _fitting(assembly: Assembly, fitted: Fitted) -> Iterator[Change]:
    strips = _strips(assembly, fitted)
    if not strips:
        return
    sizes = [*fitted.others(assembly), (fitted.hoe.width, fitted.item)]
    taken = [size for size in sizes if size[0] <= min(strips) + _GRAIN_MM]
    if taken and max(taken)[0] != fitted.hoe.width:
        yield Change(fitted.path, max(taken)[1], fitted.item, "")
    shift = assembly.scene.spec.stations[fitted.index].shift
    if shift != 0.0:
        yield Change(("stations", fitted.index, "shift"), 0.0, shift)


def _strips(assembly: Assembly, fitted: Fitted) -> list[float]:
    """Width between the bands of each gap that a station stands in the middle of, mm."""
    if assembly.scene.spec.stations[fitted.index].at != "gaps":
        return []
    found: list[float] = []
    for left, right in pairwise(assembly.rows):
        middle = (left.y_mm + right.y_mm) / 2.0
        if any(p.side == 0 and abs(p.line_mm - middle) < _GRAIN_MM for p in fitted.places):
            found.append(left.y_mm - left.keep_out_mm - right.y_mm - right.keep_out_mm)
    return found


def swapped_hoes(assembly: Assembly) -> Iterator[Choice]:
    """The hoes of two stations, each put in the other's place."""
    for one, other in combinations(fitted_hoes(assembly), 2):
        if type(one.hoe) is type(other.hoe) and one.hoe.width != other.hoe.width:
            says = f"swap the hoes of {_named(one)} and {_named(other)}"
            also = (Change(other.path, one.item, other.item, ""),)
            yield Choice(one.path, (other.item,), one.item, says, also=also)


def _named(fitted: Fitted) -> str:
    """The station of a hoe, as people know it by its places."""
    return " / ".join(dict.fromkeys(place.name.partition(".")[0] for place in fitted.places))


def wider_band(assembly: Assembly) -> Knob:
    """More soil left beside the rows."""
    keep = assembly.scene.spec.rows.keep_out
    return Knob(
        ("rows", "keep_out"), keep, keep + _WIDER_BAND_MM, "mm", "leave a wider band along the rows"
    )


def hand_cures(assembly: Assembly, station: StationPlace) -> Iterator[Choice]:
    """A single tool on the other side of its shank, so that its clamp stands elsewhere."""
    if station.side != 0:
        return
    spec = assembly.scene.spec.stations[station.index]
    count = len({p.name for p in assembly.stations if p.index == station.index})
    values = [_short(turn) for turn in product(("left", "right"), repeat=min(count, 2))]
    others = tuple(value for value in values if value != _short(_list(spec.hand)))
    says = f"hang the tool of {station.name.partition('.')[0]} on the other side of its shank"
    yield Choice(("stations", station.index, "hand"), others, spec.hand, says)


def _list(hand: str | tuple[str, ...]) -> tuple[str, ...]:
    return (hand,) if isinstance(hand, str) else hand


def _short(turn: tuple[str, ...]) -> str | tuple[str, ...]:
    """Sides that go round the places; one word where they are all the same."""
    return turn[0] if len(set(turn)) == 1 else turn
