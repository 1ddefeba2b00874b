"""Makes files to take away in a process of its own, so that nobody's check waits for them.

A checked rig is handed over as it stands: the files tell exactly what the page shows, and nothing
is read or checked again. The process is started for the first file, keeps what it has loaded for
the next, and ends when its input does: however the server ends, it does not outlive it.
"""

from __future__ import annotations

import contextlib
import io
import pickle
import subprocess
import sys
import threading
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from rigmodel.errors import RigmodelError
from rigmodel.page.checking import Checked

_PARTING = 5.0  # seconds
_TRIES = 3


class MakingError(RigmodelError):
    """A file to take away cannot be made."""


class Aside:
    """The process beside this one. All methods may be called from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._over = False

    def made(self, what: str, stem: str, checked: Checked) -> bytes:
        """The bytes of one of `downloads.OFFERED`; one is made after the other.

        Args:
            what: which.
            stem: first part of the names of files within an archive.
            checked: the rig.

        Raises:
            MakingError: with the reason.
        """
        asked = handed((what, stem, checked.assembly, checked.findings))
        with self._lock:
            for _ in range(2):  # a process that has ended in between is started again
                answer = self._answer(asked)
                if answer is not None:
                    break
            else:
                raise MakingError(
                    "the part of the server that makes files stopped over this one; nothing of the "
                    "scene is lost. Try again; its messages say why"
                )
        data, refusal = answer
        if refusal:
            raise MakingError(refusal)
        return data

    def end(self) -> None:
        """Ends the process for good; returns when it has. What it was making is given up."""
        self._over = True
        process = self._process
        if process is not None:
            process.kill()
        with self._lock:
            self._ended()

    def _answer(self, asked: bytes) -> tuple[bytes, str] | None:
        """Bytes and an empty text, or why there are none; None where the process ended over it."""
        if self._over:
            return None
        if self._process is None or self._process.poll() is not None:
            self._ended()
            self._process = _started()
        into, out = self._process.stdin, self._process.stdout
        assert into is not None
        assert out is not None
        try:
            into.write(asked)
            into.flush()
            data, refusal = pickle.load(out)  # from our own process
        except (OSError, EOFError, pickle.UnpicklingError):
            self._ended()
            return None
        return data, refusal

    def _ended(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        with contextlib.suppress(OSError):  # what is left in the pipe of one that has ended
            assert process.stdin is not None
            process.stdin.close()
        try:
            process.wait(_PARTING)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        assert process.stdout is not None
        process.stdout.close()


def _started() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "rigmodel.page.maker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )


class _Packer(pickle.Pickler):
    def reducer_override(self, value: object) -> Any:
        """Mappings that are read only, which `pickle` does not know; anything else as usual."""
        if isinstance(value, MappingProxyType):
            return _read_only, (dict(value),)
        return NotImplemented


def _read_only(held: Mapping[Any, Any]) -> Mapping[Any, Any]:
    return MappingProxyType(held)


def handed(value: object) -> bytes:
    """A value of ours for a process of ours, which loads it with `pickle`."""
    for last in (False,) * (_TRIES - 1) + (True,):
        made = io.BytesIO()
        try:
            _Packer(made, pickle.HIGHEST_PROTOCOL).dump(value)
        except RuntimeError:  # another thread has just kept an answer in a part of it
            if last:
                raise
            continue
        return made.getvalue()
    raise AssertionError("unreachable")
