"""Turns a STEP file into triangles, in a process of its own.

The converter is an optional package. It prints where a report may be printed, and a broken file
may end its process: so it runs apart, with a time limit, and only its answer comes back.
"""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec

SECONDS = 120.0
SAG_MM = 0.1
"""Round faces are cut into flat ones that lie no farther than this off them."""

_STEP = "a STEP file with closed bodies"


class StepError(Exception):
    """Why a STEP file could not be turned into triangles."""

    def __init__(self, problem: str, expected: str = _STEP, hint: str = "") -> None:
        self.problem, self.expected, self.hint = problem, expected, hint
        super().__init__(problem)


def step_as_glb(data: bytes) -> bytes:
    """The bodies of a STEP file as GLB; in metres, whatever the unit the file states.

    Raises:
        StepError: the converter is not installed, or gives no answer.
    """
    if find_spec("cascadio") is None:
        install = "pip install 'rigmodel[step]', or save it as STL"
        raise StepError("needs a package that is not installed", "cascadio", install)
    try:
        done = subprocess.run(
            [sys.executable, "-I", __file__],
            input=data,
            capture_output=True,
            timeout=SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise StepError(
            f"takes longer than {SECONDS:.0f} s to convert", hint="save it as STL"
        ) from None
    if done.returncode != 0 or not done.stdout:
        raise StepError("cannot be read as STEP")
    return done.stdout


def _convert() -> None:
    """The child: STEP on stdin, GLB on stdout; what the converter prints goes nowhere."""
    data = sys.stdin.buffer.read()
    answer = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    import cascadio  # noqa: PLC0415

    glb = cascadio.load(data, "step", tol_linear=SAG_MM, tol_angular=0.5)
    with os.fdopen(answer, "wb") as stream:
        stream.write(glb)


if __name__ == "__main__":
    _convert()
