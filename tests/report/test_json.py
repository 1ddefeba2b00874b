"""The JSON that other programs read: its keys, its numbers, and that it round-trips."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.clearance.finding import (
    Change,
    Finding,
    Findings,
    NotChecked,
    Remedy,
    Verdict,
)
from rigmodel.report.as_json import findings_json, findings_object

PROMISED = ["scene", "verdict", "units", "findings", "not_checked"]
BESIDE = ["bolted_together", "cautions"]
PROMISED_OF_A_FINDING = [
    "check",
    "verdict",
    "value",
    "limit",
    "unit",
    "error_bound",
    "parts",
    "at",
    "pose",
    "message",
    "remedy",
]
BESIDE_OF_A_FINDING = ["pose_name", "limit_source"]


def numbers(value: Any) -> Iterator[float]:
    if isinstance(value, dict):
        for item in value.values():
            yield from numbers(item)
    elif isinstance(value, list):
        for item in value:
            yield from numbers(item)
    elif isinstance(value, float):
        yield value


@pytest.fixture(params=["good", "bad"])
def findings(request: pytest.FixtureRequest) -> Findings:
    found = request.getfixturevalue(request.param)
    assert isinstance(found, Findings)
    return found


def test_the_keys_are_exactly_the_promised_ones(findings: Findings) -> None:
    found = json.loads(findings_json(findings))
    assert sorted(found) == sorted(PROMISED + BESIDE)
    assert found["units"] == {"length": "mm", "angle": "deg"}
    for finding in found["findings"]:
        assert sorted(finding) == sorted(PROMISED_OF_A_FINDING + BESIDE_OF_A_FINDING)
        if finding["remedy"] is not None:
            assert sorted(finding["remedy"]) == ["changes", "rechecked", "says", "then_fails"]
            for change in finding["remedy"]["changes"]:
                assert sorted(change) == ["path", "unit", "value", "was"]
    for item in found["not_checked"]:
        assert sorted(item) == ["check", "reason"]


def test_it_says_what_the_findings_say(findings: Findings) -> None:
    found = json.loads(findings_json(findings))
    assert found["scene"] == findings.scene
    assert found["verdict"] == findings.verdict.value
    assert len(found["findings"]) == len(findings.findings)
    for told, finding in zip(found["findings"], findings.findings, strict=True):
        assert told["check"] == finding.check
        assert told["verdict"] == finding.verdict.value
        assert told["parts"] == list(finding.parts)
        assert told["message"] == finding.message
        assert told["value"] == pytest.approx(finding.value, abs=1e-6)
        assert (told["remedy"] is None) == (finding.remedy is None)
        assert len(told["at"]) in (0, 2)
        assert all(len(point) == 3 for point in told["at"])
    assert found["cautions"]


def test_a_failing_rig_tells_its_remedies(bad: Findings) -> None:
    found = json.loads(findings_json(bad))
    assert found["verdict"] == "fail"
    failing = [f for f in found["findings"] if f["verdict"] == "fail"]
    assert failing
    assert any(f["remedy"] is not None for f in failing)


def test_numbers_are_finite_and_without_noise(findings: Findings) -> None:
    for number in numbers(json.loads(findings_json(findings))):
        assert math.isfinite(number)
        assert round(number, 6) == number
        assert not (number == 0 and math.copysign(1, number) < 0)


def test_it_is_one_object_in_utf_8_with_a_newline_at_its_end(findings: Findings) -> None:
    text = findings_json(findings)
    assert text.endswith("}\n")
    assert json.loads(text.encode().decode()) == findings_object(findings)


any_number = st.floats(allow_nan=True, allow_infinity=True)
point = st.tuples(any_number, any_number, any_number)
values = st.one_of(any_number, st.text(max_size=8), st.tuples(any_number, any_number))
remedies = st.builds(
    Remedy,
    st.tuples(st.builds(Change, st.tuples(st.just("stations"), st.just(0)), values, values)),
    st.text(max_size=20),
)
found_things = st.builds(
    Finding,
    check=st.just("part-clash"),
    verdict=st.sampled_from(list(Verdict)),
    value=st.one_of(st.none(), any_number),
    limit=st.one_of(st.none(), any_number),
    unit=st.sampled_from(["mm", "deg"]),
    message=st.text(max_size=40),
    error_bound=any_number,
    parts=st.tuples(st.text(max_size=8)),
    at=st.one_of(st.just(()), st.tuples(point, point)),
    pose=st.dictionaries(st.text(max_size=8), any_number, max_size=3),
    remedy=st.one_of(st.none(), remedies),
)


@given(st.text(max_size=20), st.lists(found_things, max_size=4))
def test_whatever_is_found_is_valid_json(scene: str, found: list[Finding]) -> None:
    everything = Findings(scene, tuple(found), (NotChecked("lift", scene),), (("a", "b"),))
    text = findings_json(everything)

    def refuse(word: str) -> float:
        raise AssertionError(f"{word} is no JSON number")

    again = json.loads(text, parse_constant=refuse)
    assert again["scene"] == scene
    assert [f["message"] for f in again["findings"]] == [f.message for f in found]
    assert again == findings_object(everything)
