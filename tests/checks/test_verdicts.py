"""Verdicts on both sides of a limit, what is not decided, and what is not checked."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.check import check, not_checked
from rigmodel.clearance.finding import AGREES_MM, Verdict, at_least, at_most, worst
from rigmodel.clearance.held import Held, HeldClearance
from rigmodel.clearance.runner import CHECKS
from rigmodel.clearance.scope import Pairs, Scope

Rig = Callable[..., Assembly]
finite = st.floats(-1e6, 1e6)
SEVERITY = list(Verdict)


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (10.0 - 2 * AGREES_MM, Verdict.FAIL),
        (10.0 - AGREES_MM / 2, Verdict.ADVISE),
        (10.0, Verdict.ADVISE),
        (12.0 - 2 * AGREES_MM, Verdict.ADVISE),
        (12.0, Verdict.PASS),
    ],
)
def test_at_least_on_each_side(value: float, verdict: Verdict) -> None:
    assert at_least(value, 10.0, 2.0) is verdict
    assert at_most(-value, -10.0, 2.0) is verdict


def test_touching_a_limit_without_tightness_passes() -> None:
    assert at_least(10.0, 10.0) is Verdict.PASS
    assert at_most(10.0, 10.0) is Verdict.PASS


@given(finite, finite, finite, st.floats(0.0, 100.0))
def test_more_room_is_never_worse(value: float, more: float, limit: float, tight: float) -> None:
    low, high = sorted((value, value + abs(more)))
    before, after = at_least(low, limit, tight), at_least(high, limit, tight)
    assert SEVERITY.index(after) >= SEVERITY.index(before)


def test_worst_of_none_is_pass_and_not_checked_counts_as_advise() -> None:
    assert worst([]) is Verdict.PASS
    assert worst([Verdict.PASS, Verdict.NOT_CHECKED]) is Verdict.ADVISE
    assert worst([Verdict.NOT_CHECKED, Verdict.FAIL]) is Verdict.FAIL


def clearance(
    value: float, pair: tuple[str, str] = ("row1.left.finger_wheel", "row2.left.finger_wheel")
) -> HeldClearance:
    at = ((0.0, 0.0, 0.0), (value, 0.0, 0.0))
    return HeldClearance(pair, value, value - 1.0, 5.0, MappingProxyType({}), at, False, True)


def test_what_is_worth_telling_of_held_pairs() -> None:
    near, open_, far = clearance(1.0), clearance(4.9), clearance(50.0)
    assert list(Held((near,), (open_,), far, 1).told(1.0)) == [
        (near, Verdict.FAIL),
        (open_, Verdict.NOT_CHECKED),
    ]
    assert list(Held((), (), far, 1).told(1.0)) == [(far, Verdict.PASS)]
    assert list(Held((), (), None, 0).told(1.0)) == []


def test_an_undecided_pair_is_said_and_listed_as_not_checked(
    rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    def undecided(scope: Scope, pairs: Pairs, motion: object) -> Held:
        named = [(scope.bodies[a].name, scope.bodies[b].name) for a, b in pairs.bodies[:1].tolist()]
        return Held((), tuple(clearance(4.9, pair) for pair in named), None, 0)

    monkeypatch.setattr(Scope, "hold", undecided)
    findings = check(rig())
    open_ = [f for f in findings.findings if f.verdict is Verdict.NOT_CHECKED]
    assert {"part-clash", "crop-band", "tyre-fit", "frame-fit"} <= {f.check for f in open_}
    assert findings.verdict is not Verdict.PASS
    for finding in open_:
        assert any(n.check == finding.check for n in findings.not_checked)
        assert finding.remedy is None


def test_what_no_check_answers_is_always_said(rig: Rig) -> None:
    told = not_checked(rig())
    ids = {n.check for n in told}
    assert {"load-lift", "load-axle", "load-bar", "load-shank", "load-joint"} <= ids
    assert all(n.reason for n in told)
    assert any("steer" in n.reason for n in told if n.check == "tyre-fit")


@pytest.mark.parametrize("field", ["link_play", "steering", "side_hill", "roughness"])
def test_a_tolerance_that_is_not_given_is_said_and_one_that_is_given_is_not(
    rig: Rig, field: str
) -> None:
    def told(assembly: Assembly) -> bool:
        return any(f"tolerances.{field} " in n.reason for n in not_checked(assembly))

    assert told(rig())
    assert not told(rig(tolerances=f"{{{field}: 1/4}}"))


def test_every_check_has_its_own_id_and_a_statement() -> None:
    assert len({c.id for c in CHECKS}) == len(CHECKS)
    for entry in CHECKS:
        assert entry.id == entry.id.lower()
        assert entry.statement.endswith(".")


def test_findings_name_only_parts_and_joints_that_exist(rig: Rig) -> None:
    stations = (
        "[{use: finger-pair, at: rows, pair_gap: 1 1/2, depth: 1/2},"
        " {use: blade-spring, at: gaps, depth: 1}]"
    )
    assembly = rig(stations=stations)
    known = set(assembly.mechanism.part_index) | {row.name for row in assembly.rows}
    known |= {f"{row.name}.{what}" for row in assembly.rows for what in ("line", "leaves")}
    for finding in check(assembly).findings:
        assert set(finding.parts) <= known
        assert set(finding.pose) <= set(assembly.mechanism.joints)
        assert finding.message.endswith((".", ")"))
        for name, value in finding.pose.items():
            joint = assembly.mechanism.joints[name]
            assert joint.low - 1e-6 <= value <= joint.high + 1e-6
