"""Every part family: closed pieces that share no volume, exact datums and sizes, refusals."""

from __future__ import annotations

import inspect
import itertools
import math
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import manifold3d
import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from meshes_generic import (
    Material,
    RoundedDisc,
    arm,
    blade,
    bracket,
    clamp,
    finger_wheel,
    frame,
    ground,
    holder,
    plant,
    shank,
    tube,
    tyre,
)
from meshes_generic.building import rod
from meshes_generic.solid import Solid
from meshes_generic.transform import roll_pitch_yaw, translation

# Sizes in mm as one might meet them; common practice, no source.
BRACKET = dict(width=80, height=100, thickness=10, pivot_back=90, pin_diameter=20)
SLOT = dict(slot_x=40, slot_y=12, wall=8, height=80)
TANG = dict(thickness=6, tang_height=150, tang_thickness=10, tang_length=50)
PARTS: dict[str, tuple[Callable[..., Solid], dict[str, Any]]] = {
    "square_tube": (tube.square_tube, dict(size=63.5, wall=6.35, length=2000)),
    "bar_clamp": (
        clamp.bar_clamp,
        dict(tube_size=63.5, width=90, plate_thickness=12, plate_height=120, bolt_diameter=16),
    ),
    "tee_clamp": (
        clamp.tee_clamp,
        dict(bar_size=63.5, cross_size=50, plate_thickness=10, plate_width=120, bolt_diameter=16),
    ),
    "strut_clamp": (
        clamp.strut_clamp,
        dict(
            tube_size=63.5,
            width=90,
            plate_thickness=12,
            plate_depth=120,
            bolt_diameter=16,
            lug_thickness=12,
            pin_up=40,
            pin_diameter=16,
        ),
    ),
    "rigid_holder": (holder.rigid_holder, SLOT | dict(bolt_diameter=12)),
    "spring_bracket": (holder.spring_bracket, BRACKET | dict(pivot_up=30)),
    "spring_body": (
        holder.spring_body,
        SLOT | dict(drop=90, spring_diameter=40, spring_length=120),
    ),
    "arm_bracket": (arm.arm_bracket, BRACKET | dict(pivot_drop=80)),
    "arm_body": (
        arm.arm_body,
        dict(length=500, depth=60, width=40, spring_diameter=40, spring_length=200),
    ),
    "straight_shank": (
        shank.flat_shank,
        dict(width=40, thickness=12, length=600, crank=0, crank_low=0, crank_height=0),
    ),
    "cranked_shank": (
        shank.flat_shank,
        dict(width=40, thickness=12, length=600, crank=50, crank_low=100, crank_height=80),
    ),
    "crank_at_foot": (
        shank.flat_shank,
        dict(width=40, thickness=12, length=600, crank=-50, crank_low=0, crank_height=600),
    ),
    "round_shank": (shank.round_shank, dict(diameter=30, wall=4, length=500)),
    "retaining_clip": (shank.retaining_clip, dict(width=40, thickness=6, bolt_diameter=10)),
    "a_blade": (blade.a_blade, TANG | dict(width=200, length=60, sweep_deg=35)),
    "half_blade": (blade.half_blade, TANG | dict(width=100, length=60, sweep_deg=35)),
    "square_half_blade": (blade.half_blade, TANG | dict(width=100, length=60, sweep_deg=0)),
    "point": (blade.point, TANG | dict(width=40, length=120)),
    "finger_wheel": (
        finger_wheel.finger_wheel,
        dict(
            diameter=370,
            finger_length=110,
            finger_thickness=20,
            driver_diameter=200,
            driver_thickness=6,
            tine_length=40,
            hub_diameter=80,
            hub_height=50,
        ),
    ),
    "axle": (finger_wheel.axle, dict(diameter=30, length=60)),
    "tyre": (tyre.tyre, dict(diameter=1200, width=300)),
    "canopy": (plant.canopy, dict(width=100, low=50, high=200, length=1000)),
    "stem": (plant.stem, dict(diameter=8, height=60)),
    "stem_strip": (plant.stem_strip, dict(width=20, height=60, length=900)),
    "flat": (ground.flat, dict(length=3000, width=2000, depth=300)),
    "bed": (ground.bed, dict(top_width=900, base_width=1200, height=150, length=3000)),
    "block": (frame.block, dict(size=(900, 400, 300))),
}


