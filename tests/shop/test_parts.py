"""The parts list against the assembly it is made from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
import trimesh

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import walk
from rigmodel.shop.items import items
from rigmodel.shop.parts import GROUPS, parts_list
from rigmodel.shop.prices import Price
from rigmodel.spec.load import load_scene


def test_every_solid_is_weighed_once(any_rig: Assembly) -> None:
    whole = sum(part.solid.mass_properties().mass_kg for part in any_rig.rig_parts())
    assert parts_list(any_rig).total_kg == pytest.approx(whole)


def test_every_node_of_every_station_is_one_item(any_rig: Assembly) -> None:
    """A sub-assembly's nodes and its clamp, a cross tube where there is a rank, bar and struts."""
    wanted = 1 + 2 * len(any_rig.struts)
    for station in any_rig.stations:
        planned = next(p for p in any_rig.scene.stations if p.index == station.index)
        wanted += len(list(walk(planned.unit.tool))) + (2 if station.rank_mm else 1)
    found = items(any_rig)
    assert len(found) == wanted
    assert len({item.name for item in found}) == wanted
    assert sum(line.count for line in parts_list(any_rig).lines) == wanted


def test_names_on_the_list_are_parts_of_the_rig(any_rig: Assembly) -> None:
    for line in parts_list(any_rig).lines:
        assert len(line.names) == line.count
        assert all(name in any_rig.mechanism.part_index for name in line.names)


def test_tractor_and_tyres_are_not_on_the_list(any_rig: Assembly) -> None:
    assert not {item.role for item in items(any_rig)} & {Role.TRACTOR, Role.TYRE, Role.AXLE}


def test_lines_stand_in_the_order_they_are_picked(any_rig: Assembly) -> None:
    groups = [line.group for line in parts_list(any_rig).lines]
    order = list(GROUPS.values())
    assert groups == sorted(groups, key=order.index)


def test_the_bar_is_as_long_as_the_scene_says(any_rig: Assembly) -> None:
    bar = items(any_rig)[0]
    assert bar.name == "bar"
    assert bar.length_mm == pytest.approx(any_rig.scene.spec.toolbar.length)


def test_cross_tubes_are_as_long_as_their_solids(belly: Assembly) -> None:
    tubes = [item for item in items(belly) if item.role is Role.TUBE]
    assert tubes
    for tube in tubes:
        low, high = belly.mechanism.part(tube.name).solid.extent((1.0, 0.0, 0.0))
        assert tube.length_mm == pytest.approx(high - low)


def test_what_a_part_is_fixed_to(belly: Assembly) -> None:
    """The chain from the bar down, with a cross tube and without one."""
    known = {item.name: item for item in items(belly)}

    def on(name: str) -> str:
        found = known[name].on
        return found.kind if found is not None else ""

    assert on("bar") == ""
    assert on("row1.left.finger_wheel_clamp") == "square-tube"
    assert on("row1.left.finger_wheel_arm") == "bar-clamp"
    assert on("row2.left.finger_wheel_clamp") == "square-tube"
    assert on("row2.left.finger_wheel_tube") == "tee-clamp"
    assert on("row2.left.finger_wheel_arm") == "square-tube"
    assert on("gap1.blade_shank") == "spring-holder"
    assert on("gap1.blade") == "flat-shank"


def test_a_bar_of_the_scenes_own_sizes_has_an_id(
    built: Callable[[str, str], Assembly],
) -> None:
    rig = built("tube: tube-2x1-4", "size: 2, wall: 1/4")
    line = parts_list(rig).lines[0]
    assert (line.part_id, line.group) == ("bar", "Toolbar")
    assert "2 in square tube, 1/4 in wall, 72 in long" in line.size


def test_left_and_right_blades_are_told_apart(built: Callable[[str, str], Assembly]) -> None:
    """A one-sided blade is not its own mirror image; one on each side of a row makes two lines."""
    old = "  - {use: blade-spring, at: gaps, depth: 1, hand: [right, left]}\n"
    new = "  - {use: half-blade-rigid, at: rows, only: [1], name: x, depth: 1}\n"
    lines = [ln for ln in parts_list(built(old, new)).lines if ln.part_id == "half-blade-4"]
    assert Counter({line.what.rsplit(", ", 1)[1]: line.count for line in lines}) == {
        "left hand": 1,
        "right hand": 1,
    }
    for line in lines:
        for name in line.names:
            assert (".left." in name) == ("left hand" in line.what)


def test_a_part_from_a_mesh_file_has_its_size_mass_and_hand(
    written: Callable[[str], Path], demo: str, tmp_path: Path
) -> None:
    """A wedge of 40 x 20 x 60 mm: 24 cm3 of steel of 7.85 g/cm3, once on each hand."""
    wedge = trimesh.convex.convex_hull(
        [(x, y, z) for x in (-40, 0) for y, z in ((-10, -30), (10, -30), (-10, 30))]
    )
    wedge.export(tmp_path / "wedge.stl")
    part = "{kind: mesh, file: wedge.stl, unit: mm, up: z, material: steel, role: blade}"
    text = demo.replace("stations:\n", f"parts:\n  wedge: {part}\nstations:\n")
    text = text.replace("hand: [right, left]}", "hand: [right, left], swap: {blade: wedge}}")
    lines = parts_list(assemble(load_scene(written(text)))).lines
    wedges = [line for line in lines if line.part_id == "wedge"]
    assert sorted((line.what, line.count) for line in wedges) == [
        ("From a mesh file", 1),
        ("From a mesh file, mirror image of its file", 1),
    ]
    for line in wedges:
        assert line.mass_kg == pytest.approx(0.1884)
        assert line.size == "1 9/16 in × 13/16 in (0.79) × 2 3/8 in over all"


def test_without_prices_nothing_is_priced(belly: Assembly) -> None:
    parts = parts_list(belly)
    assert not parts.priced
    assert all(line.price is None for line in parts.lines)


def test_the_total_counts_what_has_a_price(belly: Assembly) -> None:
    prices = {
        "blade-10": Price(Decimal("19.50")),
        "tube-2x1-4": Price(Decimal("3.00"), "ft"),
        "not-on-this-rig": Price(Decimal(1000)),
    }
    parts = parts_list(belly, prices)
    assert parts.total_price == Decimal("19.50") * 4 + Decimal("18.00")  # 72 in of tube are 6 ft
    assert "bar-clamp-2" in parts.without_price
    assert "blade-10" not in parts.without_price
