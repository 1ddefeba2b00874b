"""Joins what a scene says with what the catalogue holds, and finds what does not go together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rigmodel.catalog.kinds import (
    SquareTube,
    SubAssembly,
    walk,
)
from rigmodel.catalog.store import Catalogue, nearest
from rigmodel.catalog.tractors import AxleEntry, TractorEntry
from rigmodel.catalog.tyre_size import TyreSize
from rigmodel.reading.source import Source
from rigmodel.recent import Recent
from rigmodel.spec.own_tractor import resolve_tractor
from rigmodel.spec.places import Place
from rigmodel.spec.problem import Loc, Problem, unknown
from rigmodel.spec.scene import SceneSpec, Station
from rigmodel.spec.stations import FIT_MM, StationReader
from rigmodel.spec.stops import lift_problems
from rigmodel.spec.struts import strut_problems
from rigmodel.units import Unit, format_length

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
            reader = StationReader(spec, catalogue, tube)
            found = ((i, reader.read(i, track_mm)) for i in range(len(spec.stations)))
            planned = tuple(
                PlannedStation(i, spec.stations[i], *read) for i, read in found if read is not None
            )
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
        struts = spec.toolbar.struts
        problems += strut_problems(struts, catalogue, tube, Unit(spec.units))
    if problems or isinstance(tractor, Problem) or isinstance(tube, Problem):
        return tuple(problems)
    return Scene(spec, catalogue, tractor, tube, tuple(axles), stations, origin)
