"""`render_picture`: describes a picture, has it drawn by a child process, and writes the PNG.

Drawing needs a graphics library that works without a screen. Where it is missing the drawing
process dies; this one then says what to install.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Findings
from rigmodel.files import FileError, check_target, write_whole
from rigmodel.view.describe import describe
from rigmodel.view.options import PictureError, PictureOptions, picture_options
from rigmodel.view.picture import Picture

__all__ = ["PictureError", "PictureOptions", "picture_options", "png_of", "render_picture"]

# The off screen window that needs no display server. Where EGL does not start, the drawing
# library goes on to OSMesa by itself. Other systems than Linux have one kind of window only.
OFF_SCREEN = "vtkEGLRenderWindow"
_WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY")
_PATIENCE_S = 180.0
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_RAISED = 1  # what Python returns after an exception; without graphics the child dies otherwise
_CANNOT = "cannot draw pictures: "
_INSTALL = "on Debian or Ubuntu: apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri"
NO_GRAPHICS = (
    f"{_CANNOT}no OpenGL library that works without a screen (EGL or OSMesa) is here; {_INSTALL}"
)
NO_VTK = f"{_CANNOT}the Python package vtk is not installed; pip install vtk"


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
    try:
        check_target(target, options.replace)
        write_whole(target, png_of(describe(assembly, findings, options)), options.replace)
    except FileError as error:
        raise PictureError(str(error)) from None


def png_of(picture: Picture) -> bytes:
    """The picture drawn, as the bytes of a PNG.

    Raises:
        PictureError: no picture can be drawn on this machine.
    """
    if find_spec("vtkmodules") is None:
        raise PictureError(NO_VTK)
    described = pickle.dumps(picture, protocol=pickle.HIGHEST_PROTOCOL)
    with tempfile.TemporaryDirectory(prefix="rigmodel-") as folder:
        file = Path(folder) / "picture.png"
        code, said = _run_child(described, file)
        if code == _RAISED:
            raise PictureError(_told(said))
        try:
            data = file.read_bytes()
        except FileNotFoundError:
            raise PictureError(NO_GRAPHICS) from None
    if code or not data.startswith(_SIGNATURE):
        raise PictureError(NO_GRAPHICS)
    return data


def _run_child(described: bytes, file: Path) -> tuple[int, str]:
    """Draws in a child process; its exit code (negative: killed by a signal) and its errors."""
    command = [sys.executable, "-P", "-m", "rigmodel.view.draw", str(file)]
    try:
        done = subprocess.run(
            command,
            input=described,
            env=_environment(),
            cwd=file.parent,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            timeout=_PATIENCE_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise PictureError(f"{_CANNOT}no picture after {_PATIENCE_S:g} seconds") from None
    except OSError as error:
        raise PictureError(f"{_CANNOT}{error.strerror}") from None
    return done.returncode, done.stderr.decode(errors="replace")


def _told(said: str) -> str:
    """One line on what the child raised: the last line of its traceback."""
    lines = [line for line in said.splitlines() if line and not line[0].isspace()]
    last = lines[-1] if lines else "the drawing process failed"
    missing = "cannot open shared object file" in last
    return f"{_CANNOT}{last}" + (f"; {_INSTALL} libgl1" if missing else "")


def _environment() -> dict[str, str]:
    """This process's environment without its screens, and with this very package to import."""
    env = {name: value for name, value in os.environ.items() if name not in _SCREENS}
    if sys.platform.startswith("linux"):
        env[_WINDOW] = OFF_SCREEN
    here = str(Path(__file__).resolve().parents[2])
    given = [os.path.abspath(p) for p in env.get("PYTHONPATH", "").split(os.pathsep) if p]
    env["PYTHONPATH"] = os.pathsep.join([here, *given])
    return env
