"""Constants of the load calculations, each with where it comes from."""

from __future__ import annotations

GRAVITY = 9.80665
"""Standard gravity, m/s² (exact by definition, from memory)."""

STEEL_E_MPA = 207_000.0
"""Young's modulus of carbon steel, MPa (materials science textbook, appendix B, table B.2)."""

POISSON = 0.3
"""Poisson's ratio of steel (from memory)."""

STEEL_G_MPA = STEEL_E_MPA / (2.0 * (1.0 + POISSON))
"""Shear modulus of steel, MPa."""

ENGINEER = (
    "A structure that carries people's safety is for a licensed engineer and the makers' manuals."
)
"""Said with every load that is checked."""
