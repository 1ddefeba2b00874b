"""Tools that could be hung on the bar, measured.

Nothing here is guessed: every variant is assembled once, and its strip of soil, its clamps and its
parts are read off the assembly.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from weakref import WeakKeyDictionary

from meshes_generic.mass import MassProperties
from meshes_generic.solid import Solid
from meshes_generic.transform import apply
from rigmodel.advise.suggest.request import Request
from rigmodel.advise.suggest.units import Fitted, Kind
from rigmodel.assembly.rig import Assembly, StationPlace
from rigmodel.clearance.finding import Verdict
from rigmodel.clearance.trial import Bench
from rigmodel.shop.items import counted
from rigmodel.spec.resolve import Scene, resolve
from rigmodel.spec.scene import Station

ALONE = ("ground-contact", "shank-travel", "arm-float")  # what a tool passes or fails by itself


@dataclass(frozen=True)
class Variant:
    """A fitted sub-assembly as it was measured, left hand. Lengths are mm.

    Attributes:
        fitted: what it is.
        width: width of soil its tool works (a hoe), or over the fingers (a wheel).
        clamps_at: its clamps' middles, left of a hoe's own middle or of its row or track.
        clamp_width: length of bar a clamp of it covers.
        spanner: widest spanner its clamps take.
        nut_inset: how far inside the clamp's edge the middle of its outermost nut lies.
        parts: catalogue parts of it, a pair of wheels taken together, counted.
        behind_kg: mass of its parts whose centre lies behind the bar.
        by_edge: whether it can be set by its edge, at a keep-out band.
    """

    fitted: Fitted
    width: float
    clamps_at: tuple[float, ...]
    clamp_width: float
    spanner: float
    nut_inset: float
    parts: tuple[tuple[str, int], ...]
    behind_kg: float
    by_edge: bool = True


@dataclass(frozen=True)
class Screened:
    """Variants that pass by themselves, and why the others do not.

    Attributes:
        good: variants to choose from.
        dropped: the checks' own words for each tool that fails alone.
    """

    good: tuple[Variant, ...]
    dropped: tuple[tuple[Fitted, str], ...]


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
        "depth": _depth(request, fitted.kind),
        "swap": dict(fitted.swap),
        **where,
    }
    if fitted.kind is Kind.WHEELS:
        fields["pair_gap"] = fitted.gap
    return Station.model_construct(None, **_with_defaults(fields))


def _depth(request: Request, kind: Kind) -> float:
    if kind is Kind.WHEELS:
        return request.wheel_depth
    return request.hoe_depth if kind is Kind.HOE else request.track_depth


def _with_defaults(fields: dict[str, Any]) -> dict[str, Any]:
    """All fields of a station; values are mm already, so nothing is to be read from text."""
    defaults = {
        name: field.get_default(call_default_factory=True)
        for name, field in Station.model_fields.items()
        if not field.is_required()
    }
    return {**defaults, **fields}


class Measures:
    """Measures units, each once; shared by a search and the searches of its relaxations.

    Args:
        bench: puts scenes together and checks them; it keeps what they have in common.

    Attributes:
        staggers: least staggers found so far, by what they depend on and the unit, mm.
    """

    def __init__(self, bench: Bench | None = None) -> None:
        self.bench = Bench() if bench is None else bench
        self.staggers: dict[tuple[str, Fitted], float] = {}
        self._known: dict[tuple[object, ...], Screened] = {}
        self._masses: WeakKeyDictionary[Solid, MassProperties] = WeakKeyDictionary()

    def screened(self, request: Request, units: Sequence[Fitted], number: int = 1) -> Screened:
        """Assembles units and reads off what the choice between them needs.

        A unit that fails by itself (its shank ends, its arm hits a stop) is dropped with the
        check's words. On a bed, where this depends on the place, nothing is dropped beforehand.

        Args:
            request: what is asked.
            units: what to measure.
            number: of the row or track that wheels or points in tracks stand at, from 1; on a
                perforated bar it decides which holes they come to.
        """
        depths = (request.wheel_depth, request.hoe_depth, request.track_depth)
        key = (depends_on(request, rows=_by_place(request)), depths, tuple(units), number)
        if key not in self._known:
            self._known[key] = _screened(request, units, self.bench, self.mass, number)
        return self._known[key]

    def mass(self, solid: Solid) -> MassProperties:
        """Mass and centroid of a solid in its own axes."""
        known = self._masses.get(solid)
        if known is None:
            known = self._masses[solid] = solid.mass_properties()
        return known


def depends_on(request: Request, rows: bool = True) -> str:
    """All of a scene that what hangs on its bar depends on, as text.

    Args:
        request: what is asked.
        rows: whether it matters where the rows are.
    """
    spec = request.scene.spec
    left_out = {"name", "notes", "stations"} | (set() if rows else {"rows"})
    bar = spec.toolbar.model_dump_json(exclude={"length", "no_clamp", "hangers"})
    limits = spec.limits.model_dump_json(exclude={"missed", "overlap"})
    return spec.model_dump_json(exclude=left_out | {"toolbar", "limits"}) + bar + limits


def _by_place(request: Request) -> bool:
    """Whether a tool is another one at another place: over a bed, or on a bar with holes."""
    return request.scene.spec.soil.shape == "bed" or request.scene.tube.hole_pitch is not None


def _screened(
    request: Request,
    units: Sequence[Fitted],
    bench: Bench,
    mass: Callable[[Solid], MassProperties],
    number: int,
) -> Screened:
    scene = request.scene
    lines = scene.spec.rows.places
    middle = (lines[0] + lines[-1]) / 2.0 - scene.spec.toolbar.offset
    places: Mapping[Kind, Mapping[str, Any]] = {
        Kind.WHEELS: {"at": "rows", "only": (number,)},
        Kind.TRACK: {"at": "tracks", "only": (number,)},
        Kind.HOE: {"at": (middle,)},
    }
    stations: list[Station] = []
    kept: list[Fitted] = []
    for unit in units:
        station = station_of(request, unit, {**places[unit.kind], "name": f"u{len(kept)}"})
        if with_stations(scene, (station,)) is not None:
            stations.append(station)
            kept.append(unit)
    whole = with_stations(scene, stations) if stations else None
    if whole is None:
        return Screened((), ())
    assembly = bench.assembled(whole)
    flat = scene.spec.soil.shape == "flat"
    failing = _failing(assembly, bench) if flat else {}
    reader = _Reader(assembly, mass)
    good, dropped = [], []
    for index, unit in enumerate(kept):
        if index in failing:
            dropped.append((unit, failing[index]))
        else:
            good.append(reader.variant(index, unit))
    return Screened(tuple(good), tuple(dropped))


def _failing(assembly: Assembly, bench: Bench) -> dict[int, str]:
    found: dict[int, str] = {}
    index = {name: s.index for s in assembly.stations for name in s.parts}
    for finding in bench.checked(assembly, ALONE):
        if finding.verdict is Verdict.FAIL:
            for part in finding.parts:
                if part in index:
                    found.setdefault(index[part], finding.message)
    return found


class _Reader:
    """Reads variants off an assembly in which each station is one unit."""

    def __init__(self, assembly: Assembly, mass: Callable[[Solid], MassProperties]) -> None:
        self.assembly, self.mass = assembly, mass
        self.places: dict[int, list[StationPlace]] = {}
        for place in assembly.stations:
            self.places.setdefault(place.index, []).append(place)
        self.tools = {tool.station: tool for tool in assembly.tools}
        self.clamps = {c.part.rpartition(".")[0]: c for c in assembly.clamps}
        bar = assembly.scene
        self.bar_back = bar.tractor.toolbar_ahead - bar.tube.size / 2.0

    def variant(self, index: int, unit: Fitted) -> Variant:
        places = self.places[index]
        offset = self.assembly.scene.spec.toolbar.offset
        tool, clamp = self.tools[places[0].name], self.clamps[places[0].name]
        middle = tool.centre_mm if unit.kind is Kind.HOE else places[0].line_mm
        if unit.kind is Kind.WHEELS:
            unit = replace(unit, gap=self._gap(places, unit))
        counts: Counter[str] = Counter()
        for place in places:
            counts.update(counted(self.assembly, place))
        return Variant(
            unit,
            tool.high_mm - tool.low_mm,
            tuple(self.clamps[p.name].centre_mm + offset - middle for p in places),
            clamp.width_mm,
            clamp.spanner_mm,
            clamp.nut_inset_mm,
            tuple(sorted(counts.items())),
            sum(self._behind(name) for place in places for name in place.parts),
            self.assembly.scene.stations[index].unit.place == "keep-out",
        )

    def _gap(self, places: Sequence[StationPlace], unit: Fitted) -> float:
        """The gap asked, or where the bar's holes do not give it, the one that they do."""
        left, right = (self.tools[place.name] for place in places)
        gap = left.low_mm - right.high_mm
        limit = self.assembly.scene.spec.limits.pair_gap_tolerance
        return unit.gap if abs(gap - unit.gap) <= limit else round(gap, 2)

    def _behind(self, name: str) -> float:
        part = self.assembly.mechanism.part(name)
        own = self.mass(part.solid)
        centre = apply(self.assembly.work_frames[part.frame], own.centroid_mm)
        return own.mass_kg if float(centre[0]) < self.bar_back else 0.0
