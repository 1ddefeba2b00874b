"""The process that draws: started early, fed, and never able to take this one with it.

Drawing needs a graphics library that works without a screen. Where it is missing the drawing
process dies; this one then says what to install. Starting it takes about as long as describing a
picture, so the two go on side by side.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import tempfile
import time
from concurrent.futures import Future, ThreadPoolExecutor
from concurrent.futures import TimeoutError as FutureTimeoutError
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path
from types import TracebackType

from rigmodel.view.options import PictureError

# The off screen window that needs no display server. Where EGL does not start, the drawing
# library goes on to OSMesa by itself. Other systems than Linux have one kind of window only.
OFF_SCREEN = "vtkEGLRenderWindow"
_WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "XAUTHORITY")
_PATIENCE_S = 180.0
_SAID = "errors"
_RAISED = 1  # what Python returns after an exception; without graphics the child dies otherwise
_CANNOT = "cannot draw pictures: "
_INSTALL = "on Debian or Ubuntu: apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri"
NO_GRAPHICS = (
    f"{_CANNOT}no OpenGL library that works without a screen (EGL or OSMesa) is here; {_INSTALL}"
)
NO_VTK = f"{_CANNOT}the Python package vtk is not installed; pip install vtk"


class DrawingChild:
    """A drawing process that waits for what it has to draw; use it in a ``with`` statement.

    It draws one thing while this process describes the next.
    """

    def __init__(self, module: str, signature: bytes) -> None:
        """Starts the process.

        Args:
            module: what it runs; it takes a folder's name, reads what to draw from stdin, one
                after the other, and writes files named 0, 1 and so on.
            signature: how the bytes of a file it writes must begin.

        Raises:
            PictureError: it cannot be started on this machine.
        """
        if find_spec("vtkmodules") is None:
            raise PictureError(NO_VTK)
        self._signature = signature
        self._handed: list[Future[None]] = []
        self._scratch = tempfile.TemporaryDirectory(prefix="rigmodel-")
        self._folder = Path(self._scratch.name)
        try:
            with (self._folder / _SAID).open("wb") as said:
                self._process = subprocess.Popen(
                    [sys.executable, "-P", "-m", module, str(self._folder)],
                    env=environment(),
                    cwd=self._folder,
                    stdin=subprocess.PIPE,
                    stdout=subprocess.DEVNULL,
                    stderr=said,
                )
        except OSError as error:
            self._scratch.cleanup()
            raise PictureError(f"{_CANNOT}{error.strerror}") from None
        self._feeder = ThreadPoolExecutor(1)  # the pipe is full while it draws

    def __enter__(self) -> DrawingChild:
        """The process, started."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Ends the process if it is still there, and clears up after it."""
        self._process.kill()
        self._process.wait()
        self._feeder.shutdown(cancel_futures=True)
        self._close()
        self._scratch.cleanup()

    def hand(self, described: object) -> None:
        """Gives it one more thing to draw, and does not wait.

        Args:
            described: plain data that its module draws.
        """
        self._handed.append(self._feeder.submit(self._feed, described))

    def drawn(self) -> list[bytes]:
        """All that was handed to it, drawn, as the bytes of files; to be called once.

        Raises:
            PictureError: it cannot draw on this machine.
        """
        code, said = self._finish()
        if code == _RAISED:
            raise PictureError(_told(said))
        files = [self._folder / str(i) for i in range(len(self._handed))]
        made = [file.read_bytes() for file in files if file.exists()]
        whole = [data for data in made if data.startswith(self._signature)]
        if code or len(whole) < len(files):
            raise PictureError(NO_GRAPHICS)
        return whole

    def draw(self, described: object) -> bytes:
        """What it draws, as the bytes of a file; to be called once.

        Args:
            described: plain data that its module draws.

        Raises:
            PictureError: it cannot draw on this machine.
        """
        self.hand(described)
        return self.drawn()[-1]

    def _feed(self, described: object) -> None:
        assert self._process.stdin is not None  # it was asked for
        with suppress(OSError):  # it died; its exit code tells
            pickle.dump(described, self._process.stdin, pickle.HIGHEST_PROTOCOL)
            self._process.stdin.flush()

    def _close(self) -> None:
        assert self._process.stdin is not None  # it was asked for
        with suppress(OSError):
            self._process.stdin.close()

    def _finish(self) -> tuple[int, str]:
        """Its exit code (negative: killed by a signal) and its errors, once it has drawn."""
        end = time.monotonic() + _PATIENCE_S
        closed = self._feeder.submit(self._close)
        try:
            closed.result(_PATIENCE_S)
            self._process.wait(max(0.0, end - time.monotonic()))
        except (subprocess.TimeoutExpired, FutureTimeoutError):
            raise PictureError(f"{_CANNOT}no picture after {_PATIENCE_S:g} seconds") from None
        return self._process.returncode, (self._folder / _SAID).read_text(errors="replace")


def _told(said: str) -> str:
    """One line on what the child raised: the last line of its traceback."""
    lines = [line for line in said.splitlines() if line and not line[0].isspace()]
    last = lines[-1] if lines else "the drawing process failed"
    missing = "cannot open shared object file" in last
    return f"{_CANNOT}{last}" + (f"; {_INSTALL} libgl1" if missing else "")


def environment() -> dict[str, str]:
    """This process's environment without its screens, and with this very package to import."""
    env = {name: value for name, value in os.environ.items() if name not in _SCREENS}
    if sys.platform.startswith("linux"):
        env[_WINDOW] = OFF_SCREEN
    here = str(Path(__file__).resolve().parents[2])
    given = [os.path.abspath(p) for p in env.get("PYTHONPATH", "").split(os.pathsep) if p]
    env["PYTHONPATH"] = os.pathsep.join([here, *given])
    return env
