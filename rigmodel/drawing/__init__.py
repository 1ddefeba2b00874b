"""Fabrication drawings: one set of primitives, written as SVG, PDF or DXF."""
