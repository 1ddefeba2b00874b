"""The built-in catalogue goes together, and a user's file extends it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TypeVar

import pytest

from meshes_generic.building import NUT_RADIUS
from rigmodel.assembly.build import assemble
from rigmodel.assembly.fittings import Mounting, fit
from rigmodel.assembly.model import JointKind, Role
from rigmodel.catalog.kinds import (
    ABlade,
    AnyPart,
    BarClamp,
    FingerWheel,
    FlatShank,
    HalfBlade,
    Node,
    Point,
    RigidHolder,
    RoundShank,
    SpringHolder,
    SquareTube,
    SubAssembly,
    TeeClamp,
    TrailingArm,
    walk,
)
from rigmodel.catalog.store import DATA, builtin_catalogue, read_catalogue_file
from rigmodel.catalog.strut_clamp import StrutClamp
from rigmodel.errors import InputError
from rigmodel.spec.load import scene_from_text

IN = 25.4
CATALOGUE = builtin_catalogue()
PARTS = CATALOGUE.parts
FILES = sorted(DATA.glob("*.yaml"))
FARTHEST_MM = 1500.0  # beyond any part: catches a slip of the unit
Kind = TypeVar("Kind", bound=object)

SCENE = """\
name: one tool
units: in
rows: {{count: 2, spacing: 30, keep_out: 2}}
tractor: {{use: {tractor}}}
toolbar: {{tube: {tube}, length: 60, height: 20}}
stations:
  - {{use: {unit}, at: [0], sides: one, depth: 1, rank: {rank}}}
