"""STL, binary: the rig at work as one list of triangles, mm, z up."""

from __future__ import annotations

import struct

import numpy as np

from meshes_generic.mesh import merge
from rigmodel.assembly.rig import Assembly
from rigmodel.export.bodies import in_world

_HEADER = 80
_TRIANGLE = np.dtype(
    [("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")], align=False
)


def stl_bytes(assembly: Assembly) -> bytes:
    """All parts at work as binary STL; its header says the unit, for which STL has no field."""
    mesh = merge(body for _, body in in_world(assembly))
    corners = mesh.vertices[mesh.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    triangles = np.zeros(len(corners), dtype=_TRIANGLE)
    triangles["normal"] = normals / np.where(lengths > 0.0, lengths, 1.0)
    triangles["corners"] = corners
    return _header(assembly) + struct.pack("<I", len(triangles)) + triangles.tobytes()


def _header(assembly: Assembly) -> bytes:
    """80 bytes that do not begin with the word a text STL begins with."""
    title = assembly.scene.spec.name.encode("ascii", "replace").decode("ascii")
    text = f"rigmodel binary STL, UNIT=mm, x forward, y left, z up: {title}"
    return text.encode("ascii")[:_HEADER].ljust(_HEADER)
