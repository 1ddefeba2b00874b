"""What the browser is told of a session, as plain values for JSON."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from rigmodel.page.panels import (
    controls_html,
    faults_html,
    findings_html,
    lines_html,
    not_checked_html,
    stations_html,
)
from rigmodel.page.scene_edits import step_mm
from rigmodel.page.session import Session
from rigmodel.report.html.finding_list import counts
from rigmodel.report.html.model_data import model_data
from rigmodel.report.html.stage import group_boxes, motion_sliders
from rigmodel.report.html.strips import coverage_chart
from rigmodel.report.html.verdicts import badge


def told(session: Session) -> dict[str, Any]:
    """Everything but the 3D model. Parts of the page come as HTML in which all text is escaped."""
    with session.lock:
        record, checked, faults = session.record, session.checked, session.faults
        state: dict[str, Any] = {
            "version": record.version,
            "stamp": session.stamp,
            "text": record.text,
            "units": session.unit.value,
            "undo": len(record.undo),
            "redo": len(record.redo),
            "origin": record.origin,
            "unsaved": session.unsaved,
            "faults": faults_html(faults),
            "lines": lines_html(record.text, faults),
            "broken": checked is None,
        }
    if checked is not None:
        findings = checked.findings
        state |= {
            "title": findings.scene,
            "verdict": badge(findings.verdict),
            "word": findings.verdict.value,
            "counts": counts(findings),
            "cured": checked.cured or not checked.fails,
            "findings": findings_html(checked),
            "controls": controls_html(checked, state["text"]),
            "stations": stations_html(checked, state["text"]),
            "coverage": coverage_chart(checked.assembly),
            "notChecked": not_checked_html(checked),
            "motions": motion_sliders(checked.assembly),
            "groups": group_boxes(checked.assembly),
        }
    return state


def model(session: Session, known: Collection[str] = ()) -> dict[str, Any] | None:
    """What the 3D view draws, with the stamp it belongs to; None where the scene has faults.

    Args:
        session: whose.
        known: names of shapes that the browser has already.
    """
    with session.lock:
        checked, stamp = session.checked, session.stamp
    if checked is None:
        return None
    return {
        "stamp": stamp,
        "step": step_mm(checked.scene),
        "unit": checked.scene.unit.value,
        **model_data(checked.assembly, checked.findings, known),
    }
