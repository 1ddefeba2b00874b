"""Arms and cross tubes: their moments by hand, by an independent frame library, and as findings."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import not_checked
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.runner import run
from rigmodel.loads.balance import part_masses
from rigmodel.loads.constants import GRAVITY
from rigmodel.loads.member import Member, members, soil_pushes, stressed
from rigmodel.loads.side import acts_at
from rigmodel.spec.load import load_scene, scene_from_text

SCENES = Path(__file__).parents[2] / "scenes"
SCENE = """
name: Arms and tubes
units: mm
rows: {{count: 2, spacing: 600, keep_out: 50}}
soil: {{texture: fine{stone}}}
tractor: {{use: compact-rear, speed_kmh: 5}}
toolbar: {{tube: tube-2x1-4, length: 2000, height: 500}}
parts:
  tube-2x3-16-perforated: {{kind: square-tube, size: 2 in, wall: 3/16 in, hole_pitch: 1 in{steel}}}
stations:
  - {{use: blade-rigid, at: gaps, depth: 30, rank: {rank}, draft_n: 700}}
  - {{use: finger-pair, at: rows, pair_gap: 40, depth: 20, draft_n: 90, rank: [0, -300]}}
"""


def built(rank: float = 0.0, steel: str = "", stone: str = "") -> Assembly:
    return assemble(scene_from_text(SCENE.format(rank=rank, steel=steel, stone=stone)))


def of(assembly: Assembly, what: str, station: str) -> Member:
    return next(m for m in members(assembly) if m.what == what and m.name.startswith(station))


def test_every_arm_and_every_cross_tube_is_found_with_all_beyond_it() -> None:
    assembly = built(rank=-400.0)
    found = members(assembly)
    arms = {s.name for s in assembly.stations if s.name.startswith("row")}
    assert {m.name.rpartition(".")[0] for m in found if m.what == "arm"} == arms
    ranked = {s.name for s in assembly.stations if s.rank_mm != 0.0}
    assert {m.name.rpartition(".")[0] for m in found if m.what == "cross tube"} == ranked
    for member in found:
        station = assembly.station[member.name.rpartition(".")[0]]
        after = station.parts[station.parts.index(member.name) + 1 :]
        assert set(member.carried) == set(after)
        assert all(tool.station == station.name for tool in member.tools)


def test_a_cross_tube_s_moments_by_hand() -> None:
    """Draft times its depth below the tube and its distance beside it; weight times its lever."""
    assembly = built(rank=-400.0)
    member = of(assembly, "cross tube", "gap1")
    (tool,) = member.tools
    root, tip = member.cuts[0].middle_mm, acts_at(assembly, tool)
    masses = part_masses(assembly)
    weight = sum(
        masses[n].mass_kg * GRAVITY * (root[0] - masses[n].centroid_mm[0]) for n in member.carried
    )
    found = stressed(assembly, member, {tool.part: 700.0})
    upright = 700.0 * (root[2] - tip[2]) - weight
    assert abs(found.bending_nm[0]) == pytest.approx(abs(upright) / 1000.0, rel=1e-9)
    assert abs(found.bending_nm[1]) == pytest.approx(
        abs(700.0 * (tip[1] - root[1])) / 1000.0, rel=1e-9
    )
    aside = sum(
        masses[n].mass_kg * GRAVITY * (masses[n].centroid_mm[1] - root[1]) for n in member.carried
    )
    assert abs(found.torque_nm) == pytest.approx(abs(aside) / 1000.0, rel=1e-6, abs=1e-9)


@pytest.mark.filterwarnings("ignore")
def test_a_cross_tube_s_moments_by_an_independent_frame_library() -> None:
    """PyNite: the tube as one member, rigid legs to every weight and to the tool's tip."""
    from Pynite import FEModel3D  # noqa: PLC0415 - its import warns

    assembly = built(rank=-400.0)
    member = of(assembly, "cross tube", "gap1")
    (tool,) = member.tools
    masses = part_masses(assembly)
    root = member.cuts[0].middle_mm
    end = root + 400.0 * member.along
    model = FEModel3D()
    model.add_material("steel", 207e3, 79.6e3, 0.3, 7.85e-6)
    section = member.upright
    model.add_section("tube", section.area_mm2, section.second_moment_mm4,
                      section.second_moment_mm4, section.torsion_mm4)  # fmt: skip
    model.add_section("stiff", 1e6, 1e9, 1e9, 1e9)
    model.add_node("root", *root)
    model.add_node("end", *end)
    model.add_member("tube", "root", "end", "steel", "tube")
    model.def_support("root", *(True,) * 6)
    loads = {n: (masses[n].centroid_mm, (0.0, 0.0, -masses[n].mass_kg * GRAVITY))
             for n in member.carried}  # fmt: skip
    loads["draft"] = (acts_at(assembly, tool), (-700.0, 0.0, 0.0))
    for name, (place, force) in loads.items():
        model.add_node(name, *(float(v) for v in place))
        model.add_member(f"leg {name}", "end", name, "steel", "stiff")
        for axis, value in zip(("FX", "FY", "FZ"), force, strict=True):
            model.add_node_load(name, axis, value)
    model.analyze()
    node = model.nodes["root"]
    reaction = np.array((node.RxnMX["Combo 1"], node.RxnMY["Combo 1"], node.RxnMZ["Combo 1"]))
    found = stressed(assembly, member, {tool.part: 700.0})
    assert abs(reaction[0]) / 1000.0 == pytest.approx(abs(found.torque_nm), rel=1e-3, abs=0.01)
    assert abs(reaction[1]) / 1000.0 == pytest.approx(abs(found.bending_nm[0]), rel=1e-4)
    assert abs(reaction[2]) / 1000.0 == pytest.approx(abs(found.bending_nm[1]), rel=1e-4)


