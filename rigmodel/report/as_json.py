"""Findings as one JSON object; lengths are mm, angles degrees."""

from __future__ import annotations

import json
import math
from typing import Any

from rigmodel.clearance.finding import Change, Finding, Findings, Remedy
from rigmodel.report.cautions import CAUTIONS

DIGITS = 6


def findings_json(findings: Findings) -> str:
    """The findings as JSON text with a trailing newline."""
    return json.dumps(findings_object(findings), indent=2, ensure_ascii=False) + "\n"


def findings_object(findings: Findings) -> dict[str, Any]:
    """The findings as plain values ready for JSON."""
    return {
        "scene": findings.scene,
        "verdict": findings.verdict.value,
        "units": {"length": "mm", "angle": "deg"},
        "findings": [_finding(f) for f in findings.findings],
        "not_checked": [{"check": n.check, "reason": n.reason} for n in findings.not_checked],
        "bolted_together": [list(pair) for pair in findings.bolted],
        "cautions": list(CAUTIONS),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "check": finding.check,
        "verdict": finding.verdict.value,
        "value": _number(finding.value),
        "limit": _number(finding.limit),
        "unit": finding.unit,
        "error_bound": _number(finding.error_bound),
        "parts": list(finding.parts),
        "at": [[_number(c) for c in point] for point in finding.at],
        "pose": {name: _number(value) for name, value in finding.pose.items()},
        "pose_name": finding.pose_name,
        "message": finding.message,
        "limit_source": finding.source,
        "remedy": None if finding.remedy is None else _remedy(finding.remedy),
    }


def _remedy(remedy: Remedy) -> dict[str, Any]:
    return {
        "says": remedy.says,
        "changes": [_change(change) for change in remedy.changes],
        "then_fails": list(remedy.leaves),
        "rechecked": True,
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "path": list(change.path),
        "value": _plain(change.value),
        "was": _plain(change.was),
        "unit": change.unit,
    }


def _plain(value: object) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return _number(value) if isinstance(value, float) else value


def _number(value: float | None) -> float | None:
    """A finite number without noise in its last digits; -0 becomes 0."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, DIGITS) + 0.0
