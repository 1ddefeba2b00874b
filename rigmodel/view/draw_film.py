"""Draws moving pictures: ``python -m rigmodel.view.draw_film FOLDER``, films pickled on stdin.

Like `draw`, it runs in a process of its own. What stands still is drawn once. One window draws
every pose of the part in which anything moves: between two of them only transforms change, and the
outlines that follow from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer

from meshes_generic.transform import FloatArray, apply
from rigmodel.view.crop import cropped, region, shifted
from rigmodel.view.draw import (
    Pixels,
    handed,
    lines_actor,
    overlay_props,
    pixels,
    strokes,
    surface_actor,
    window_of,
)
from rigmodel.view.picture import Drawn, Film, Lines, Mover, Style

_COLOURS = 255  # one more is kept for what did not change
_SAMPLED = 4  # pictures the colours are chosen from


class _Stage:
    """Movers in a renderer; the outlines of all that look alike are one actor."""

    def __init__(self, movers: Sequence[Mover], renderer: vtkRenderer, toward: FloatArray) -> None:
        self._movers, self._renderer, self._toward = movers, renderer, toward
        self._outlines: dict[Style, vtkActor] = {}
        self._actors: list[tuple[Mover, vtkActor]] = []
        for mover in movers:
            if mover.surface is not None:
                actor = surface_actor(mover.surface.mesh, mover.surface.style)
                self._actors.append((mover, actor))
            if mover.strokes is not None:
                self._actors.append((mover, lines_actor(mover.strokes)))
        for _, actor in self._actors:
            renderer.AddActor(actor)

    def move(self, pose: int) -> None:
        """Carries everything to a pose."""
        for mover, actor in self._actors:
            matrix = vtkMatrix4x4()
            matrix.DeepCopy(mover.ways[pose].ravel().tolist())
            actor.SetUserMatrix(matrix)
        for style, ends in self._seen(pose).items():
            if style not in self._outlines:
                actor = lines_actor(Lines("outlines", ends, style.edge, style.edge_width))
                self._outlines[style] = actor
                self._renderer.AddActor(actor)
            mapper = self._outlines[style].GetMapper()
            assert isinstance(mapper, vtkPolyDataMapper)  # as every actor of lines has
            mapper.SetInputData(strokes(ends))

    def _seen(self, pose: int) -> dict[Style, FloatArray]:
        """Outlines in a pose: they depend on the way a part is turned, so they are found anew."""
        gathered: dict[Style, list[FloatArray]] = {}
        for mover in self._movers:
            if mover.edges is not None and mover.surface is not None:
                way = mover.ways[pose]
                ends = mover.edges.seen(way[:3, :3].T @ self._toward)
                moved = apply(way, ends.reshape(-1, 3)).reshape(-1, 2, 3)
                gathered.setdefault(mover.surface.style, []).append(moved)
        return {style: np.concatenate(found) for style, found in gathered.items()}


class _Cut:
    """A window on the part of a picture in which anything moves; the rest is drawn once."""

    def __init__(self, film: Film) -> None:
        self._film, self._area = film, region(film)
        self._shift = (-self._area.left, -self._area.low)
        part = cropped(film.still, self._area)
        self._window, self._part = window_of(part), part
        renderers = self._window.GetRenderers()
        self._space = renderers.GetItemAsObject(1)
        self._over = renderers.GetItemAsObject(renderers.GetNumberOfItems() - 1)
        self._stage = _Stage(film.movers, self._space, part.panels[0].camera.toward)
        self._grounds: dict[tuple[Drawn, ...], Pixels] = {}

    def picture(self, pose: int) -> Pixels:
        """One pose, rows from above."""
        notes = self._film.notes[pose]
        self._stage.move(pose)
        self._space.ResetCameraClippingRange()
        props = overlay_props(shifted(notes, *self._shift))
        for prop in props:
            self._over.AddViewProp(prop)
        moving = pixels(self._window, self._part)
        for prop in props:
            self._over.RemoveViewProp(prop)
        whole = self._ground(notes).copy()
        left, low = int(self._area.left), int(self._area.low)
        whole[low : low + self._part.height, left : left + self._part.width] = moving
        return np.ascontiguousarray(whole[::-1])

    def _ground(self, notes: tuple[Drawn, ...]) -> Pixels:
        """The picture without what moves, rows from below; drawn once for each set of notes."""
        if notes not in self._grounds:
            still = self._film.still
            noted = replace(still, overlay=(*still.overlay, *notes))
            self._grounds[notes] = pixels(window_of(noted), noted)
        return self._grounds[notes]


def drawn(film: Film) -> list[Image.Image]:
    """Every pose, drawn once."""
    cut = _Cut(film)
    return [Image.fromarray(cut.picture(pose)) for pose in range(len(film.notes))]


def write_gif(images: list[Image.Image], film: Film, file: Path) -> None:
    """Writes the loop; all its pictures share one table of colours, so that nothing flickers."""
    step = max(1, len(images) // _SAMPLED)
    chosen = [np.asarray(image) for image in images[::step]]
    table = Image.fromarray(np.concatenate(chosen)).quantize(_COLOURS, Image.Quantize.MEDIANCUT)
    plain = [image.quantize(palette=table, dither=Image.Dither.NONE) for image in images]
    loop = [plain[pose] for pose in film.order]
    loop[0].save(
        file,
        "GIF",
        save_all=True,
        append_images=loop[1:],
        duration=film.pause_ms,
        loop=0,
        optimize=False,
        disposal=1,
    )


def main() -> None:
    """Reads films from stdin and writes them into the folder named on the command line."""
    for film, file in handed(Film):
        write_gif(drawn(film), film, Path(file))


if __name__ == "__main__":
    main()