def test_an_arm_turns_freely_about_its_pivot_and_its_end_carries_the_drop() -> None:
    assembly = built()
    member = of(assembly, "arm", "row1.left")
    (tool,) = member.tools
    pivot, end = member.cuts
    assert pivot.pinned
    assert np.linalg.norm(end.middle_mm - pivot.middle_mm) == pytest.approx(20 * 25.4, rel=0.05)
    tip, push = acts_at(assembly, tool), soil_pushes(assembly, (tool,))[tool.part]
    masses = part_masses(assembly)
    weight = sum(
        masses[n].mass_kg * GRAVITY * (end.middle_mm[0] - masses[n].centroid_mm[0])
        for n in member.carried
    )
    found = stressed(assembly, member, {tool.part: 5000.0})
    assert found.place == end.place
    upright = 5000.0 * (end.middle_mm[2] - tip[2]) + push * (end.middle_mm[0] - tip[0]) - weight
    assert abs(found.bending_nm[0]) == pytest.approx(abs(upright) / 1000.0, rel=1e-9)


def told(assembly: Assembly) -> tuple[Finding, ...]:
    return run(assembly, None, ("load-arm",))


def test_findings_need_steel_and_a_force() -> None:
    assert told(built(rank=-400.0)) == ()
    draft, stone = told(built(-400.0, ", yield_mpa: 350", ", stone_n: 4000"))
    assert draft.value is not None
    assert stone.value is not None
    assert stone.value > draft.value
    assert draft.verdict is Verdict.PASS
    weak = told(built(-400.0, ", yield_mpa: 20", ", stone_n: 4000"))
    assert [f.verdict for f in weak] == [Verdict.FAIL] * 2
    assert len(told(built(-400.0, ", yield_mpa: 350"))) == 1
    reasons = {n.reason for n in not_checked(built(rank=-400.0)) if n.check == "load-arm"}
    assert any("yield_mpa is not given" in reason for reason in reasons)
    assert "arms and cross tubes hit by a stone: soil.stone_n is not given" in reasons


@pytest.mark.parametrize("path", sorted(SCENES.glob("*.yaml")), ids=lambda p: p.stem)
def test_every_arm_and_every_cross_tube_is_a_member_once(path: Path) -> None:
    """Brackets stand still; each tool on an arm has one arm, each station of a rank one tube."""
    rig = assemble(load_scene(path))
    found = members(rig)
    arms = {tool.arm.removesuffix(".float") for tool in rig.tools if tool.arm}
    tubes = {part.name for part in rig.mechanism.parts if part.role is Role.TUBE and part.station}
    assert sorted(m.name for m in found) == sorted(arms | tubes)
    assert {m.name for m in found if m.what == "arm"} == arms
