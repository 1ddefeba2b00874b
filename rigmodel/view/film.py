"""`describe_sweep(assembly, findings, options) -> Film`: a moving picture as plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from meshes_generic.mesh import merge
from meshes_generic.transform import FloatArray, apply
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Findings
from rigmodel.view import bodies, palette
from rigmodel.view.describe import Stage, edge_lines, panel_of, panel_scale, stage_of
from rigmodel.view.edges import EdgeTable
from rigmodel.view.marks import COLOURS, mark_drawing
from rigmodel.view.motions import SAYS, Motion, moving_frames, sweep_of, worst_on_the_way
from rigmodel.view.options import (
    LEAST_PIXELS,
    PictureError,
    View,
    choice_of,
    read_size,
)
from rigmodel.view.overlay import header, label_drawing, legend, panel_overlay
from rigmodel.view.picture import (
    Align,
    Area,
    Drawn,
    Film,
    Label,
    Mover,
    Panel,
    Picture,
    Style,
    Surface,
    Words,
)

MOST_WIDE, MOST_HIGH = 900, 900
_LETTERS = 0.8  # size of letters against a picture of 1600 x 1000
_MARK = 11.0  # half-width of the mark, pixels
_PAUSE_MS = {1: 80, 2: 110}  # of one motion, of several
_EDGES, _FINGERS = "edges ", "fingers"


@dataclass(frozen=True)
class SweepOptions:
    """What a moving picture should show.

    Attributes:
        motion: what moves.
        view: where to look from; not the sheet.
        width: pixels.
        height: pixels.
        replace: whether a file that is there may be written over.
    """

    motion: Motion
    view: View = View.THREE_QUARTER
    width: int = 800
    height: int = 500
    replace: bool = False

    def __post_init__(self) -> None:
        """Refuses what makes too large a file, and four views at once."""
        if self.view is View.SHEET:
            raise PictureError("a sweep shows one view: three-quarter, top, front or side")
        for name, pixels, most in (
            ("width", self.width, MOST_WIDE),
            ("height", self.height, MOST_HIGH),
        ):
            if not LEAST_PIXELS <= pixels <= most:
                raise PictureError(
                    f"a sweep's {name} must be {LEAST_PIXELS} to {most} pixels, not {pixels}"
                )


def sweep_options(motion: str, view: str, size: str, replace: bool) -> SweepOptions:
    """Reads the options as they are written on the command line.

    Args:
        motion: ``float``, ``trip``, ``lift``, ``steer`` or ``all``.
        view: such as ``side``.
        size: such as ``800x500``; an empty text takes that.
        replace: whether a file that is there may be written over.

    Raises:
        PictureError: one of them does not read.
    """
    width, height = read_size(size or "800x500")
    return SweepOptions(
        choice_of(Motion, motion.strip().lower(), "a sweep"),
        choice_of(View, view.strip().lower(), "a view"),
        width,
        height,
        replace,
    )


def describe_sweep(assembly: Assembly, findings: Findings | None, options: SweepOptions) -> Film:
    """Describes a moving picture; nothing is drawn.

    Args:
        assembly: the rig.
        findings: what `check` found; the worst one on the way is marked where its pose is near.
        options: what to show.

    Raises:
        PictureError: nothing on this rig moves that way.
    """
    sweep = sweep_of(assembly, options.motion)
    found = worst_on_the_way(assembly, findings, sweep)
    frames = moving_frames(assembly, sweep)
    stage = stage_of(assembly, _only(found), (), _reach(assembly, frames), bodies.ROUGH)
    whole = Area(0, 0, options.width, options.height)
    panel = panel_of(stage, options.view, whole, _LETTERS, brief=True)
    still, movers = _parted(stage, panel, frames)
    number, labels = _number_apart(panel)
    if assembly.mechanism.part("bar").frame in frames:  # a name must not stay where its thing was
        labels = tuple(label for label in labels if label.colour != palette.INK)
    still = replace(still, labels=labels, marks=())
    overlay = [
        *panel_overlay(still, _LETTERS),
        *panel_scale(still, assembly, _LETTERS),
        *header(assembly.scene.spec.name, findings, whole, _LETTERS),
        *legend(panel.marks, False, whole, _LETTERS),
    ]
    near = found[1] if found else (False,) * len(sweep.poses)
    marked = [d for label in number for d in label_drawing(label, _LETTERS)]
    marked += [d for mark in panel.marks for d in mark_drawing(mark, _MARK)]
    notes = tuple(
        (*_caption(motion, whole), *(marked if shown else ()))
        for motion, shown in zip(sweep.motions, near, strict=True)
    )
    picture = Picture(options.width, options.height, palette.BACKGROUND, (still,), tuple(overlay))
    pause = _PAUSE_MS[min(2, len(set(sweep.motions)))]
    return Film(picture, movers, notes, sweep.order, pause)


def _only(found: tuple[Finding, Sequence[bool]] | None) -> Findings:
    """One finding by itself, or none, so that only it is marked."""
    return Findings("", (found[0],) if found else (), (), ())


def _caption(motion: Motion, area: Area) -> list[Drawn]:
    """What moves, under the view's name in the upper right corner."""
    at = (area.right - 24 * _LETTERS, area.high - 56 * _LETTERS)
    return [Words(SAYS[motion], at, 19 * _LETTERS, palette.INK, bold=True, align=Align.RIGHT)]


