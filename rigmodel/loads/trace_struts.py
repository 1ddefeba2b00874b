"""How the numbers of the struts were found: their pulls, stress, and the push they buckle under."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.loads import formulas
from rigmodel.loads.account import Account
from rigmodel.loads.constants import STEEL_E_MPA
from rigmodel.loads.strut import PINNED, HeldStrut, whichever
from rigmodel.loads.traced import Traced
from rigmodel.spec.written import in_part, in_scene


def strut_traces(found: Account) -> Iterator[Traced]:
    """The traces of the struts, where what they carry is known."""
    if not found.struts:
        return
    worst = max(found.struts, key=lambda one: one.stress_mpa)
    tie, section = worst.tie, worst.tie.section
    yield Traced(
        "pull of a strut",
        "(diag(L/(E·A)) + C)·T = −d: C moves of the pins along the struts under unit pulls, d "
        "those under the loads",
        f"{tie.name}: L = {tie.length_mm:.1f} mm ({_where(found, worst)}), A = "
        f"{section.area_mm2:.1f} mm² ({_tube(found, worst)}), E = {STEEL_E_MPA:.0f} MPa; "
        f"{len(found.struts)} in all; {PINNED}",
        f"{worst.pull_n:.0f} N under weight and all drafts; pulls at most {worst.most_pull_n:.0f} "
        f"N and pushes at most {worst.most_push_n:.0f} N, {whichever(found.assembly)}",
        "force method of elastic frames (from memory)",
    )
    yield Traced(
        "stress in a strut",
        formulas.STRUT_STRESS,
        f"{tie.name}: N = {worst.most_n:.1f} N, m·g·l/8 = {worst.own_nmm / 1000.0:.3f} N m; A = "
        f"{section.area_mm2:.1f} mm², W = {section.modulus_mm3:.1f} mm³ ({_tube(found, worst)})",
        f"{worst.stress_mpa:.2f} MPa",
        f"{formulas.STATICS} and beam theory",
    )
    pushed = max(found.struts, key=lambda one: one.most_push_n / one.buckles_n)
    section = pushed.tie.section
    yield Traced(
        "push under which a strut buckles",
        formulas.BUCKLING,
        f"{pushed.tie.name}: E = {STEEL_E_MPA:.0f} MPa, I = {section.second_moment_mm4:.0f} mm⁴, "
        f"A = {section.area_mm2:.1f} mm² ({_tube(found, pushed)}), L = "
        f"{pushed.tie.length_mm:.1f} mm ({_where(found, pushed)}), S = {_strength(pushed)}",
        f"{pushed.buckles_n:.0f} N against {pushed.most_push_n:.0f} N",
        "Euler, and Johnson's parabola (from memory)",
    )


def _where(found: Account, strut: HeldStrut) -> str:
    """Where a strut stands in the scene."""
    index = next(s.index for s in found.assembly.struts if s.name == strut.tie.name)
    return in_scene(found.assembly.scene, "toolbar", "struts", index)


def _tube(found: Account, strut: HeldStrut) -> str:
    """Where the sizes of its tube stand."""
    item = found.assembly.mechanism.part(strut.tie.name).item
    return in_part(found.assembly.scene, item)


def _strength(strut: HeldStrut) -> str:
    return "not given" if strut.yield_mpa is None else f"{strut.yield_mpa:g} MPa"
