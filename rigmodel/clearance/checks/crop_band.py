"""crop-band: no steel enters a row's keep-out band at work, and leaves and stems are cleared."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import ABlade, HalfBlade
from rigmodel.clearance.cures import shift_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.row_bodies import PLATE_MM
from rigmodel.clearance.scope import SET, Pairs, Scope

ID = "crop-band"
STATEMENT = "No steel enters the keep-out band of a row at work; leaves and stems are cleared."
GRAIN_MM = 0.05  # blades are set to the band exactly; no tape shows a difference this small


def findings(scope: Scope) -> Iterator[Finding]:
    """Steel against every row's line, and against its leaves where their size is given."""
    assembly = scope.assembly
    limits, rows = assembly.scene.spec.limits, assembly.rows
    for clearance, verdict in scope.hold(_bands(scope), SET).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            rows[0].keep_out_mm,
            "the scene's rows.keep_out",
            _cures(assembly, clearance.parts),
        )
    for clearance, verdict in scope.hold(_leaves(scope), SET).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limits.canopy_clearance,
            "canopy_clearance",
            _cures(assembly, clearance.parts),
        )


def failing(scope: Scope) -> Iterator[tuple[str, ...]]:
    """The two of each pair that comes too near."""
    yield from scope.short(_bands(scope), SET)
    yield from scope.short(_leaves(scope), SET)


def _bands(scope: Scope) -> Pairs:
    rows = scope.assembly.rows
    wanted = [row.keep_out_mm - GRAIN_MM - PLATE_MM / 2.0 for row in rows]
    return Pairs.across(scope.steel, scope.lines, wanted)


def _leaves(scope: Scope) -> Pairs:
    room = scope.assembly.scene.spec.limits.canopy_clearance
    return Pairs.across(scope.steel, scope.leaves, room)


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    found: list[Knob | Choice] = []
    catalogue = assembly.scene.catalogue.parts
    for name in parts:
        if name not in assembly.mechanism.part_index:
            continue
        part = assembly.mechanism.part(name)
        if not part.station:
            continue
        station = assembly.station[part.station]
        stations: tuple[str | int, ...] = ("stations", station.index)
        found += shift_cures(assembly, station)
        if part.role is Role.FINGER_WHEEL and station.pair_gap_mm is not None:
            path = (*stations, "pair_gap")
            gap = station.pair_gap_mm
            found.append(Knob(path, gap, gap + 150.0, "mm", "open the pair's gap"))
        entry = catalogue.get(part.item)
        if isinstance(entry, ABlade | HalfBlade):
            narrower = sorted(
                (-other.width, item)
                for item, other in catalogue.items()
                if type(other) is type(entry) and other.width < entry.width
            )
            node = name.removeprefix(station.name + ".")
            path = (*stations, "swap", node)
            items = tuple(item for _, item in narrower)
            if items:
                found.append(Choice(path, items, part.item, "fit a narrower blade"))
    return tuple(found)