def _number_apart(panel: Panel) -> tuple[tuple[Label, ...], tuple[Label, ...]]:
    """The labels of marks, and all others."""
    inks = {COLOURS[mark.shape] for mark in panel.marks}
    numbers = tuple(label for label in panel.labels if label.colour in inks)
    return numbers, tuple(label for label in panel.labels if label.colour not in inks)


def _reach(assembly: Assembly, frames: Mapping[int, FloatArray]) -> FloatArray:
    """Corners (n, 3) of the boxes round everything that moves, wherever it moves to, mm."""
    corners = [np.zeros((0, 3))]
    for part in assembly.mechanism.parts:
        if part.frame in frames:
            bounds = assembly.at_work(part).bounds()
            box = np.array(
                [[bounds[i, k] for k, i in enumerate(c)] for c in product((0, 1), repeat=3)]
            )
            corners += [apply(way, box) for way in frames[part.frame]]
    return np.concatenate(corners)


def _parted(
    stage: Stage, panel: Panel, frames: Mapping[int, FloatArray]
) -> tuple[Panel, tuple[Mover, ...]]:
    """The panel without what moves, and what moves."""
    mechanism = stage.assembly.mechanism
    carried = {part.name: part.frame for part in mechanism.parts if part.frame in frames}
    moving = [s for s in panel.surfaces if _part_of(s) in carried]
    still = tuple(s for s in panel.surfaces if _part_of(s) not in carried)
    gathered: dict[tuple[int, Style], list[Surface]] = {}
    for surface in moving:
        gathered.setdefault((carried[_part_of(surface)], surface.style), []).append(surface)
    movers = [
        _mover(surfaces, stage.edges, frames[frame]) for (frame, _), surfaces in gathered.items()
    ]
    for frame, ways in frames.items():
        strokes = bodies.finger_lines(mechanism, (frame,))
        if len(strokes.ends):
            movers.append(Mover(None, None, strokes, ways))
    lines = [line for line in panel.lines if not line.name.startswith((_EDGES, _FINGERS))]
    lines += edge_lines(still, stage.edges, panel.camera.toward)
    staying = [i for i in range(len(mechanism.frames)) if i not in frames]
    lines.append(bodies.finger_lines(mechanism, staying))
    return replace(panel, surfaces=still, lines=tuple(lines)), tuple(movers)


def _part_of(surface: Surface) -> str:
    return surface.name.rpartition("/")[0]


def _mover(surfaces: Sequence[Surface], tables: Mapping[str, EdgeTable], ways: FloatArray) -> Mover:
    first = surfaces[0]
    mesh = merge(surface.mesh for surface in surfaces)
    found = [tables[s.name] for s in surfaces if s.style.edge and s.name in tables]
    edges = (
        EdgeTable(
            np.concatenate([table.ends for table in found]),
            np.concatenate([table.normals for table in found]),
        )
        if found
        else None
    )
    return Mover(Surface(first.name, mesh, first.style), edges, None, ways)
