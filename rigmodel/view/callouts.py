"""What is named on a view: the numbers of findings, rows, the bar and the stations."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.rig import Assembly
from rigmodel.units import format_length
from rigmodel.view import palette
from rigmodel.view.camera import project
from rigmodel.view.labels import Placer, Wanted, busy_cells
from rigmodel.view.marks import COLOURS
from rigmodel.view.picture import Area, Label, Panel, Pixel, Surface
from rigmodel.view.text import drawable

_MOST_NUMBERS = 14
_MARK_ROOM = 13.0
_NEAR_NUMBERS, _NEAR_NAMES = 20.0, 7.0  # labels whose anchors are nearer than this become one


def panel_labels(
    assembly: Assembly,
    panel: Panel,
    bounds: FloatArray,
    inner: Area,
    scale: float,
    kept_free: Area,
    *,
    brief: bool,
) -> tuple[Label, ...]:
    """The labels of a panel; those that find no room are left out.

    Args:
        assembly: the rig.
        panel: the panel without labels.
        bounds: (2, 3) box of the ground drawn, mm.
        inner: where labels may lie.
        scale: size of letters against a picture of 1600 x 1000.
        kept_free: where no label may lie.
        brief: a small panel names rows, bar and numbers only.
    """
    covering = [s.mesh for s in panel.surfaces if _covers(s)]
    busy = busy_cells(panel.camera, panel.area, covering)
    room = inner.shrunk(-20 * scale, -14 * scale, -20 * scale, -10 * scale)
    placer = Placer(room, (panel.area.left, panel.area.low), busy, [kept_free])
    reach = _MARK_ROOM * scale
    for mark in panel.marks:
        placer.marks += [Area(x - reach, y - reach, 2 * reach, 2 * reach) for x, y in mark.ends]
    names = [*_rows(assembly, panel, bounds, scale), _bar(assembly, panel, scale)]
    if not brief:
        names += _stations(assembly, panel, scale)
    numbers = _gathered(list(_numbers(panel, scale)), _NEAR_NUMBERS * scale)[:_MOST_NUMBERS]
    wanted = [*numbers, *_gathered(names, _NEAR_NAMES * scale)]
    placed = [placer.place(item) for item in wanted]
    return tuple(label for label in placed if label is not None)


def _covers(surface: Surface) -> bool:
    """Whether a label should keep off it: what is solid, and other poses of the rig."""
    other_pose = "@" in surface.name
    return other_pose or (surface.style.opacity >= 1.0 and not surface.name.startswith("soil/"))


def _gathered(wanted: Sequence[Wanted], near: float) -> list[Wanted]:
    """One label for all of a kind that name one spot, as rows do seen from the side."""
    groups: list[list[Wanted]] = []
    for item in wanted:
        for group in groups:
            alike = (group[0].colour, group[0].size) == (item.colour, item.size)
            if alike and math.dist(group[0].anchor, item.anchor) <= near:
                group.append(item)
                break
        else:
            groups.append([item])
    return [replace(group[0], text=_names([item.text for item in group])) for group in groups]


def _names(texts: Sequence[str]) -> str:
    texts = list(dict.fromkeys(texts))
    return ", ".join(texts) if len(texts) <= 2 else f"{texts[0]} +{len(texts) - 1}"


def _at(panel: Panel, point: FloatArray) -> Pixel:
    flat = project(panel.camera, panel.area, point[None, :])[0]
    return float(flat[0]), float(flat[1])


def _numbers(panel: Panel, scale: float) -> Iterator[Wanted]:
    for mark in panel.marks:
        middle = np.array(mark.ends).mean(axis=0)
        anchor = (float(middle[0]), float(middle[1]))
        yield Wanted(drawable(mark.text), anchor, 17 * scale, COLOURS[mark.shape], bold=True)


def _rows(assembly: Assembly, panel: Panel, bounds: FloatArray, scale: float) -> Iterator[Wanted]:
    """Rows are named at the end of theirs that lies lower on the picture."""
    inset = 40.0
    for row in assembly.rows:
        ends = np.array(
            [(x, row.y_mm, row.soil_mm) for x in (bounds[0, 0] + inset, bounds[1, 0] - inset)]
        )
        flat = project(panel.camera, panel.area, ends)
        end = flat[int(np.argmin(flat[:, 1]))]
        yield Wanted(row.name, (float(end[0]), float(end[1])), 16 * scale, "#0b6b4d", bold=True)


def _bar(assembly: Assembly, panel: Panel, scale: float) -> Wanted:
    """The bar is named at its free end."""
    (low, high) = assembly.at_work(assembly.mechanism.part("bar")).bounds()
    length = format_length(assembly.scene.spec.toolbar.length, assembly.scene.unit)
    middle = (low + high) / 2.0
    ends = [np.array((middle[0], y, high[2])) for y in (low[1] + 15.0, high[1] - 15.0)]
    anchor = max((_at(panel, end) for end in ends), key=lambda pixel: pixel[0])
    return Wanted(f"bar {length}", anchor, 16 * scale, palette.INK, bold=True)


def _stations(assembly: Assembly, panel: Panel, scale: float) -> Iterator[Wanted]:
    for station in assembly.stations:
        tools = [tool.part for tool in assembly.tools if tool.station == station.name]
        names = tools or list(station.parts)
        if not names:
            continue
        middle = assembly.at_work(assembly.mechanism.part(names[0])).mesh(8).vertices.mean(axis=0)
        yield Wanted(drawable(station.name), _at(panel, middle), 14 * scale, "#3c4349")
