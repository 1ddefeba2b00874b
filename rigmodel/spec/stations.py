"""Stations of a scene and their sub-assemblies: what they are made of, and what does not fit."""

from __future__ import annotations

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
from rigmodel.spec.places import Place, places
from rigmodel.spec.problem import Loc, Problem, unknown
from rigmodel.spec.scene import SceneSpec, Station
from rigmodel.spec.stops import arm_problems, spring_problems
from rigmodel.units import Unit, format_length

FIT_MM = 0.5  # a tube and its clamp, or a shank and its slot, match within this


class StationReader:
    """Finds the sub-assembly of each station and everything in it that does not fit."""

    def __init__(self, spec: SceneSpec, catalogue: Catalogue, tube: SquareTube) -> None:
        self.spec, self.catalogue, self.tube = spec, catalogue, tube
        self.unit = Unit(spec.units)
        self.problems: list[Problem] = []

    def _add(self, loc: Loc, message: str, expected: str = "", hint: str = "") -> None:
        self.problems.append(Problem(loc, message, expected, hint))

    def read(self, index: int, track_mm: float) -> tuple[SubAssembly, tuple[Place, ...]] | None:
        """Sub-assembly and places of a station; None where it is too wrong to know."""
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
        return unit, found

    def _with_swaps(self, unit: SubAssembly, station: Station, loc: Loc) -> SubAssembly:
        names = {node.name for node in walk(unit.tool)} | {"mount"}
        if unit.rank_mount is not None:
            names |= {"rank_clamp", "rank_tube"}
        for name in station.swap:
            if name not in names:
                self._add(
                    (*loc, "swap", name),
                    f"this sub-assembly has no part named '{name}'",
                    "one of " + ", ".join(sorted(names)),
                    nearest(name, names),
                )
        swap, rank = station.swap, unit.rank_mount
        if rank is not None:
            parts = {n: swap.get(f"rank_{n}", getattr(rank, n)) for n in ("clamp", "tube")}
            rank = rank.model_copy(update=parts)
        mount = swap.get("mount", unit.mount)
        update = {"tool": _swapped(unit.tool, swap), "mount": mount, "rank_mount": rank}
        return unit.model_copy(update=update)

    def _references(self, unit: SubAssembly, station: Station, loc: Loc) -> None:
        wanted = [("mount", unit.mount)] + [(n.name, n.part) for n in walk(unit.tool)]
        if unit.rank_mount is not None:
            wanted += [("rank_clamp", unit.rank_mount.clamp), ("rank_tube", unit.rank_mount.tube)]
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
        elif not _joins(tee, self.tube.size, tube.size):
            fitting = [
                name
                for name, part in self.catalogue.parts.items()
                if isinstance(part, TeeClamp) and _joins(part, self.tube.size, tube.size)
            ]
            self._add(
                (*loc, "use"),
                f"tee clamp '{unit.rank_mount.clamp}' joins a {self._say(tee.cross_fits)} tube "
                f"to a {self._say(tee.fits)} bar; here it is a {self._say(tube.size)} tube to a "
                f"{self._say(self.tube.size)} bar",
                "a tee-clamp for both; swap: {rank_clamp: …}",
                fitting[0] if fitting else "",
            )

    def _say(self, mm: float) -> str:
        return format_length(mm, self.unit)

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


def _joins(tee: TeeClamp, bar_mm: float, cross_mm: float) -> bool:
    """Whether a tee clamp joins a cross tube of one size to a bar of another."""
    return abs(tee.fits - bar_mm) <= FIT_MM and abs(tee.cross_fits - cross_mm) <= FIT_MM


def _swapped(node: Node, swap: dict[str, str]) -> Node:
    return node.model_copy(
        update={
            "part": swap.get(node.name, node.part),
            "carries": tuple(_swapped(child, swap) for child in node.carries),
        }
    )
