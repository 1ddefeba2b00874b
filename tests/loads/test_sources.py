"""Every finding about weights and forces names its formula, and where formula and limit stand."""

from __future__ import annotations

import pytest

from rigmodel.assembly.build import assemble
from rigmodel.clearance.finding import Finding
from rigmodel.clearance.runner import CHECKS, run
from rigmodel.loads import formulas
from rigmodel.loads.constants import ENGINEER
from rigmodel.spec.load import scene_from_text

SCENE = """
name: A rig of which all is stated
units: in
rows: {count: 2, spacing: 24, keep_out: 2 1/2}
soil: {texture: medium, stone_n: 800}
tractor:
  use: compact-rear
  speed_kmh: 5
  lift: {capacity_kg: 600}
  front: {load_kg: 600}
  rear: {load_kg: 800}
toolbar:
  {tube: tube-2x1-4, length: 72, height: 20, hangers: [15, -15], yield_mpa: 300,
   clamp_torque_nm: 30, clamp_friction: 0.15, clamp_grade: Grade 5}
stations:
  - {use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2, draft_n: 40, press_n: 50,
     swap: {finger_wheel_arm: my-arm}}
  - {use: blade-rigid, at: outside, depth: 1, swap: {blade_shank: my-shank}}
parts:
  my-shank: {kind: flat-shank, width: 1 1/2, thickness: 1/2, length: 20, yield_mpa: 500}
  my-arm:
    {kind: trailing-arm, length: 20, depth: 1 1/2, width: 1, bracket_width: 1 3/8,
     bracket_height: 1 1/2, bracket_thickness: 3/16, pivot_back: 3, pivot_drop: 0,
     pin_diameter: 3/4, spring_diameter: 1 1/4, spring_length: 6, down_stop: -25, up_stop: 5,
     work_angle: -15, yield_mpa: 300, spring_rate_n_mm: 8, spring_preload_n: 900, spring_lever: 2}
"""
FORMULA = {
    "load-lift": (formulas.LIFT,),
    "load-axle": (formulas.AXLE,),
    "load-bar": (formulas.BAR_STRESS,),
    "load-shank": (formulas.SHANK_STRESS,),
    "load-arm": (formulas.ARM_STRESS,),
    "load-joint": (formulas.SLIP, formulas.TORQUE),
    "load-spring": (formulas.SPRING,),
    "ground-contact": (formulas.SAG,),
}
ORIGINS = ("from memory", "statics", "handbook", "ASABE", "SAE J429")
LIMITS = ("set in the scene", "common practice", "from memory", "ASABE", "statics", "SAE J429")


@pytest.fixture(scope="module")
def told() -> dict[str, list[Finding]]:
    found: dict[str, list[Finding]] = {}
    for finding in run(assemble(scene_from_text(SCENE)), None, tuple(FORMULA)):
        if finding.check != "ground-contact" or "sagging" in finding.pose_name:
            found.setdefault(finding.check, []).append(finding)
    return found


def test_every_load_check_is_looked_at_here() -> None:
    assert {check.id for check in CHECKS if check.id.startswith("load-")} < set(FORMULA)


@pytest.mark.parametrize("check", FORMULA)
def test_a_finding_names_its_formula_and_where_it_comes_from(
    told: dict[str, list[Finding]], check: str
) -> None:
    assert told[check]
    for finding in told[check]:
        assert any(formula in finding.source for formula in FORMULA[check]), finding.source
        assert any(origin in finding.source for origin in ORIGINS), finding.source
        assert any(limit in finding.source for limit in LIMITS), finding.source
        assert ENGINEER in finding.message