"""


def of(kind: type[Kind]) -> dict[str, Kind]:
    return {name: part for name, part in PARTS.items() if isinstance(part, kind)}


def pairs(unit: SubAssembly) -> Iterator[tuple[Node, Node]]:
    """Every part of a sub-assembly with each part that it carries."""
    for node in walk(unit.tool):
        for child in node.carries:
            yield node, child


def section(shank: FlatShank | RoundShank) -> tuple[float, float]:
    if isinstance(shank, FlatShank):
        return shank.width, shank.thickness
    return shank.diameter, shank.diameter


def goes_in(shank: FlatShank | RoundShank, holder: RigidHolder | SpringHolder) -> bool:
    """The slot takes the shank with less than 1/8 in of play."""
    slots = (holder.slot_x, holder.slot_y)
    return all(s <= slot < s + IN / 8 for s, slot in zip(section(shank), slots, strict=True))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_file_says_what_it_holds_and_its_unit(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("# ")
    assert "units: in" in lines


def test_no_id_stands_in_two_files() -> None:
    files = [read_catalogue_file(path) for path in FILES]
    assert sum(len(file.parts) for file in files) == len(PARTS)
    assert sum(len(file.tyres) for file in files) == len(CATALOGUE.tyres)


def test_the_files_are_the_nine_kinds() -> None:
    assert {path.stem for path in FILES} == {
        *("tubes", "clamps", "holders", "shanks", "blades", "finger_wheels"),
        *("tyres", "tractors", "assemblies"),
    }


@pytest.mark.parametrize("name", PARTS)
def test_every_part_can_be_built(name: str) -> None:
    part = PARTS[name]
    built = fit(part, Mounting(slot_height=50.0, end_mm=10.0, side_mm=6.0, length_mm=500.0))
    for fitted in built.solids:
        assert 0.0 < fitted.solid.mass_properties().mass_kg < 50.0
        assert abs(fitted.solid.bounds()).max() < FARTHEST_MM
    assert part.summary


@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_every_reference_of_an_assembly_resolves(name: str) -> None:
    unit = CATALOGUE.assemblies[name]
    mount = PARTS[unit.mount]
    assert isinstance(mount, BarClamp)
    nodes = list(walk(unit.tool))
    assert {node.part for node in nodes} <= set(PARTS)
    assert len({node.name for node in nodes}) == len(nodes)
    tools = ABlade | HalfBlade | Point | FingerWheel
    assert sum(isinstance(PARTS[node.part], tools) for node in nodes) == 1
    assert unit.rank_mount is not None
    tee, tube = PARTS[unit.rank_mount.clamp], PARTS[unit.rank_mount.tube]
    assert isinstance(tee, TeeClamp)
    assert isinstance(tube, SquareTube)
    assert tee.fits == mount.fits
    assert tee.cross_fits == tube.size
    assert tube.hole_pitch is not None


@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_every_socket_named_is_there(name: str) -> None:
    for node, child in pairs(CATALOGUE.assemblies[name]):
        sockets = fit(PARTS[node.part], Mounting(slot_height=50.0, end_mm=10.0)).sockets
        assert child.socket is None or child.socket in sockets
        assert sockets


@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_shanks_fit_the_slots_they_hang_in(name: str) -> None:
    held = [
        (PARTS[child.part], holder)
        for node, child in pairs(CATALOGUE.assemblies[name])
        if isinstance(holder := PARTS[node.part], RigidHolder | SpringHolder)
    ]
    assert held
    for shank, holder in held:
        assert isinstance(shank, FlatShank | RoundShank)
        assert goes_in(shank, holder)


def test_every_shank_has_a_holder_and_every_holder_a_shank() -> None:
    shanks = of(FlatShank) | of(RoundShank)
    holders = of(RigidHolder) | of(SpringHolder)
    for name, shank in shanks.items():
        assert any(goes_in(shank, holder) for holder in holders.values()), name
    for name, holder in holders.items():
        assert any(goes_in(shank, holder) for shank in shanks.values()), name


def test_every_clamp_has_a_tube_of_its_size() -> None:
    sizes = {tube.size for tube in of(SquareTube).values()}
    for clamp in of(BarClamp).values():
        assert clamp.fits in sizes
    for tee in of(TeeClamp).values():
        assert {tee.fits, tee.cross_fits} <= sizes


def test_bars_with_a_clamp_of_their_own() -> None:
    wanted = [50.0, 2.0 * IN, 2.5 * IN, 3.0 * IN]
    assert sorted(clamp.fits for clamp in of(BarClamp).values()) == pytest.approx(wanted)
    assert sorted({tee.fits for tee in of(TeeClamp).values()}) == pytest.approx(wanted)
    assert sorted(clamp.fits for clamp in of(StrutClamp).values()) == pytest.approx(wanted)


def test_tubes_plain_and_perforated_come_in_the_common_sizes() -> None:
    sizes = sorted({tube.size for tube in of(SquareTube).values()})
    common = sorted([1.5 * IN, 2.0 * IN, 2.5 * IN, 3.0 * IN, 50.0, 60.0, 80.0])
    assert sizes == pytest.approx(common)
    pitches = {t.size: t.hole_pitch for t in of(SquareTube).values() if t.hole_pitch}
    assert pitches[2.0 * IN] == IN
    assert pitches[50.0] == 50.0


def test_a_tubes_id_says_its_size_and_wall() -> None:
    for name, tube in of(SquareTube).items():
        assert name.endswith("-perforated") == (tube.hole_pitch is not None)
        metric = tube.size in (50.0, 60.0, 80.0)
        shown = f"tube-{tube.size:g}x{tube.wall:g}" if metric else "tube-"
        assert name.startswith(shown)
        assert 0.0 < tube.wall < tube.size / 4.0


def _height_across(part: AnyPart) -> tuple[float, float] | None:
    """Height and width at the mounting face of what bolts to a clamp's plate."""
    if isinstance(part, SpringHolder | TrailingArm):
        return part.bracket_height, part.bracket_width
    if isinstance(part, RigidHolder):
        return part.height, part.slot_y + 2.0 * part.wall
    return None


