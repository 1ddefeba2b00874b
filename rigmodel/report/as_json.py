"""Findings as one JSON object; lengths are mm, angles degrees."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from rigmodel.clearance.finding import Change, Finding, Findings, Remedy
from rigmodel.report.cautions import CAUTIONS
from rigmodel.report.numbers import number
from rigmodel.spec.struts import Strut


def findings_json(findings: Findings, loads: Mapping[str, Any] | None = None) -> str:
    """The findings as JSON text with a trailing newline.

    Args:
        findings: what `check` returned.
        loads: what `loads_object` returned, to stand beside them.
    """
    told = findings_object(findings)
    if loads is not None:
        told["loads"] = loads
    return json.dumps(told, indent=2, ensure_ascii=False) + "\n"


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
        "value": number(finding.value),
        "limit": number(finding.limit),
        "unit": finding.unit,
        "error_bound": number(finding.error_bound),
        "parts": list(finding.parts),
        "at": [[number(c) for c in point] for point in finding.at],
        "pose": {name: number(value) for name, value in finding.pose.items()},
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
    if isinstance(value, Strut):
        return value.model_dump(exclude_none=True)
    return number(value) if isinstance(value, float) else value
