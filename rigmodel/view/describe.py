"""`describe(assembly, findings, options) -> Picture`: everything about a picture but its pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from meshes_generic.transform import FloatArray
from rigmodel.assembly.model import TOOL_ROLES, Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.view import bodies, palette
from rigmodel.view.callouts import panel_labels
from rigmodel.view.camera import Direction, directions, framed, hidden_share, project
from rigmodel.view.edges import EdgeTable, edge_table
from rigmodel.view.marks import marks
from rigmodel.view.options import Ghost, PictureOptions, View
from rigmodel.view.overlay import (
    header,
    legend,
    panel_overlay,
    rectangle,
    room_of,
    scale_bar,
    scale_length,
)
from rigmodel.view.picture import Area, Camera, Drawn, Lines, Panel, Picture, Style, Surface
from rigmodel.view.scenery import scenery

_GROUND_MARGIN = 100.0  # soil drawn beyond what stands on it, mm
_HEADER, _FOOTER = 84.0, 54.0  # pixels at 1600 x 1000
_LEAST_SCALE = 0.5  # letters never get smaller than this against a picture of 1600 x 1000
_HIDES = 0.015  # a tyre in front of more of the tools than this is drawn see-through
_SINGLE = (View.THREE_QUARTER, View.TOP, View.FRONT, View.SIDE)


@dataclass(frozen=True, eq=False)
class Stage:
    """What all views share.

    Attributes:
        assembly: the rig.
        findings: what was found, or None.
        parts: surfaces of the parts at work.
        extras: rims and ghosts.
        edges: edge table of every surface that has edges, by name.
        bounds: (2, 3) box round all of these, mm.
        tools: points (n, 3) on the tools.
        reach: further points (n, 3) that a view must hold, such as where parts move to.
    """

    assembly: Assembly
    findings: Findings | None
    parts: tuple[Surface, ...]
    extras: tuple[Surface, ...]
    edges: dict[str, EdgeTable]
    bounds: FloatArray
    tools: FloatArray
    reach: FloatArray


def describe(assembly: Assembly, findings: Findings | None, options: PictureOptions) -> Picture:
    """Describes a picture; nothing is drawn.

    Args:
        assembly: the rig.
        findings: what `check` found, to be marked; None for a rig that was not checked.
        options: what to show.
    """
    return described_on(stage_of(assembly, findings, options.ghosts), options)


def described_on(stage: Stage, options: PictureOptions) -> Picture:
    """Describes a picture of what is on a stage already, for several pictures of one rig.

    Args:
        stage: the rig, what was found in it, and the ghosts.
        options: what to show; its ghosts are those of the stage.
    """
    assembly, findings = stage.assembly, stage.findings
    scale = max(_LEAST_SCALE, min(options.width / 1600.0, options.height / 1000.0))
    scale *= options.letters
    whole = Area(0, 0, options.width, options.height)
    brief = options.view is View.SHEET or options.letters > 1.0
    panels = tuple(
        panel_of(stage, view, area, scale, brief=brief) for view, area in _layout(options, scale)
    )
    marked = [mark for panel in panels for mark in panel.marks]
    overlay: list[Drawn] = []
    for panel in panels:
        overlay += _frame(panel, scale) if len(panels) > 1 else []
        overlay += panel_overlay(panel, scale)
        overlay += panel_scale(panel, assembly, scale)
    overlay += header(assembly.scene.spec.name, findings, whole, scale)
    overlay += legend(marked, bool(options.ghosts), whole, scale)
    return Picture(options.width, options.height, palette.BACKGROUND, panels, tuple(overlay))


def stage_of(
    assembly: Assembly,
    findings: Findings | None,
    ghosts: Sequence[Ghost] = (),
    reach: FloatArray | None = None,
    roundness: bodies.Roundness = bodies.ROUND,
) -> Stage:
    """What all views of a rig share.

    Args:
        assembly: the rig.
        findings: to be marked, or None.
        ghosts: other poses to draw faintly.
        reach: further points (n, 3) that a view must hold, mm.
        roundness: how round round parts are drawn.
    """
    further = np.zeros((0, 3)) if reach is None else reach
    mechanism = assembly.mechanism
    parts = bodies.part_surfaces(mechanism, roundness)
    extras = (*bodies.rims(mechanism), *bodies.ghost_surfaces(mechanism, ghosts))
    drawn = (*parts, *extras)
    everything = np.concatenate([*(s.mesh.vertices for s in drawn), further])
    tools = {p.name for p in mechanism.parts if p.role in TOOL_ROLES}
    points = [s.mesh.vertices[::7] for s in parts if s.name.rpartition("/")[0] in tools]
    return Stage(
        assembly,
        findings,
        parts,
        extras,
        {s.name: edge_table(s.mesh) for s in drawn if s.style.edge},
        np.array([everything.min(axis=0), everything.max(axis=0)]),
        np.concatenate(points) if points else np.zeros((0, 3)),
        further,
    )


def _layout(options: PictureOptions, scale: float) -> list[tuple[View, Area]]:
    """Each view with its part of the picture, whole pixels."""
    if options.view is not View.SHEET:
        return [(options.view, Area(0, 0, options.width, options.height))]
    low, high = round(_FOOTER * scale), options.height - round(_HEADER * scale)
    across, up = options.width // 2, (low + high) // 2
    columns = ((0, across), (across, options.width))
    rows = ((up, high), (low, up))
    return [
        (view, Area(x0, y0, x1 - x0, y1 - y0))
        for view, ((y0, y1), (x0, x1)) in zip(
            _SINGLE, [(row, column) for row in rows for column in columns], strict=True
        )
    ]


def panel_of(stage: Stage, view: View, area: Area, scale: float, *, brief: bool) -> Panel:
    """One view.

    Args:
        stage: what is shown.
        view: where to look from; not the sheet.
        area: its part of the picture.
        scale: size of letters against a picture of 1600 x 1000.
        brief: names rows, bar and numbers only.
    """
    assembly = stage.assembly
    bounds = stage.bounds + np.array([[-_GROUND_MARGIN], [_GROUND_MARGIN]]) * (1.0, 1.0, 0.0)
    shading = [s.mesh for s in stage.parts if s.style.opacity >= 1.0]
    ground, ground_lines = scenery(assembly, view, bounds, shading)
    alone = area.low == 0
    inner = area.shrunk(
        28 * scale,
        (_FOOTER + 22) * scale if alone else 34 * scale,
        28 * scale,
        (_HEADER + 18) * scale if alone else 44 * scale,
    )
    shown = (*stage.parts, *stage.extras, *ground)
    points = np.concatenate([*(s.mesh.vertices for s in shown), stage.reach])
    seen = [_Seen.along(stage, way, framed(way, points, inner, area)) for way in directions(view)]
    best = min(seen, key=_Seen.size if view is View.TOP else _Seen.veil)
    camera, toward = best.camera, best.way.toward
    bodies_seen = _seen_through((*stage.parts, *stage.extras), best.tyres)
    surfaces = _in_order((*ground, *bodies_seen), toward)
    lines = [line for line in ground_lines if len(line.ends)]
    lines.append(bodies.finger_lines(assembly.mechanism, range(len(assembly.mechanism.frames))))
    lines += edge_lines(bodies_seen, stage.edges, toward)
    panel = Panel(best.way.title, area, camera, surfaces, tuple(lines))
    if stage.findings is not None:
        found = marks(stage.findings, camera, area, assembly.scene.unit)
        panel = replace(panel, marks=found)
    kept_free = room_of(panel_scale(panel, assembly, scale))
    labels = panel_labels(assembly, panel, bounds, inner, scale, kept_free, brief=brief)
    return replace(panel, labels=labels)


@dataclass(frozen=True, eq=False)
class _Seen:
    """A way to look, and the tyres that stand in front of the tools that way."""

    way: Direction
    camera: Camera
    tyres: frozenset[str]

    @classmethod
    def along(cls, stage: Stage, way: Direction, camera: Camera) -> _Seen:
        """How the tools are seen that way, and the tyres that stand in front of them."""
        tyres = [p for p in stage.assembly.mechanism.parts if p.role is Role.TYRE]
        boxes = np.array([stage.assembly.at_work(p).bounds() for p in tyres]).reshape(-1, 2, 3)
        shares = hidden_share(stage.tools, way.toward, boxes)
        names = (p.name for p, share in zip(tyres, shares, strict=True) if share > _HIDES)
        return cls(way, camera, frozenset(names))

    def size(self) -> float:
        """How small things are shown; less is better."""
        return self.camera.half_height

    def veil(self) -> int:
        """How many tyres must be seen through beyond one; less is better."""
        return max(0, len(self.tyres) - 1)


def _seen_through(surfaces: Sequence[Surface], tyres: frozenset[str]) -> tuple[Surface, ...]:
    def shown(surface: Surface) -> Surface:
        part, _, what = surface.name.rpartition("/")
        if part not in tyres:
            return surface
        style = palette.RIM_SEEN_THROUGH if what == "rim" else palette.TYRE_SEEN_THROUGH
        return replace(surface, style=style)

    return tuple(shown(surface) for surface in surfaces)


def _in_order(surfaces: Sequence[Surface], toward: FloatArray) -> tuple[Surface, ...]:
    """Solid surfaces, then the soil that shows through, then the rest from far to near."""

    def depth(surface: Surface) -> tuple[int, float]:
        if surface.style.opacity >= 1.0:
            return 0, 0.0
        ground = surface.name.startswith("soil/")
        return (1 if ground else 2), float((surface.mesh.vertices @ toward).max())

    return tuple(sorted(surfaces, key=depth))


def edge_lines(
    surfaces: Sequence[Surface], tables: dict[str, EdgeTable], toward: FloatArray
) -> list[Lines]:
    """All edges, gathered by how they look."""
    gathered: dict[Style, list[FloatArray]] = {}
    for surface in surfaces:
        if surface.style.edge and surface.name in tables:
            gathered.setdefault(surface.style, []).append(tables[surface.name].seen(toward))
    return [
        Lines(f"edges {style.edge}", np.concatenate(ends), style.edge, style.edge_width)
        for style, ends in gathered.items()
    ]


def _frame(panel: Panel, scale: float) -> list[Drawn]:
    """Hairlines round one view of a sheet."""
    area, thin = panel.area, 1.2 * scale
    return [
        rectangle(Area(area.left, area.high - thin, area.width, thin), palette.HAIRLINE),
        rectangle(Area(area.left, area.low, area.width, thin), palette.HAIRLINE),
        rectangle(Area(area.right - thin, area.low, thin, area.height), palette.HAIRLINE),
    ]


def panel_scale(panel: Panel, assembly: Assembly, scale: float) -> list[Drawn]:
    """The panel's scale bar: along the tractor or across it, whichever lies more level."""
    camera, area = panel.camera, panel.area
    steps = {
        way: pixel_step(camera, area, np.array(axis))
        for way, axis in (("across", (0.0, 1.0, 0.0)), ("along", (1.0, 0.0, 0.0)))
    }
    way, step = max(steps.items(), key=lambda item: abs(float(item[1][0])))
    room = min(0.2 * area.width, 0.14 * area.height / max(abs(step[1]) / abs(step[0]), 1e-6))
    length = scale_length(assembly.scene.unit, room / abs(float(step[0])))
    drop = max(0.0, -float(step[1] * np.sign(step[0]))) * length
    start = (area.left + 24 * scale, area.low + 24 * scale + drop)
    slanted = abs(float(step[1])) > 0.01 * abs(float(step[0]))
    text = assembly.scene.say(length) + (f" {way}" if slanted else "")
    return scale_bar(start, step, length, text, scale)


def pixel_step(camera: Camera, area: Area, axis: FloatArray) -> FloatArray:
    """How far on the picture one mm along a world axis reaches, shape (2,), pixels."""
    ends = project(camera, area, np.stack((camera.centre, camera.centre + axis)))
    step: FloatArray = ends[1] - ends[0]
    return step
