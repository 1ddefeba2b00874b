"""crop-band: no steel enters a row's keep-out band at work, and leaves and stems are cleared."""

from __future__ import annotations

from collections.abc import Iterator

from meshes_generic.material import Material
from meshes_generic.shapes import Box
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import translation
from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.catalog.kinds import ABlade, HalfBlade
from rigmodel.clearance.cures import shift_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import SET, Body, Pairing, Scope

ID = "crop-band"
STATEMENT = "No steel enters the keep-out band of a row at work; leaves and stems are cleared."
BELOW_MM = 500.0  # the band reaches this far into the soil, below any tool
LENGTH_MM = 20000.0  # a row goes on past both ends of the rig
GRAIN_MM = 0.05  # blades are set to the band exactly; no tape shows a difference this small
PLATE_MM = 1e-3  # thickness of the plate that stands for a row's own line


def band_body(row: RowPlace, height: float) -> Body:
    """The row's own line as a thin upright plate, from deep in the soil to `height` over it."""
    shape = Box(LENGTH_MM, PLATE_MM, BELOW_MM + height)
    at = translation(0.0, 0.0, (height - BELOW_MM) / 2.0)
    return Body(f"{row.name}.line", row.frame, Solid((Piece(shape, at, Material.PLANT, "line"),)))


def canopy_body(row: RowPlace) -> Body:
    """The leaves of a row as a box along it."""
    plants = row.plants
    shape = Box(LENGTH_MM, plants.canopy_width, plants.height - plants.lowest_leaf)
    at = translation(0.0, 0.0, (plants.height + plants.lowest_leaf) / 2.0)
    return Body(
        f"{row.name}.leaves", row.frame, Solid((Piece(shape, at, Material.PLANT, "leaves"),))
    )


def steel(scope: Scope) -> list[Body]:
    """Everything rigid on the rig."""
    return [
        body
        for part in scope.assembly.rig_parts()
        for body in scope.bodies_of(part.name)
        if not body.flexible
    ]


def findings(scope: Scope) -> Iterator[Finding]:
    """Steel against every row's line, and against its leaves where their size is given."""
    assembly = scope.assembly
    limits, rows = assembly.scene.spec.limits, assembly.rows
    bodies = steel(scope)
    height = assembly.scene.spec.rows.band_height
    bands = [
        Pairing(body, band_body(row, max(height, row.plants.height)), row.keep_out_mm - GRAIN_MM)
        for row in rows
        for body in bodies
    ]
    for clearance, verdict in scope.hold(bands, SET).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            rows[0].keep_out_mm,
            "the scene's rows.keep_out",
            _cures(assembly, clearance.parts),
        )
    leafy = [
        r for r in rows if r.plants.canopy_width > 0.0 and r.plants.height > r.plants.lowest_leaf
    ]
    leaves = [
        Pairing(body, canopy_body(row), limits.canopy_clearance) for row in leafy for body in bodies
    ]
    for clearance, verdict in scope.hold(leaves, SET).told(0.0):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limits.canopy_clearance,
            "canopy_clearance",
            _cures(assembly, clearance.parts),
        )


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