def make(name):
    """The sample part of that name."""
    builder, sizes = PARTS[name]
    return builder(**sizes)


every_part = pytest.mark.parametrize("name", PARTS)


def _manifold(mesh):
    """The mesh as an exact boolean body; its oracle refuses anything but a closed surface."""
    body = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(mesh.vertices), np.array(mesh.faces, np.uint64))
    )
    assert body.status() == manifold3d.Error.NoError
    assert body.volume() > 0
    return body


@every_part
def test_every_piece_is_a_closed_convex_body_facing_outwards(name):
    for piece in make(name).pieces:
        mesh = piece.mesh(24)
        body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
        assert body.is_watertight, piece.label
        assert body.is_winding_consistent, piece.label
        assert body.is_convex, piece.label
        assert body.volume > 0, piece.label
        assert piece.label


@every_part
@pytest.mark.parametrize("hand", ["left", "right"])
def test_pieces_share_no_volume(name, hand):
    solid = make(name) if hand == "left" else make(name).mirrored_y()
    bodies = [_manifold(piece.mesh(24)) for piece in solid.pieces]
    for (i, one), (j, two) in itertools.combinations(enumerate(bodies), 2):
        labels = (solid.pieces[i].label, solid.pieces[j].label)
        assert (one ^ two).volume() <= 1e-6 * min(one.volume(), two.volume()), labels


@every_part
def test_bounds_equal_the_mesh_and_a_mirror_image_swaps_sides(name):
    solid = make(name)
    vertices = solid.mesh(48).vertices
    assert_allclose(solid.bounds(), (vertices.min(axis=0), vertices.max(axis=0)), atol=1e-9)
    (left_low, left_high), (right_low, right_high) = solid.bounds(), solid.mirrored_y().bounds()
    assert_allclose((right_low[1], right_high[1]), (-left_high[1], -left_low[1]), atol=1e-9)
    mirrored = solid.mirrored_y()
    assert mirrored.volume_mm3 == pytest.approx(solid.volume_mm3)
    mesh = mirrored.mesh(24)
    assert trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).volume > 0


@every_part
def test_mass_moves_with_the_part_and_its_centroid_lies_within_it(name):
    solid = make(name)
    mass = solid.mass_properties()
    low, high = solid.bounds()
    assert ((low <= mass.centroid_mm) & (mass.centroid_mm <= high)).all() or mass.mass_kg == 0
    place = translation(100, -200, 300) @ roll_pitch_yaw(10, 20, 30)
    moved = solid.moved(place).mass_properties()
    assert moved.mass_kg == pytest.approx(mass.mass_kg)
    assert_allclose(moved.centroid_mm, mass.moved(place).centroid_mm, atol=1e-6)
    principal = np.linalg.eigvalsh(mass.inertia_kg_mm2)
    # A real body's principal moments are positive and obey the triangle inequality.
    assert mass.mass_kg == 0 or principal[0] > 0
    assert principal[2] <= principal[0] + principal[1] + 1e-9 * principal[2]


@every_part
def test_filled_pieces_weigh_no_more_than_if_they_were_solid(name):
    for piece in make(name).pieces:
        full = piece.shape.mass_properties(7850 if piece.material is Material.STEEL else 1150)
        assert 0 <= piece.mass_properties().mass_kg <= full.mass_kg * (1 + 1e-9)