@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_what_bolts_to_a_clamp_stands_between_its_nuts(name: str) -> None:
    unit = CATALOGUE.assemblies[name]
    mount = PARTS[unit.mount]
    assert isinstance(mount, BarClamp)
    size = _height_across(PARTS[unit.tool.part])
    assert size is not None
    d = mount.bolt_diameter
    room_up = mount.fits + d - 2.0 * NUT_RADIUS * d
    room_across = mount.width - 3.0 * d - 2.0 * NUT_RADIUS * d
    shift = abs(unit.tool.offset[1])
    assert size[0] < room_up or size[1] + 2.0 * shift < room_across


def test_blades_cover_four_to_ten_inches() -> None:
    widths = sorted(blade.width / IN for blade in of(ABlade).values())
    assert widths == pytest.approx([4, 5, 6, 7, 8, 9, 10])
    halves = sorted(blade.width / IN for blade in of(HalfBlade).values())
    assert halves == pytest.approx([2, 3, 4, 5])


def test_a_wheels_driver_plate_ends_where_its_fingers_are_free() -> None:
    wheels = of(FingerWheel)
    assert sorted({w.diameter / IN for w in wheels.values()}) == pytest.approx([8, 10, 12, 14])
    assert {w.finger_material for w in wheels.values()} == {"rubber", "polyurethane"}
    for wheel in wheels.values():
        free = wheel.diameter - 2.0 * wheel.finger_length
        assert wheel.driver_diameter == pytest.approx(free)


def test_arms_stand_at_work_between_their_stops() -> None:
    for arm in of(TrailingArm).values():
        assert arm.down_stop < arm.work_angle < arm.up_stop


@pytest.mark.parametrize("name", CATALOGUE.tractors)
def test_a_tractors_tyres_tracks_and_lift_go_together(name: str) -> None:
    tractor = CATALOGUE.tractors[name]
    for axle in (tractor.rear, tractor.front):
        assert axle is not None
        assert CATALOGUE.tyre_size(axle.tyre) is not None
        assert axle.track in axle.tracks
        assert list(axle.tracks) == sorted(set(axle.tracks))
    assert tractor.lift.lowest < 20.0 * IN < tractor.lift.highest
    pivots = (tractor.lift.pivot_x, tractor.lift.pivot_z)
    assert (None in pivots) == (tractor.lift.kind == "parallel")


def test_where_each_generic_tractor_carries_its_bar() -> None:
    for tractor in CATALOGUE.tractors.values():
        rear = CATALOGUE.tyre_size(tractor.rear.tyre)
        assert rear is not None
        assert tractor.front is not None
        front = CATALOGUE.tyre_size(tractor.front.tyre)
        assert front is not None
        radius, far = rear.diameter_mm / 2.0, tractor.wheelbase + front.diameter_mm / 2.0
        ahead = tractor.toolbar_ahead
        if tractor.mount == "rear":
            assert ahead <= -(radius + 10.0 * IN)
        elif tractor.mount == "front":
            assert ahead >= far + 10.0 * IN
        else:
            assert radius < ahead < tractor.wheelbase
    assert {t.mount for t in CATALOGUE.tractors.values()} == {"belly", "rear", "front"}


def test_a_raised_belly_bar_and_its_clamps_clear_the_frame() -> None:
    tallest = max(c.plate_height for c in of(BarClamp).values() if c.fits == 2.0 * IN)
    for tractor in CATALOGUE.tractors.values():
        if tractor.mount == "belly":
            assert tractor.frame.clearance - tractor.lift.highest - tallest / 2.0 > IN


def scene_of(unit: str, tractor: str, rank: str) -> str:
    mount = PARTS[CATALOGUE.assemblies[unit].mount]
    assert isinstance(mount, BarClamp)
    tube = "tube-50x5" if mount.fits == 50.0 else "tube-2x1-4"
    return SCENE.format(unit=unit, tractor=tractor, tube=tube, rank=rank)


