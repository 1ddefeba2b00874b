"""Small pictures of parts and sub-assemblies as SVG, drawn from the solids that the checks hold.

Every convex piece is drawn by its outline, seen from behind, from the left and from above; pieces
farther away first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

import numpy as np

from meshes_generic.material import Material, is_flexible
from meshes_generic.solid import Piece, Solid
from meshes_generic.transform import FloatArray
from rigmodel.assembly.fittings import Mounting, fit, mesh_solid
from rigmodel.assembly.template import build_template
from rigmodel.catalog.kinds import AnyPart, MeshPart, SquareTube, SubAssembly
from rigmodel.catalog.store import Catalogue
from rigmodel.report.html.markup import Html, tag

_SIDES = 16
_ROOM = 100.0  # the longer side of a picture, in its own units
_EDGE = 4.0
_TUBE_MM = 300.0  # a piece of tube to be looked at
_ENDS_MM = 12.7  # shank that shows over and under its holder
_TO_EYE = np.array((-0.66, 0.56, 0.5)) / np.linalg.norm((-0.66, 0.56, 0.5))
_ACROSS = np.cross((0.0, 0.0, 1.0), _TO_EYE) / np.linalg.norm(np.cross((0.0, 0.0, 1.0), _TO_EYE))
_UP = np.cross(_TO_EYE, _ACROSS)
_STEEL, _SOFT, _LINE = "#b9c0c7", "#d9b98a", "#20262c"


def part_picture(catalogue: Catalogue, item: str) -> Html:
    """A picture of a catalogue part.

    Raises:
        KeyError: there is no such part.
    """
    part = catalogue.parts[item]
    if isinstance(part, MeshPart):
        solid = mesh_solid(catalogue.bodies[part.source], Material(part.material))
        return _drawn((solid,))
    return _of_part(part)


@lru_cache(maxsize=512)
def _of_part(part: AnyPart) -> Html:
    """The picture of a part by all that is said of it, so that another of its name is another."""
    mounting = Mounting(length_mm=_TUBE_MM) if isinstance(part, SquareTube) else Mounting()
    return _drawn(fitted.solid for fitted in fit(part, mounting).solids)


def unit_picture(catalogue: Catalogue, unit: SubAssembly, bar_size: float) -> Html:
    """A picture of a sub-assembly as it hangs on a bar of that size, nothing set yet.

    Raises:
        PartError: a part's dimensions make no solid.
    """
    template = build_template(
        unit, catalogue.parts, catalogue.bodies, bar_size, 0.0, False, _ENDS_MM
    )
    poses = template.poses({}, {})
    return _drawn(part.solid.moved(poses[part.link]) for part in template.parts)


def _drawn(solids: Iterable[Solid]) -> Html:
    outlines = sorted(
        (found for solid in solids for piece in solid.pieces for found in _outline(piece)),
        key=lambda one: one[0],
    )
    points = np.concatenate([corners for _, corners, _ in outlines])
    low, high = points.min(axis=0), points.max(axis=0)
    scale = (_ROOM - 2.0 * _EDGE) / max(float((high - low).max()), 1e-9)
    wide, tall = ((high - low) * scale + 2.0 * _EDGE).tolist()
    drawn = [
        tag("path", {"d": _path((corners - low) * scale + _EDGE, tall), "fill": colour})
        for _, corners, colour in outlines
    ]
    return tag(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {wide:.1f} {tall:.1f}",
            "stroke": _LINE,
            "stroke-width": 0.7,
            "stroke-linejoin": "round",
        },
        drawn,
    )


def _outline(piece: Piece) -> Iterator[tuple[float, FloatArray, str]]:
    """How near a piece is, its outline (n, 2) across and up, and its colour."""
    from scipy.spatial import ConvexHull, QhullError  # noqa: PLC0415 - a quarter of a second

    mesh = piece.mesh(_SIDES)
    points = np.asarray(mesh.vertices, dtype=np.float64)
    flat = np.column_stack((points @ _ACROSS, points @ _UP))
    try:
        corners = flat[ConvexHull(flat).vertices]
    except QhullError:  # seen edge on
        corners = flat
    colour = _SOFT if is_flexible(piece.material) else _STEEL
    yield float((points @ _TO_EYE).mean()), corners, colour


def _path(corners: FloatArray, tall: float) -> str:
    told = "L".join(f"{x:.1f} {tall - y:.1f}" for x, y in corners.tolist())
    return f"M{told}z"
