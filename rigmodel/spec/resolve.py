"""Joins what a scene says with what the catalogue holds, and finds what does not go together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rigmodel.catalog.kinds import (
    BarClamp,
    FingerWheel,
    FlatShank,
    Node,
    RigidHolder,
    RoundShank,
    SpringHolder,
    SquareTube,
    SubAssembly,
    TeeClamp,
    TrailingArm,
    walk,
)
from rigmodel.catalog.store import Catalogue, nearest
from rigmodel.catalog.tractors import AxleEntry, TractorEntry
from rigmodel.catalog.tyre_size import TyreSize
from rigmodel.reading.source import Source
from rigmodel.recent import Recent
from rigmodel.spec.own_tractor import resolve_tractor
from rigmodel.spec.places import Place, places
from rigmodel.spec.problem import Loc, Problem, unknown
from rigmodel.spec.scene import SceneSpec, Station
from rigmodel.spec.stops import arm_problems, lift_problems, spring_problems
from rigmodel.units import Unit, format_length

FIT_MM = 0.5  # a tube and its clamp, or a shank and its slot, match within this
_TRACKS = 40  # tracks for which the stations last found are kept


@dataclass(frozen=True, eq=False)
class Axle:
    """An axle with its tyre's size."""

    name: str
    track_mm: float
    x_mm: float
    tyre: TyreSize


@dataclass(frozen=True, eq=False)
class PlannedStation:
    """One station of the scene with its sub-assembly and all its places."""

    index: int
    spec: Station
    unit: SubAssembly
    places: tuple[Place, ...]


_Stations = tuple[tuple[PlannedStation, ...], tuple[Problem, ...]]


@dataclass(frozen=True, eq=False)
class Scene:
    """A scene that goes together with its catalogue.

    Attributes:
        spec: what was written.
        catalogue: all parts it may use.
        tractor: the generic tractor with the scene's overrides.
        tube: the bar's section.
        axles: rear axle first.
        stations: every station with its sub-assembly and places.
        origin: the file it was read from, or an empty string.
        source: its text with lines, or None where it stands in no file.
    """

    spec: SceneSpec
    catalogue: Catalogue
    tractor: TractorEntry
    tube: SquareTube
    axles: tuple[Axle, ...]
    stations: tuple[PlannedStation, ...]
    origin: str = ""
    source: Source | None = None

    @property
    def unit(self) -> Unit:
        """Unit the scene is written in and answered in."""
        return Unit(self.spec.units)

    @property
    def floor_mm(self) -> float:
        """Height of the ground the tyres stand on; the tractor is measured from there."""
        return -self.spec.soil.tyres_run

    @property
    def lift_range_mm(self) -> tuple[float, float]:
        """Lowest and highest the bar's centre can go over the soil of the rows."""
        lift = self.tractor.lift
        return lift.lowest + self.floor_mm, lift.highest + self.floor_mm

    def say(self, mm: float) -> str:
        """A length as the fitter reads it."""
        return format_length(mm, self.unit)


def _tyre(catalogue: Catalogue, axle: AxleEntry, loc: Loc) -> TyreSize | Problem:
    known = catalogue.tyre_size(axle.tyre) if axle.tyre else None
    if axle.tyre_width is not None and axle.tyre_diameter is not None:
        return TyreSize(axle.tyre_width, axle.tyre_diameter, "measured")
    if known is None:
        return Problem(
            (*loc, "tyre"),
            f"the size of tyre '{axle.tyre}' is not known",
            "a size from `rigmodel parts`, one such as 280/70R16, or tyre_width and tyre_diameter",
            nearest(axle.tyre, catalogue.tyres),
        )
    return TyreSize(
        axle.tyre_width or known.width_mm, axle.tyre_diameter or known.diameter_mm, known.source
    )