@pytest.mark.parametrize("rank", ["0", "-6"])
@pytest.mark.parametrize("name", CATALOGUE.assemblies)
def test_every_assembly_works_at_the_usual_height(name: str, rank: str) -> None:
    rig = assemble(scene_from_text(scene_of(name, "small-belly", rank)))
    slides = [a for a in rig.adjustments if a.kind == "slide"]
    assert slides
    for slide in slides:
        assert slide.low + IN / 2 <= slide.wanted <= slide.high - IN / 2, slide.name
    for joint in rig.mechanism.joints.values():
        if joint.kind is JointKind.FLOAT:
            assert joint.low + 4.0 <= joint.value <= joint.high - 4.0, joint.name
    assert any(part.role in (Role.BLADE, Role.FINGER_WHEEL) for part in rig.mechanism.parts)


@pytest.mark.parametrize("name", CATALOGUE.tractors)
def test_every_tractor_carries_a_rig(name: str) -> None:
    rig = assemble(scene_from_text(scene_of("blade-rigid", name, "0")))
    tyres = [part for part in rig.mechanism.parts if part.role is Role.TYRE]
    assert len(tyres) == 4


def test_a_users_file_extends_and_overrides(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(
        "units: mm\n"
        "parts:\n"
        "  tube-70x5: {kind: square-tube, size: 70, wall: 5}\n"
        "  clip: {kind: retaining-clip, width: 60, thickness: 1/4 in, bolt_diameter: 8}\n"
        "tyres:\n"
        '  "9.5-24": {width: 245, diameter: 1060, source: measured}\n',
        encoding="utf-8",
    )
    own = CATALOGUE.with_file(path)
    tube, clip = own.parts["tube-70x5"], own.parts["clip"]
    assert (tube.kind, clip.kind) == ("square-tube", "retaining-clip")
    assert getattr(tube, "size", None) == 70.0
    assert getattr(clip, "thickness", None) == pytest.approx(6.35)
    assert len(own.parts) == len(PARTS) + 1
    size = own.tyre_size("9.5-24")
    assert size is not None
    assert (size.width_mm, size.diameter_mm, size.source) == (245.0, 1060.0, "measured")
    assert getattr(PARTS["clip"], "width", None) == pytest.approx(1.75 * IN)
    assert own.assemblies == CATALOGUE.assemblies
    assert own.tractors == CATALOGUE.tractors


WRONG = [
    ("units: mm\nparts:\n  own: {kind: square-tube, size: 50}\n", 3, "wall"),
    ("units: mm\nparts:\n  own:\n    kind: square-tubes\n    size: 50\n", 4, "square-tube"),
    ("units: mm\nparts:\n  own:\n    kind: square-tube\n    size: -5\n    wall: 4\n", 5, "-5"),
    ("units: mm\nparts:\n  own:\n    kind: square-tube\n    sise: 5\n    wall: 4\n", 5, "size"),
    ("units: furlong\n", 1, "furlong"),
    ("units: mm\nparts:\n  Own Tube: {kind: square-tube, size: 50, wall: 4}\n", 3, "own-tube"),
    ("units: mm\ntyres:\n  a:\n    width: 12,5 mm\n    diameter: 100\n", 4, "12.5 mm"),
    ("units: mm\npart: {}\n", 2, "parts"),
]


@pytest.mark.parametrize(("text", "line", "word"), WRONG)
def test_a_wrong_file_is_refused_with_its_line(
    tmp_path: Path, text: str, line: int, word: str
) -> None:
    path = tmp_path / "wrong.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_catalogue_file(path)
    faults = caught.value.faults
    assert line in {fault.line for fault in faults}
    assert all(fault.file.endswith("wrong.yaml") for fault in faults)
    assert word in caught.value.text()


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"nowhere\.yaml"):
        read_catalogue_file(tmp_path / "nowhere.yaml")