@every_part
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -5.0, 0.0])
def test_every_impossible_size_is_refused_with_a_reason(name, bad):
    builder, sizes = PARTS[name]
    # Zero or below means something for these: no crank, a pivot level with or past the middle of
    # its plate, a square edge, leaves down to the soil.
    signed = {"crank", "crank_low", "crank_height", "pivot_up", "pivot_drop", "sweep_deg", "low"}
    for key, value in sizes.items():
        if key in signed and (name == "straight_shank" or math.isfinite(bad)):
            continue
        wrong = (bad, *value[1:]) if isinstance(value, tuple) else bad
        if key == "wall" and bad == math.inf and name == "round_shank":
            wrong = -bad
        with pytest.raises(ValueError, match=r"must|rod"):
            builder(**(sizes | {key: wrong}))


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("bar_clamp", {"width": 75}),
        ("bar_clamp", {"plate_height": 95}),
        ("tee_clamp", {"plate_width": 95}),
        ("strut_clamp", {"pin_up": 15}),
        ("strut_clamp", {"pin_diameter": 31}),
        ("spring_bracket", {"width": 29}),
        ("spring_bracket", {"height": 39}),
        ("spring_bracket", {"pivot_back": 19}),
        ("spring_body", {"drop": 39}),
        ("arm_body", {"spring_length": 501}),
        ("cranked_shank", {"length": 179}),
        ("cranked_shank", {"crank_low": -1}),
        ("cranked_shank", {"crank_height": 0}),
        ("a_blade", {"sweep_deg": 85}),
        ("a_blade", {"sweep_deg": -1}),
        ("a_blade", {"tang_height": 5}),
        ("point", {"width": 240}),
        ("finger_wheel", {"finger_length": 185}),
        ("finger_wheel", {"finger_length": 9}),
        ("canopy", {"low": 200}),
    ],
)
def test_parts_that_cannot_be_made_are_refused(name, change):
    builder, sizes = PARTS[name]
    with pytest.raises(ValueError, match="must"):
        builder(**(sizes | change))


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("square_tube", (-31.75, -1000, -31.75), (31.75, 1000, 31.75)),
        # Nut ends 1.2 x 16 behind the plate; the rod is 16 in front of the bar.
        ("bar_clamp", (-31.75 - 12 - 19.2, -45, -60), (31.75 + 16, 45, 60)),
        # One rod under the bar; the lug one and a half pins over the middle of its pin.
        ("strut_clamp", (-60, -45, -31.75 - 16), (60, 45, 31.75 + 12 + 40 + 24)),
        ("tee_clamp", (-60, -60, -31.75 - 10 - 50 - 16), (60, 60, 31.75 + 16)),
        # Two walls, the slot and the set bolt's head of 1.5 x 12.
        ("rigid_holder", (-56 - 18, -14, -40), (0, 14, 40)),
        ("spring_bracket", (-110, -40, -50), (0, 40, 50)),
        ("spring_body", (-28 - 120, -20, -130), (28, 20, 20)),
        ("arm_body", (-500, -20, -30), (0, 20, 70)),
        ("straight_shank", (-20, -6, 0), (20, 6, 600)),
        ("cranked_shank", (-20, -6, 0), (20, 56, 600)),
        ("crank_at_foot", (-20, -56, 0), (20, 6, 600)),
        ("round_shank", (-15, -15, 0), (15, 15, 500)),
        ("retaining_clip", (-20, -15, 0), (20, 15, 13)),
        ("a_blade", (-30 - 100 * math.tan(math.radians(35)), -100, 0), (30, 100, 150)),
        ("half_blade", (-30 - 100 * math.tan(math.radians(35)), -5, 0), (30, 100, 150)),
        ("point", (-60, -20, 0), (60, 20, 150)),
        ("finger_wheel", (-185, -185, -50), (185, 185, 66)),
        ("axle", (-15, -15, -60), (15, 15, 0)),
        ("tyre", (-600, -150, -600), (600, 150, 600)),
        ("canopy", (-500, -50, 50), (500, 50, 200)),
        ("stem", (-4, -4, 0), (4, 4, 60)),
        ("stem_strip", (-450, -10, 0), (450, 10, 60)),
        ("flat", (-1500, -1000, -300), (1500, 1000, 0)),
        ("bed", (-1500, -600, -150), (1500, 600, 0)),
        ("block", (-450, -200, -150), (450, 200, 150)),
    ],
)
def test_parts_sit_on_their_datum_with_their_stated_size(name, low, high):
    assert_allclose(make(name).bounds(), (low, high), atol=1e-9)


def _labelled(solid, label):
    return [piece for piece in solid.pieces if piece.label == label]