def _axles(
    spec: SceneSpec, tractor: TractorEntry, catalogue: Catalogue
) -> Iterator[Axle | Problem]:
    entries = (("rear", tractor.rear, 0.0), ("front", tractor.front, tractor.wheelbase))
    for name, entry, x in entries:
        if entry is None:
            continue
        loc: Loc = ("tractor", name)
        if entry.tracks and min(abs(entry.track - t) for t in entry.tracks) > FIT_MM:
            unit = Unit(spec.units)
            near = min(entry.tracks, key=lambda t: abs(t - entry.track))
            yield Problem(
                (*loc, "track"),
                f"a wheel track of {format_length(entry.track, unit)} cannot be set on this axle",
                "one of " + ", ".join(format_length(t, unit) for t in entry.tracks),
                format_length(near, unit),
            )
        tyre = _tyre(catalogue, entry, loc)
        yield tyre if isinstance(tyre, Problem) else Axle(name, entry.track, x, tyre)


def _swapped(node: Node, swap: dict[str, str]) -> Node:
    return node.model_copy(
        update={
            "part": swap.get(node.name, node.part),
            "carries": tuple(_swapped(child, swap) for child in node.carries),
        }
    )


def _tube(spec: SceneSpec, catalogue: Catalogue) -> SquareTube | Problem:
    bar = spec.toolbar
    if bar.tube is None:
        size, wall = bar.size or 0.0, bar.wall or 0.0
        return SquareTube(kind="square-tube", size=size, wall=wall, hole_pitch=bar.hole_pitch)
    tube = catalogue.parts.get(bar.tube)
    if isinstance(tube, SquareTube):
        pitch = {"hole_pitch": bar.hole_pitch} if bar.hole_pitch is not None else {}
        return tube.model_copy(update=pitch)
    tubes = [name for name, part in catalogue.parts.items() if isinstance(part, SquareTube)]
    return unknown(("toolbar", "tube"), bar.tube, "square tube", tubes)


