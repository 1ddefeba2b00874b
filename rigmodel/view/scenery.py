"""What a rig stands over: soil, crop rows with their plants, keep-out bands, centre line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from meshes_generic.mesh import Mesh, merge
from meshes_generic.shapes import Box, Cylinder
from meshes_generic.transform import FloatArray, rotation_z, translation
from rigmodel.assembly.rig import Assembly, RowPlace
from rigmodel.assembly.soil import SoilProfile
from rigmodel.view import palette
from rigmodel.view.options import View
from rigmodel.view.picture import Lines, Surface
from rigmodel.view.soil import soil_surfaces, surface_line

_OVER = 3.0  # lines and bands lie this far over the soil, mm
_LEAVES = 6
_UPRIGHT_ROW = 150.0  # height of a row's stroke where a row is seen end on, mm
_THICK_BAND = 6.0
_UPRIGHT_BAND = 130.0  # height of a band where it is seen end on, mm


def scenery(
    assembly: Assembly, view: View, bounds: FloatArray, shading: Sequence[Mesh]
) -> tuple[tuple[Surface, ...], tuple[Lines, ...]]:
    """The ground under everything inside `bounds` (2, 3), as one view needs it.

    Args:
        assembly: the rig.
        view: the view it is for.
        bounds: of what stands on the ground, with a margin, mm.
        shading: what throws a shadow.
    """
    back, front = float(bounds[0, 0]), float(bounds[1, 0])
    soil = soil_surfaces(assembly.soil, view, bounds, shading)
    plants = tuple(p for row in assembly.rows for p in _plants(row, back, front))
    bands = tuple(_band(row, view, back, front) for row in assembly.rows)
    lines = [_row_line(row, view, back, front) for row in assembly.rows]
    if view is not View.SIDE:
        lines.append(_centre_line(assembly.soil, view, bounds))
    lines.append(surface_line(assembly.soil, view, bounds))
    return (*soil, *plants, *bands), tuple(lines)


def _band(row: RowPlace, view: View, back: float, front: float) -> Surface:
    thick = max(_UPRIGHT_BAND, row.plants.height) if view is View.FRONT else _THICK_BAND
    box = Box(front - back, 2.0 * row.keep_out_mm, thick)
    at = translation((front + back) / 2.0, row.y_mm, row.soil_mm + _OVER + thick / 2.0)
    return Surface(f"{row.name}/keep_out", box.mesh().moved(at), palette.BAND)


def _row_line(row: RowPlace, view: View, back: float, front: float) -> Lines:
    z = row.soil_mm + 2.0 * _OVER + _THICK_BAND
    if view is View.FRONT:
        ends = [((front, row.y_mm, row.soil_mm), (front, row.y_mm, row.soil_mm + _UPRIGHT_ROW))]
    else:
        ends = [((back, row.y_mm, z), (front, row.y_mm, z))]
    return Lines(f"{row.name}/line", np.array(ends), "#0b6b4d", 1.6)


def _centre_line(soil: SoilProfile, view: View, bounds: FloatArray) -> Lines:
    """Long and short strokes, as centre lines are drawn."""
    (back, _, low), (front, _, high) = bounds.tolist()
    if view is View.FRONT:
        start, end = (front, 0.0, low), (front, 0.0, high)
    else:
        z = soil.height(0.0) + _OVER
        start, end = (back, 0.0, z), (front, 0.0, z)
    return Lines("centre", _dashed(np.array(start), np.array(end)), "#3c4146", 1.3)


def _dashed(start: FloatArray, end: FloatArray) -> FloatArray:
    length = float(np.linalg.norm(end - start))
    period, strokes = 110.0, ((0.0, 0.62), (0.76, 0.86))
    count = max(1, round(length / period))
    spans = [((i + a) / count, (i + b) / count) for i in range(count) for a, b in strokes]
    ends: FloatArray = np.array(
        [(start + a * (end - start), start + b * (end - start)) for a, b in spans]
    )
    return ends


def _plants(row: RowPlace, back: float, front: float) -> Iterable[Surface]:
    """Seedlings with the crop's width, height and lowest leaf; how far apart is only a look."""
    crop = row.plants
    if crop.height <= 0.0 or crop.canopy_width <= 0.0:
        return
    pitch = max(1.25 * crop.canopy_width, 90.0)
    count = max(1, int((front - back) / pitch))
    first = (front + back) / 2.0 - (count - 1) / 2.0 * pitch
    plant = _plant(crop.canopy_width / 2.0, crop.lowest_leaf, crop.height, crop.stem)
    copies = [
        plant.moved(translation(first + i * pitch, row.y_mm, row.soil_mm) @ rotation_z(47.0 * i))
        for i in range(count)
    ]
    yield Surface(f"{row.name}/plants", merge(copies), palette.LEAVES)


def _plant(reach: float, lowest: float, height: float, stem: float) -> Mesh:
    thick = max(stem, 0.06 * reach, 1.0)
    stalk = Cylinder(thick / 2.0, 0.8 * height).mesh(8).moved(translation(0.0, 0.0, 0.4 * height))
    leaves = [
        _leaf(reach, lowest, height, steep=i % 2 == 1).moved(rotation_z(360.0 * i / _LEAVES))
        for i in range(_LEAVES)
    ]
    return merge([stalk, *leaves])


def _leaf(reach: float, lowest: float, height: float, *, steep: bool) -> Mesh:
    """A folded leaf from the stem outwards: low and wide, or steep to the plant's top."""
    start = 0.55 * height if steep else max(lowest, 0.25 * height)
    tip = (0.55 * reach, height) if steep else (reach, max(lowest, 0.45 * height))
    middle, wide = (0.55 * tip[0], start + 0.7 * (tip[1] - start)), 0.3 * reach
    points = np.array(
        [
            (0.0, 0.0, start),
            (middle[0], wide, middle[1] + 0.06 * height),
            (tip[0], 0.0, tip[1]),
            (middle[0], -wide, middle[1] + 0.06 * height),
            (middle[0], 0.0, middle[1]),
        ]
    )
    points[:, 2] = np.clip(points[:, 2], lowest, height)
    faces = np.array([(0, 4, 1), (1, 4, 2), (0, 3, 4), (4, 3, 2)])
    return Mesh(points, faces)
