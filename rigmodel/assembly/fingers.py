"""What of a tool its depth is measured at: a wheel's fingers, the whole of a hoe."""

from __future__ import annotations

from meshes_generic.solid import Solid
from rigmodel.assembly.model import Part, Role


def fingers_of(solid: Solid) -> Solid:
    """The flexible fingers of a wheel, or the whole solid where it has none."""
    fingers = tuple(piece for piece in solid.pieces if piece.label == "fingers")
    return Solid(fingers) if fingers else solid


def metal_of(solid: Solid) -> Solid | None:
    """All of a wheel but its fingers, or None where there is nothing else."""
    metal = tuple(piece for piece in solid.pieces if piece.label != "fingers")
    return Solid(metal) if metal else None


def working_part(part: Part) -> Solid:
    """What of a tool works the soil, in its frame's axes."""
    return fingers_of(part.solid) if part.role is Role.FINGER_WHEEL else part.solid
