"""Solids that parts are made of: placed convex shapes with exact support, mass and meshes.

The package knows lengths, materials and a few families of bolted steel and rubber parts; it
knows nothing of any one machine, and it reads and writes no files. x is forward, y left, z up.
"""

from __future__ import annotations

from meshes_generic.mass import MassProperties, combine
from meshes_generic.material import Material, density_kg_m3, is_flexible
from meshes_generic.mesh import Mesh, merge
from meshes_generic.shapes import (
    Box,
    ClosedSurface,
    Cylinder,
    Frustum,
    Hull,
    RoundedDisc,
    Shape,
    Sphere,
    Triangle,
)
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import Transform

__all__ = [
    "Box",
    "ClosedSurface",
    "Cylinder",
    "Frustum",
    "Hull",
    "MassProperties",
    "Material",
    "Mesh",
    "Piece",
    "RoundedDisc",
    "Shape",
    "Solid",
    "Sphere",
    "Transform",
    "Triangle",
    "combine",
    "density_kg_m3",
    "is_flexible",
    "merge",
]
