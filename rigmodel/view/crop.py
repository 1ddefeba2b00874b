"""Parts of a picture: where anything moves in a film, and a picture cut down to a part of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from meshes_generic.mesh import Mesh
from meshes_generic.transform import FloatArray, apply
from rigmodel.view.camera import project
from rigmodel.view.picture import Area, Drawn, Film, Mover, Panel, Picture, Surface, Words

_MARGIN = 4.0  # pixels that outlines reach beyond what they are drawn round


def region(film: Film) -> Area:
    """The part of the picture outside which nothing moves, whole pixels; at least one of them."""
    panel, still = film.still.panels[0], film.still
    points = np.concatenate(
        [
            project(panel.camera, panel.area, apply(way, points))
            for mover in film.movers
            for points in _points(mover)
            for way in mover.ways
        ]
        or [np.zeros((1, 2))]
    )
    low = np.floor(points.min(axis=0) - _MARGIN).clip(0.0)
    high = np.ceil(points.max(axis=0) + _MARGIN).clip(low + 1.0)
    right, top = np.minimum(high, (still.width, still.height)).tolist()
    left, bottom = np.minimum(low, (right - 1.0, top - 1.0)).tolist()
    return Area(left, bottom, right - left, top - bottom)


def _points(mover: Mover) -> Iterator[FloatArray]:
    if mover.surface is not None:
        yield mover.surface.mesh.vertices
    if mover.strokes is not None:
        yield mover.strokes.ends.reshape(-1, 3)


def cropped(picture: Picture, area: Area) -> Picture:
    """A picture of one panel, cut down to a part of it.

    Args:
        picture: its panel covers all of it.
        area: whole pixels, inside the picture.
    """
    (panel,) = picture.panels
    return Picture(
        round(area.width),
        round(area.height),
        picture.background,
        (_cropped_panel(panel, area),),
        shifted(picture.overlay, -area.left, -area.low),
    )


def _cropped_panel(panel: Panel, area: Area) -> Panel:
    whole, camera = panel.area, panel.camera
    mm = 2.0 * camera.half_height / whole.height  # of a pixel
    across = area.left + area.width / 2.0 - whole.left - whole.width / 2.0
    up = area.low + area.height / 2.0 - whole.low - whole.height / 2.0
    right = np.cross(camera.up, camera.toward)
    cut = replace(
        camera,
        centre=camera.centre + mm * (across * right + up * camera.up),
        half_height=camera.half_height * area.height / whole.height,
    )
    seen = Area(0.0, 0.0, area.width, area.height)

    def near(points: FloatArray) -> NDArray[np.bool_]:
        """Whether boxes round points (n, k, 3) come near what is seen, shape (n,)."""
        flat = project(cut, seen, points.reshape(-1, 3)).reshape(*points.shape[:2], 2)
        low, high = flat.min(axis=1) - _MARGIN, flat.max(axis=1) + _MARGIN
        there: NDArray[np.bool_] = ((high > 0.0) & (low < (seen.width, seen.height))).all(axis=1)
        return there

    surfaces = tuple(_kept(s, near(s.mesh.vertices[s.mesh.faces])) for s in panel.surfaces)
    lines = tuple(replace(lines, ends=lines.ends[near(lines.ends)]) for lines in panel.lines)
    shown = tuple(surface for surface in surfaces if len(surface.mesh.faces))
    return replace(panel, camera=cut, area=seen, surfaces=shown, lines=lines)


def _kept(surface: Surface, faces: NDArray[np.bool_]) -> Surface:
    """A surface with some of its faces only."""
    mesh = surface.mesh
    return replace(surface, mesh=Mesh(mesh.vertices, mesh.faces[faces]))


def shifted(drawn: Iterable[Drawn], across: float, up: float) -> tuple[Drawn, ...]:
    """Fills and words moved by that many pixels."""
    return tuple(
        replace(item, at=(item.at[0] + across, item.at[1] + up))
        if isinstance(item, Words)
        else replace(item, points=tuple((x + across, y + up) for x, y in item.points))
        for item in drawn
    )