@pytest.mark.parametrize(
    ("name", "place"), [("spring_bracket", (-90, 0, 30)), ("arm_bracket", (-90, 0, -80))]
)
def test_a_bracket_holds_its_pin_where_it_says(name, place):
    (pin,) = _labelled(make(name), "pivot pin")
    assert_allclose(pin.placement[:3, 3], place, atol=1e-12)
    assert_allclose(np.abs(pin.placement[:3, 2]), (0, 1, 0), atol=1e-12)
    for cheek in _labelled(make(name), "cheek"):
        # The pin's line meets each cheek's middle plane within its height.
        along = np.array([(-90.0, cheek.placement[1, 3], place[2])])
        local = along - cheek.placement[:3, 3]
        directions = np.random.default_rng(3).normal(size=(50, 3))
        assert (directions @ local[0] <= cheek.shape.support(directions)).all()


def test_a_bracket_with_its_pivot_level_has_level_cheeks():
    solid = bracket.pivot_bracket(80, 100, 10, 90, 0, 20)
    low, high = solid.bounds()
    assert_allclose((low[2], high[2]), (-50, 50))


@pytest.mark.parametrize("name", ["bar_clamp", "strut_clamp"])
def test_a_clamp_goes_round_its_bar_without_entering_it(name):
    bar = _manifold(tube.square_tube(63.5, 6.35, 300).mesh())
    for piece in make(name).pieces:
        assert (bar ^ _manifold(piece.mesh(24))).volume() <= 1e-6, piece.label
    assert len(_labelled(make(name), "nut")) == 4


def test_a_strut_clamp_holds_its_pin_where_it_says():
    """It shows on both sides of the lug, lies fore and aft, and is as long as the bar is wide."""
    pins = _labelled(make("strut_clamp"), "pin")
    for pin, x in zip(pins, (-1, 1), strict=True):
        assert_allclose(pin.placement[:3, 3], (x * (12 + 63.5) / 4, 0, 31.75 + 12 + 40), atol=1e-12)
        assert_allclose(np.abs(pin.placement[:3, 2]), (1, 0, 0), atol=1e-12)


def test_tee_clamp_goes_round_both_tubes_without_entering_them():
    drop = clamp.tee_drop(63.5, 50, 10)
    assert drop == 31.75 + 10 + 25
    lying = roll_pitch_yaw(0, 0, 90)
    bar = tube.square_tube(63.5, 6.35, 300)
    cross = tube.square_tube(50, 5, 300).moved(translation(0, 0, -drop) @ lying)
    for tube_body in (_manifold(bar.mesh()), _manifold(cross.mesh())):
        for piece in make("tee_clamp").pieces:
            assert (tube_body ^ _manifold(piece.mesh(24))).volume() <= 1e-6, piece.label


@settings(max_examples=30, deadline=None)
@given(st.floats(5, 80), st.floats(5, 80), st.floats(2, 20), st.floats(20, 200))
def test_a_shank_fits_its_slot_for_any_size(slot_x, slot_y, wall, height):
    solid = holder.rigid_holder(slot_x, slot_y, wall, height, 12)
    setback = holder.slot_setback(slot_x, wall)
    bar = shank.flat_shank(slot_x, slot_y, 400, 0, 0, 0).moved(translation(-setback, 0, -200))
    inside = _manifold(bar.mesh())
    for piece in solid.pieces:
        assert (inside ^ _manifold(piece.mesh(8))).volume() <= 1e-6, piece.label


@settings(max_examples=30, deadline=None)
@given(st.floats(-300, 300).filter(lambda c: abs(c) > 1e-3), st.floats(0, 200), st.floats(1, 200))
def test_a_cranked_shank_is_one_bar_of_constant_section(crank, low, height):
    solid = shank.flat_shank(40, 12, 500, crank, low, height)
    # Its level section is the same at every height, so its volume is section times length.
    assert solid.volume_mm3 == pytest.approx(40 * 12 * 500)
    assert solid.mass_properties().mass_kg == pytest.approx(40 * 12 * 500 * 7850e-9)
    feet = [piece for piece in solid.pieces if piece.label == "shank foot"]
    if feet:
        assert_allclose(feet[0].placement[:2, 3], (0, crank))


