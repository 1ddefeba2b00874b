"""part-clash: fixed neighbours by arithmetic, moving ones with the larger limit."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Verdict

Rig = Callable[..., Assembly]
Find = Callable[[Assembly, str], tuple[Finding, ...]]
INCH = 25.4
APART = 6.0 * INCH
FIXED, SETTING, TIGHT = 2.0, 1.6, 1.6  # default limit, tolerance and tightness, mm


def points(rig: Rig, gap_mm: float, setting_mm: float = SETTING) -> Assembly:
    """Two wide points on rigid shanks 6 in apart, with a gap between the points."""
    own = (
        f"{{own: {{kind: point, width: {APART - gap_mm:.6f} mm, length: 4, thickness: 1/4,"
        " tang_height: 3, tang_thickness: 3/8, tang_length: 1}}"
    )
    return rig(
        stations="[{use: point-rigid, at: [-3, 3], depth: 1, swap: {point: own}}]",
        parts=own,
        tolerances=f"{{setting: {setting_mm} mm}}",
    )


@pytest.mark.parametrize("setting", [0.0, SETTING, 5.0])
@pytest.mark.parametrize(
    ("room", "verdict"),
    [
        (-4.0, Verdict.FAIL),
        (FIXED - 0.02, Verdict.FAIL),
        (FIXED, Verdict.ADVISE),
        (FIXED + TIGHT - 0.02, Verdict.ADVISE),
        (FIXED + TIGHT + 0.02, Verdict.PASS),
    ],
)
def test_fixed_neighbours_each_off_by_the_setting_tolerance(
    rig: Rig, finds: Find, setting: float, room: float, verdict: Verdict
) -> None:
    # Arithmetic: the gap between the points less what each clamp may be off.
    found = finds(points(rig, room + 2.0 * setting, setting), "part-clash")
    assert [f.verdict for f in found] == [verdict]
    assert set(found[0].parts) == {"place1.point", "place2.point"}
    assert found[0].value == pytest.approx(room, abs=2e-3 + found[0].error_bound)
    assert found[0].limit == FIXED


def test_parts_that_move_against_each_other_need_more(rig: Rig, finds: Find) -> None:
    stations = (
        "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2},"
        " {use: blade-spring, at: gaps, depth: 1}]"
    )
    assembly = rig(stations=stations, limits="{clearance: 500 mm}")
    found = finds(assembly, "part-clash")
    assert found
    for finding in found:
        assert finding.verdict is Verdict.FAIL
        assert finding.limit == 500.0
        one, other = finding.parts
        joints = {name for part in (one, other) for name in _swings(assembly, part)}
        assert joints, finding.message


def _swings(assembly: Assembly, part: str) -> set[str]:
    frames = assembly.mechanism.frames
    chain = assembly.mechanism.chain(assembly.mechanism.part(part).frame)
    joints = {frames[i].joint for i in chain}
    return {j.name for j in joints if j is not None and j.name.endswith((".float", ".trip"))}


def test_shifting_or_setting_back_is_the_remedy(rig: Rig, cured: Find) -> None:
    own = (
        "{own: {kind: point, width: 5, length: 3, thickness: 1/4,"
        " tang_height: 3, tang_thickness: 3/8, tang_length: 1}}"
    )
    point = "use: point-rigid, depth: 1, swap: {point: own}"
    stations = f"[{{{point}, at: [-2]}}, {{{point}, at: [2], name: other}}]"
    (finding,) = cured(rig(stations=stations, parts=own), "part-clash")
    assert finding.remedy is not None
    assert finding.remedy.changes[0].path[-1] in ("rank", "shift")