class _StationReader:
    """Finds the sub-assembly of each station and everything in it that does not fit."""

    def __init__(self, spec: SceneSpec, catalogue: Catalogue, tube: SquareTube) -> None:
        self.spec, self.catalogue, self.tube = spec, catalogue, tube
        self.unit = Unit(spec.units)
        self.problems: list[Problem] = []

    def _add(self, loc: Loc, message: str, expected: str = "", hint: str = "") -> None:
        self.problems.append(Problem(loc, message, expected, hint))

    def read(self, index: int, track_mm: float) -> PlannedStation | None:
        station = self.spec.stations[index]
        loc: Loc = ("stations", index)
        unit = station.build
        if unit is None:
            unit = self.catalogue.assemblies.get(station.use or "")
            if unit is None:
                self.problems.append(
                    unknown(
                        (*loc, "use"), station.use or "", "sub-assembly", self.catalogue.assemblies
                    )
                )
                return None
        unit = self._with_swaps(unit, station, loc)
        before = len(self.problems)
        self._references(unit, station, loc)
        if len(self.problems) > before:
            return None
        self._fits(unit, station, loc)
        by_edge = unit.place != "centre"
        found = places(station, self.spec.rows, self.spec.toolbar, track_mm, by_edge)
        if not found:
            self._add(
                (*loc, "only" if station.only else "at"),
                "this station has no place to stand",
                "at least one place (gaps need two rows)",
            )
        return PlannedStation(index, station, unit, found)

    def _with_swaps(self, unit: SubAssembly, station: Station, loc: Loc) -> SubAssembly:
        names = {node.name for node in walk(unit.tool)} | {"mount"}
        for name in station.swap:
            if name not in names:
                self._add(
                    (*loc, "swap", name),
                    f"this sub-assembly has no part named '{name}'",
                    "one of " + ", ".join(sorted(names)),
                    nearest(name, names),
                )
        mount = station.swap.get("mount", unit.mount)
        return unit.model_copy(update={"tool": _swapped(unit.tool, station.swap), "mount": mount})

    def _references(self, unit: SubAssembly, station: Station, loc: Loc) -> None:
        wanted = [("mount", unit.mount)] + [(n.name, n.part) for n in walk(unit.tool)]
        if unit.rank_mount is not None:
            wanted += [("rank_mount", unit.rank_mount.clamp), ("rank_mount", unit.rank_mount.tube)]
        for name, part in wanted:
            if part not in self.catalogue.parts:
                place: Loc = (*loc, "swap", name) if name in station.swap else (*loc, "use")
                self.problems.append(unknown(place, part, "part", self.catalogue.parts))

    def _fits(self, unit: SubAssembly, station: Station, loc: Loc) -> None:
        parts = self.catalogue.parts
        mount = parts[unit.mount]
        if not isinstance(mount, BarClamp | TeeClamp):
            self._add((*loc, "use"), f"'{unit.mount}' does not go round a bar", "a bar-clamp")
        elif abs(mount.fits - self.tube.size) > FIT_MM:
            self._add(
                (*loc, "use"),
                f"clamp '{unit.mount}' goes round a {format_length(mount.fits, self.unit)} bar, "
                f"but the bar is {format_length(self.tube.size, self.unit)}",
                "a clamp for the bar's size; swap: {mount: …}",
                self._clamp_for_bar(),
            )
        self._rank_fits(unit, station, loc)
        self.problems += arm_problems(unit, parts, self.spec.parts, loc)
        self.problems += spring_problems(unit, parts, station.spring_hole, loc)
        for node in walk(unit.tool):
            for child in node.carries:
                self._shank_fits(node, child, loc)
        wheels = any(isinstance(parts[node.part], FingerWheel) for node in walk(unit.tool))
        if station.pair_gap is not None and not (unit.place == "pair-gap" and wheels):
            self._add((*loc, "pair_gap"), "only pairs of finger wheels have a pair gap")
        if unit.place == "pair-gap" and station.pair_gap is None and station.at == "rows":
            self._add(loc, "a pair of finger wheels needs pair_gap", "such as 1 1/2 in or 40 mm")

    def _clamp_for_bar(self) -> str:
        fitting = [
            name
            for name, part in self.catalogue.parts.items()
            if isinstance(part, BarClamp) and abs(part.fits - self.tube.size) <= FIT_MM
        ]
        return fitting[0] if fitting else ""

    def _rank_fits(self, unit: SubAssembly, station: Station, loc: Loc) -> None:
        ranks = station.rank if isinstance(station.rank, tuple) else (station.rank,)
        if not any(ranks) and station.face == "rear":
            return
        swings = [
            node.name
            for node in walk(unit.tool)
            if isinstance(self.catalogue.parts[node.part], TrailingArm | SpringHolder)
        ]
        if (max(ranks) > 0 or station.face == "front") and swings:
            where = "rank" if max(ranks) > 0 else "face"
            self._add(
                (*loc, where),
                f"'{swings[0]}' swings to the rear and cannot hang in front of the bar",
                "a rank of 0 or less, on the rear face",
            )
        if not any(ranks):
            return
        if unit.rank_mount is None:
            self._add((*loc, "rank"), "this sub-assembly has nothing to carry it on another rank")
            return
        tee = self.catalogue.parts[unit.rank_mount.clamp]
        tube = self.catalogue.parts[unit.rank_mount.tube]
        if not isinstance(tee, TeeClamp) or not isinstance(tube, SquareTube):
            self._add((*loc, "use"), "rank_mount needs a tee-clamp and a square-tube")
        elif abs(tee.fits - self.tube.size) > FIT_MM or abs(tee.cross_fits - tube.size) > FIT_MM:
            self._add((*loc, "use"), f"tee clamp '{unit.rank_mount.clamp}' fits other tubes")

    def _shank_fits(self, node: Node, child: Node, loc: Loc) -> None:
        holder = self.catalogue.parts[node.part]
        shank = self.catalogue.parts[child.part]
        if not isinstance(holder, RigidHolder | SpringHolder):
            return
        if isinstance(shank, FlatShank):
            x, y = shank.width, shank.thickness
        elif isinstance(shank, RoundShank):
            x = y = shank.diameter
        else:
            return
        if x > holder.slot_x + FIT_MM or y > holder.slot_y + FIT_MM:
            sizes = " x ".join(format_length(v, self.unit) for v in (x, y))
            slot = " x ".join(format_length(v, self.unit) for v in (holder.slot_x, holder.slot_y))
            self._add(
                (*loc, "swap", child.name),
                f"shank '{child.part}' ({sizes}) does not go into holder '{node.part}' ({slot})",
                "a shank no bigger than the slot",
            )


