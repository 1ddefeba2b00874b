"""`render_picture` and `render_sweep`: described here, drawn by a child process, written whole."""

from __future__ import annotations

from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.files import FileError, check_target, write_whole
from rigmodel.view.child import NO_GRAPHICS, NO_VTK, OFF_SCREEN, DrawingChild
from rigmodel.view.describe import describe
from rigmodel.view.film import SweepOptions, describe_sweep, sweep_options
from rigmodel.view.options import PictureError, PictureOptions, picture_options
from rigmodel.view.picture import Film, Picture

__all__ = [
    "NO_GRAPHICS",
    "NO_VTK",
    "OFF_SCREEN",
    "PictureError",
    "PictureOptions",
    "SweepOptions",
    "gif_child",
    "gif_of",
    "picture_options",
    "png_child",
    "png_of",
    "render_picture",
    "render_sweep",
    "sweep_options",
]


def png_child() -> DrawingChild:
    """A process that draws a `Picture` as PNG; started early, it warms up during other work.

    Raises:
        PictureError: it cannot be started on this machine.
    """
    return DrawingChild("rigmodel.view.draw", b"\x89PNG\r\n\x1a\n")


def gif_child() -> DrawingChild:
    """A process that draws a `Film` as GIF; started early, it warms up during other work.

    Raises:
        PictureError: it cannot be started on this machine.
    """
    return DrawingChild("rigmodel.view.draw_film", b"GIF89a")


def render_picture(
    assembly: Assembly, findings: Findings | None, options: PictureOptions, target: Path
) -> None:
    """Draws a rig and writes it as a PNG, whole or not at all.

    Args:
        assembly: the rig.
        findings: what `check` found, to be marked; None for a rig that was not checked.
        options: what to show, how large, and whether a file that is there may be written over.
        target: the PNG to write; its folder must be there.

    Raises:
        PictureError: the file is there already or cannot be written, or no picture can be drawn
            on this machine.
    """
    _check(target, options.replace)
    with png_child() as child:
        _write(target, child.draw(describe(assembly, findings, options)), options.replace)


def render_sweep(
    assembly: Assembly, findings: Findings | None, options: SweepOptions, target: Path
) -> None:
    """Draws a rig in motion and writes it as a GIF that loops, whole or not at all.

    Args:
        assembly: the rig.
        findings: what `check` found; the worst one on the way is marked where its pose is near.
        options: what moves, how large, and whether a file that is there may be written over.
        target: the GIF to write; its folder must be there.

    Raises:
        PictureError: nothing on the rig moves that way, the file is there already or cannot be
            written, or no picture can be drawn on this machine.
    """
    _check(target, options.replace)
    with gif_child() as child:
        _write(target, child.draw(describe_sweep(assembly, findings, options)), options.replace)


def png_of(picture: Picture) -> bytes:
    """The picture drawn, as the bytes of a PNG.

    Raises:
        PictureError: no picture can be drawn on this machine.
    """
    with png_child() as child:
        return child.draw(picture)


def gif_of(film: Film) -> bytes:
    """The film drawn, as the bytes of a GIF.

    Raises:
        PictureError: no picture can be drawn on this machine.
    """
    with gif_child() as child:
        return child.draw(film)


def _check(target: Path, replace: bool) -> None:
    try:
        check_target(target, replace)
    except FileError as error:
        raise PictureError(str(error)) from None


def _write(target: Path, data: bytes, replace: bool) -> None:
    try:
        write_whole(target, data, replace)
    except FileError as error:
        raise PictureError(str(error)) from None
