"""Draws moving pictures: ``python -m rigmodel.view.draw_film FOLDER``, films pickled on stdin.

Like `draw`, it runs in a process of its own. One window draws every pose: between two of them only
transforms change, and the outlines that follow from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from PIL import Image
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkRenderingCore import vtkActor, vtkRenderer

from meshes_generic.transform import FloatArray, apply
from rigmodel.view.draw import (
    handed,
    lines_actor,
    overlay_props,
    pixels,
    surface_actor,
    window_of,
)
from rigmodel.view.picture import Film, Lines, Mover, Style

_COLOURS = 255  # one more is kept for what did not change
_SAMPLED = 4  # pictures the colours are chosen from


class _Stage:
    """Movers in a renderer; the outlines of all that look alike are one actor."""

    def __init__(self, movers: Sequence[Mover], renderer: vtkRenderer, toward: FloatArray) -> None:
        self._movers, self._renderer, self._toward = movers, renderer, toward
        self._outlines: list[vtkActor] = []
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
        for outline in self._outlines:
            self._renderer.RemoveActor(outline)
        self._outlines = [lines_actor(lines) for lines in self._seen(pose) if len(lines.ends)]
        for outline in self._outlines:
            self._renderer.AddActor(outline)

    def _seen(self, pose: int) -> Iterator[Lines]:
        """Outlines in a pose: they depend on the way a part is turned, so they are found anew."""
        gathered: dict[Style, list[FloatArray]] = {}
        for mover in self._movers:
            if mover.edges is not None and mover.surface is not None:
                way = mover.ways[pose]
                ends = mover.edges.seen(way[:3, :3].T @ self._toward)
                moved = apply(way, ends.reshape(-1, 3)).reshape(-1, 2, 3)
                gathered.setdefault(mover.surface.style, []).append(moved)
        for style, found in gathered.items():
            yield Lines("outlines", np.concatenate(found), style.edge, style.edge_width)


def drawn(film: Film) -> list[Image.Image]:
    """Every pose, drawn once."""
    window = window_of(film.still)
    renderers = window.GetRenderers()
    space = renderers.GetItemAsObject(1)
    over = renderers.GetItemAsObject(renderers.GetNumberOfItems() - 1)
    toward = film.still.panels[0].camera.toward
    stage = _Stage(film.movers, space, toward)
    found = []
    for pose, notes in enumerate(film.notes):
        stage.move(pose)
        space.ResetCameraClippingRange()
        props = overlay_props(notes)
        for prop in props:
            over.AddViewProp(prop)
        found.append(Image.fromarray(np.ascontiguousarray(pixels(window, film.still)[::-1])))
        for prop in props:
            over.RemoveViewProp(prop)
    return found


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
