"""The report as one HTML file that opens without a network: 3D view, findings, charts, tables."""

from __future__ import annotations

from rigmodel.report.html.page import html_report

__all__ = ["html_report"]