def _name_clashes(stations: Sequence[PlannedStation]) -> Iterator[Problem]:
    seen: dict[str, int] = {}
    for planned in stations:
        for place in planned.places:
            station = ".".join(filter(None, (place.name, planned.spec.name)))
            parts = (f"{station}.{node.name}" for node in walk(planned.unit.tool))
            for key in (station, *parts):
                other = seen.setdefault(key, planned.index)
                if other != planned.index:
                    yield Problem(
                        ("stations", planned.index),
                        f"two stations both make '{key}'",
                        "a name: of its own for one of them",
                    )
                    return


def _row_problems(spec: SceneSpec) -> Iterator[Problem]:
    lines = spec.rows.places
    unit = Unit(spec.units)
    gaps = [left - right for left, right in pairwise(lines)]
    if gaps and min(gaps) <= 2.0 * spec.rows.keep_out:
        yield Problem(
            ("rows", "keep_out"),
            f"bands of {format_length(spec.rows.keep_out, unit)} each side leave no soil between "
            f"rows {format_length(min(gaps), unit)} apart",
            f"less than {format_length(min(gaps) / 2.0, unit)}",
        )


class Planner:
    """Finds the stations of scenes; those of a scene are found again in the next ones.

    Of the tractor they depend on nothing but its track, and they are told nothing else.
    """

    def __init__(self) -> None:
        self._known: Recent[float, tuple[tuple[object, ...], _Stations]] = Recent(_TRACKS)

    def stations(
        self, spec: SceneSpec, catalogue: Catalogue, tube: SquareTube, track_mm: float
    ) -> _Stations:
        """A scene's stations, and what is wrong with them."""
        rest = {name: value for name, value in spec if name != "tractor"}
        known = self._known.get(track_mm)
        if known is None or known[0] != (rest, tube, catalogue):
            reader = _StationReader(spec, catalogue, tube)
            found = [reader.read(i, track_mm) for i in range(len(spec.stations))]
            planned = tuple(station for station in found if station is not None)
            wrong = (*reader.problems, *_name_clashes(planned))
            known = self._known.keep(track_mm, ((rest, tube, catalogue), (planned, wrong)))
        return known[1]


def resolve(
    spec: SceneSpec, catalogue: Catalogue, origin: str = "", planner: Planner | None = None
) -> Scene | tuple[Problem, ...]:
    """Joins a scene and a catalogue.

    Args:
        spec: what was written.
        catalogue: all parts it may use.
        origin: the file it was read from.
        planner: stations of earlier scenes; it is added to.

    Returns:
        The scene, or every problem found.
    """
    catalogue = catalogue.extended(parts=spec.parts, tyres=spec.tyres)
    problems: list[Problem] = list(_row_problems(spec))
    tractor = resolve_tractor(spec, catalogue)
    tube = _tube(spec, catalogue)
    axles: list[Axle] = []
    if isinstance(tractor, Problem):
        problems.append(tractor)
    else:
        for axle in _axles(spec, tractor, catalogue):
            (axles if isinstance(axle, Axle) else problems).append(axle)  # type: ignore[arg-type]
        problems += lift_problems(spec.tractor.lift, tractor, Unit(spec.units))
    stations: tuple[PlannedStation, ...] = ()
    if isinstance(tube, Problem):
        problems.append(tube)
    else:
        track = axles[0].track_mm if axles else 0.0
        stations, wrong = (planner or Planner()).stations(spec, catalogue, tube, track)
        problems += wrong
    if problems or isinstance(tractor, Problem) or isinstance(tube, Problem):
        return tuple(problems)
    return Scene(spec, catalogue, tractor, tube, tuple(axles), stations, origin)