@settings(max_examples=30, deadline=None)
@given(st.floats(30, 600), st.floats(20, 150), st.floats(0, 75))
def test_a_blade_is_exactly_as_wide_as_asked_and_as_long(width, length, sweep):
    low, high = blade.a_blade(width, length, 6, sweep, 150, 10, 50).bounds()
    assert high[1] == pytest.approx(width / 2)
    assert low[1] == pytest.approx(-width / 2)
    assert high[0] == pytest.approx(max(length / 2, 25))
    left = blade.half_blade(width, length, 6, sweep, 150, 10, 50)
    right = left.mirrored_y()
    assert left.bounds()[1, 1] == pytest.approx(width)
    assert right.bounds()[0, 1] == pytest.approx(-width)


def test_wing_mass_is_its_plan_area_times_thickness():
    mass = make("half_blade").mass_properties().mass_kg
    assert mass == pytest.approx((100 * 60 * 6 + 50 * 10 * 144) * 7850e-9)


def test_finger_wheel_layers_from_the_tines_to_the_hub():
    solid = make("finger_wheel")
    levels = [piece.label for piece in sorted(solid.pieces, key=lambda p: p.placement[2, 3])]
    assert levels == ["tines", "fingers", "driver plate", "hub"]
    assert solid.bounds()[1, 2] == finger_wheel.hub_top(20, 6, 50) == 66
    steel = solid.without_flexible()
    assert {piece.material for piece in steel.pieces} == {Material.STEEL}
    assert_allclose(steel.bounds()[:, 0], (-100, 100))


def test_fingers_weigh_as_an_annulus():
    ring = make("finger_wheel").of(Material.RUBBER).mass_properties()
    full = RoundedDisc(185, 20).volume_mm3
    assert ring.mass_kg == pytest.approx((full - math.pi * 75**2 * 20) * 1150e-9)


@pytest.mark.parametrize("material", [Material.RUBBER, Material.POLYURETHANE])
def test_fingers_take_the_material_asked_for(material):
    builder, sizes = PARTS["finger_wheel"]
    fingers = builder(**sizes, material=material).of(material)
    assert fingers is not None
    assert fingers.pieces[0].label == "fingers"


def test_round_shank_weighs_as_a_tube_and_a_thick_wall_as_a_bar():
    area = math.pi * (15**2 - 11**2)
    assert make("round_shank").mass_properties().mass_kg == pytest.approx(area * 500 * 7850e-9)
    bar = shank.round_shank(30, 15, 500).mass_properties()
    assert bar.mass_kg == pytest.approx(math.pi * 225 * 500 * 7850e-9)
    # Hollow round bar about its axis: m (R2 + r2)/2, from memory.
    tube_mass = make("round_shank").mass_properties()
    expected = tube_mass.mass_kg * (15**2 + 11**2) / 2
    assert tube_mass.inertia_kg_mm2[2, 2] == pytest.approx(expected)


@pytest.mark.parametrize("name", ["tyre", "canopy", "stem", "stem_strip", "flat", "bed", "block"])
def test_what_is_not_the_rig_claims_no_mass(name):
    assert make(name).mass_properties().mass_kg == 0.0


@pytest.mark.parametrize(
    ("start", "end"), [((0, 0, 0), (1, 1, 0)), ((0, 0, 0), (0, 0, 0)), ((1, 2, 3), (4, 5, 6))]
)
def test_a_rod_lies_along_one_axis(start, end):
    with pytest.raises(ValueError, match="along x, y or z"):
        rod(start, end, 10, "rod")


def test_every_public_part_maker_is_tested_here():
    modules = (arm, blade, bracket, clamp, finger_wheel, frame, ground, holder, plant, shank)
    makers = {
        function
        for module in (*modules, tube, tyre)
        for _, function in inspect.getmembers(module, inspect.isfunction)
        if function.__module__ == module.__name__
        and function.__annotations__.get("return") == "Solid"
        and not function.__name__.startswith("_")
    }
    assert makers - {builder for builder, _ in PARTS.values()} == {bracket.pivot_bracket}


def test_building_and_weighing_parts_needs_no_slow_imports():
    code = (
        "import sys; from meshes_generic import shank, blade, holder;"
        "shank.flat_shank(40, 12, 600, 50, 100, 80).mass_properties();"
        "blade.a_blade(200, 60, 6, 35, 150, 10, 50).moved(__import__('numpy').eye(4)).bounds();"
        "holder.spring_bracket(80, 100, 10, 90, 30, 20).mass_properties();"
        "sys.exit(any(name.split('.')[0] in ('scipy', 'trimesh') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
