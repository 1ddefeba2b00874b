"""Outlines and creases of meshes, as a draughtsman would draw them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from meshes_generic.mesh import IntArray, Mesh
from meshes_generic.transform import FloatArray

CREASE_DEG = 32.0


@dataclass(frozen=True, eq=False)
class EdgeTable:
    """Every edge of a closed mesh with the two faces that meet there.

    Attributes:
        ends: shape (e, 2, 3), mm.
        normals: of the two faces, shape (e, 2, 3).
    """

    ends: FloatArray
    normals: FloatArray

    def seen(self, toward: FloatArray) -> FloatArray:
        """Creases and the outline as seen from a direction, shape (n, 2, 3), mm."""
        facing = self.normals @ toward
        outline = (facing[:, 0] > 0.0) != (facing[:, 1] > 0.0)
        bend = np.einsum("ij,ij->i", self.normals[:, 0], self.normals[:, 1])
        crease = bend < np.cos(np.radians(CREASE_DEG))
        toward_eye = (facing > 1e-9).any(axis=1)
        kept: FloatArray = self.ends[outline | (crease & toward_eye)]
        return kept


def edge_table(mesh: Mesh) -> EdgeTable:
    """The edges of a mesh; those that do not join just two faces are left out."""
    corners = mesh.vertices[mesh.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.where(lengths > 0.0, lengths, 1.0)
    pairs: IntArray = np.concatenate([mesh.faces[:, [i, (i + 1) % 3]] for i in range(3)])
    pairs = np.sort(pairs, axis=1)
    owner = np.tile(np.arange(len(mesh.faces)), 3)
    key = pairs[:, 0] * len(mesh.vertices) + pairs[:, 1]
    order = np.argsort(key, kind="stable")
    _, first, count = np.unique(key[order], return_index=True, return_counts=True)
    first = first[count == 2]
    one, other = order[first], order[first + 1]
    faces = np.column_stack((owner[one], owner[other]))
    return EdgeTable(mesh.vertices[pairs[one]], normals[faces])
