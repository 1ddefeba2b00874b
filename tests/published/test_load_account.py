"""The account of whole rigs against handbook beam cases, published masses and closed volumes.

Beam cases (from memory, as in any handbook of beams): a load in the middle of a simple span has
M = P·L/4 and deflection P·L³/48EI; equal loads on two overhangs of length a have M = P·a between
the hangers, deflection P·a²(2a + 3L)/6EI, and P·a·L²/8EI the other way in the middle.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from meshes_generic.material import density_kg_m3
from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.catalog.kinds import RoundShank
from rigmodel.loads.account import account
from rigmodel.loads.along import AlongBar
from rigmodel.loads.constants import GRAVITY, STEEL_E_MPA, STEEL_G_MPA
from rigmodel.loads.hung import bar_section
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = sorted((Path(__file__).parents[2] / "scenes").glob("*.yaml"))
SCENE = """
name: A bar as in the handbook
units: mm
rows: {{count: 2, spacing: 600, keep_out: 50}}
tractor: {{use: compact-rear, speed_kmh: 5}}
toolbar: {{tube: tube-50x5, length: {length}, height: 500, hangers: [{span}, -{span}]}}
stations:
  - {{use: blade-rigid-50, at: {places}, depth: 30, draft_n: 1000}}
"""
PULL = 1000.0


def rig(length: float, span: float, *places: float) -> Assembly:
    text = SCENE.format(length=length, span=span, places=list(places))
    return assemble(scene_from_text(text))


def along(assembly: Assembly) -> AlongBar:
    found = account(assembly).along
    assert found is not None
    return found


def at(found: AlongBar, values: np.ndarray, place: float) -> float:
    return float(values[np.flatnonzero(np.abs(found.at_mm - place) < 1e-6)[0]])


def test_a_tool_in_the_middle_of_a_span() -> None:
    assembly = rig(1500.0, 600.0, 0.0)
    found, rigid = along(assembly), STEEL_E_MPA * bar_section(assembly).second_moment_mm4
    span = 1200.0
    moment = abs(at(found, found.moment_nm[1], 0.0)) * 1000.0
    assert moment / (PULL * span) == pytest.approx(1.0 / 4.0, rel=1e-3)
    deflection = abs(at(found, found.moved_mm[1], 0.0))
    assert deflection * rigid / (PULL * span**3) == pytest.approx(1.0 / 48.0, rel=1e-3)
    assert np.abs(found.shear_n[1]).max() / PULL == pytest.approx(1.0 / 2.0, rel=1e-3)


def test_tools_on_two_overhangs() -> None:
    span, over = 700.0, 500.0
    assembly = rig(2000.0, span / 2.0, span / 2.0 + over, -span / 2.0 - over)
    found, rigid = along(assembly), STEEL_E_MPA * bar_section(assembly).second_moment_mm4
    for place in (0.0, span / 2.0 - 1e-9):
        k = int(np.abs(found.at_mm - place).argmin())
        moment = abs(float(found.moment_nm[1][k])) * 1000.0
        assert moment / (PULL * over) == pytest.approx(1.0, rel=1e-3)
    tip = at(found, found.moved_mm[1], span / 2.0 + over)
    middle = at(found, found.moved_mm[1], 0.0)
    share = abs(tip) * rigid / (PULL * over**2 * (2.0 * over + 3.0 * span))
    assert share == pytest.approx(1.0 / 6.0, rel=1e-3)
    assert abs(middle) * rigid / (PULL * over * span**2) == pytest.approx(1.0 / 8.0, rel=1e-3)
    assert tip * middle < 0.0


def test_a_torque_goes_to_the_hangers_by_the_levers() -> None:
    """By hand: draft at half the depth under the bar turns it one way, weight behind it the other.

    A torque T at a and b from the hangers of a span L gives them T·b/L and T·a/L, and turns the bar
    there by T·a·b/(L·GJ).
    """
    assembly = rig(1500.0, 600.0, 0.0)
    told, found = account(assembly), along(assembly)
    ((name, station),) = told.stations.items()
    behind = float(told.parts["bar"].centroid_mm[0] - station.centroid_mm[0])
    assert behind > 0.0
    torque = (PULL * (500.0 + 15.0) - station.mass_kg * GRAVITY * behind) / 1000.0
    place = assembly.station[name].place_mm
    left, right = 600.0 - place, 600.0 + place
    shares = [-hanger.torque_nm for hanger in told.hangers]
    assert shares == pytest.approx([torque * right / 1200.0, torque * left / 1200.0], rel=1e-9)
    twist = math.radians(float(np.abs(found.turned_deg).max()))
    rigid = STEEL_G_MPA * bar_section(assembly).torsion_mm4
    by_hand = torque * 1000.0 * left * right / (1200.0 * rigid)
    assert twist == pytest.approx(by_hand, rel=1e-9)


def test_a_bar_weighs_what_its_standard_says() -> None:
    """EN 10219-2: 50 x 50 x 5 weighs 6.56 kg/m (from memory)."""
    assembly = rig(2000.0, 600.0, 0.0)
    assert account(assembly).bar_kg == pytest.approx(2.0 * 6.56, rel=2e-3)


@pytest.mark.parametrize("path", SCENES, ids=lambda p: p.stem)
def test_round_stems_weigh_their_closed_form(path: Path) -> None:
    """A round tube: π/4 (D² - d²) L times steel's density."""
    assembly = assemble(load_scene(path))
    found = account(assembly)
    for part in assembly.rig_parts():
        entry = assembly.scene.catalogue.parts.get(part.item)
        if isinstance(entry, RoundShank):
            inner = entry.diameter - 2.0 * entry.wall
            volume = math.pi / 4.0 * (entry.diameter**2 - inner**2) * entry.length
            assert found.parts[part.name].mass_kg == pytest.approx(volume * 7850e-9, rel=1e-9)


def test_parts_that_are_solid_all_through_agree_with_trimesh() -> None:
    """Mass and centre of every such part by an independent library, from fine meshes of it."""
    assembly = assemble(load_scene(next(p for p in SCENES if p.stem == "weights-and-forces")))
    found = account(assembly)
    seen: set[str] = set()
    for part in assembly.rig_parts():
        solid = assembly.at_work(part)
        if solid.mass is not None or any(piece.own_mass is not None for piece in solid.pieces):
            continue
        seen.add(part.role.value)
        mass, first = 0.0, np.zeros(3)
        for piece in solid.pieces:
            mesh = trimesh.convex.convex_hull(np.asarray(piece.mesh(512).vertices))
            one = mesh.volume * density_kg_m3(piece.material) * 1e-9
            mass, first = mass + one, first + one * mesh.center_mass
        body = found.parts[part.name]
        assert body.mass_kg == pytest.approx(mass, rel=1e-4)
        assert body.centroid_mm == pytest.approx(first / mass, abs=0.01)
    assert {"shank", "clamp", "holder"} <= seen
