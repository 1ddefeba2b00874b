"""Small bodies of triangles, made here by a few lines each; nothing is taken from elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
import trimesh

from meshes_generic.material import Material
from meshes_generic.shapes import ClosedSurface, Shape
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import identity

# An L: 100 x 100 with a notch of 70 x 70, and 50 thick.
L_OUTLINE = ((0, 0), (100, 0), (100, 30), (30, 30), (30, 100), (0, 100))
L_HEIGHT = 50.0
L_TRIANGLES = ((0, 1, 2), (0, 2, 3), (0, 3, 4), (0, 4, 5))
L_VOLUME = (100 * 30 + 30 * 70) * 50.0


def prism(
    outline: Sequence[tuple[float, float]], triangles: Sequence[Sequence[int]], height: float
) -> ClosedSurface:
    """A body between two equal outlines; the triangles fill the outline anticlockwise."""
    n = len(outline)
    flat = np.array(outline, dtype=float)
    vertices = np.concatenate(
        [np.column_stack((flat, np.zeros(n))), np.column_stack((flat, np.full(n, height)))]
    )
    faces = [(a, c, b) for a, b, c in triangles] + [(a + n, b + n, c + n) for a, b, c in triangles]
    for i in range(n):
        j = (i + 1) % n
        faces += [(i, j, j + n), (i, j + n, i + n)]
    return ClosedSurface.of(vertices, faces)


@pytest.fixture(scope="session")
def ell() -> ClosedSurface:
    """The L, a body that is not convex."""
    return prism(L_OUTLINE, L_TRIANGLES, L_HEIGHT)


@pytest.fixture(scope="session")
def ball() -> ClosedSurface:
    """A ball of radius 100 in 1280 triangles, corners on the sphere."""
    made = trimesh.creation.icosphere(subdivisions=3, radius=100.0)
    return ClosedSurface.of(made.vertices, made.faces)


@pytest.fixture(scope="session")
def ring() -> ClosedSurface:
    """A ring of radius 80 from a round bar of radius 20."""
    made = trimesh.creation.torus(80.0, 20.0, major_sections=32, minor_sections=16)
    return ClosedSurface.of(made.vertices, made.faces)


@pytest.fixture(scope="session")
def hollow() -> ClosedSurface:
    """A cube of 100 with a cavity of 60 in its middle: two shells."""
    outer, inner = trimesh.creation.box((100,) * 3), trimesh.creation.box((60,) * 3)
    inner.invert()
    both = trimesh.util.concatenate([outer, inner])
    return ClosedSurface.of(both.vertices, both.faces)


@pytest.fixture(scope="session")
def solid_of() -> Callable[..., Solid]:
    """A solid of one steel shape at a place."""

    def make(shape: Shape, place: np.ndarray | None = None) -> Solid:
        at = identity() if place is None else place
        return Solid((Piece(shape, at, Material.STEEL, "piece"),))

    return make


@pytest.fixture
def exported(tmp_path: Path) -> Callable[[trimesh.Trimesh, str], Path]:
    """Writes a mesh to a file of that name and gives its path."""

    def write(mesh: trimesh.Trimesh, name: str) -> Path:
        path = tmp_path / name
        mesh.export(path)
        return path

    return write
