"""Processes that work on sessions, and who works on which: a session stays with one of them.

What a check has in common with the one before is kept in a process's memory, so a session is asked
for where it was last time. Everything that matters is on disk: if a process ends, another one goes
on, and if two of them work on one session, neither overwrites the other.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import subprocess
import sys
import threading
from collections import OrderedDict
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType

from rigmodel.errors import RigmodelError

_PARTING = 5.0  # seconds
_MOST = 8  # processes
_REMEMBERED = 512  # sessions


class WorkerError(RigmodelError):
    """A process that works on sessions does not start."""


class Worker:
    """One process; started when it is first wanted, and again when it is found to have ended.

    Args:
        folder: where sessions are kept.
        token: what the process wants to be told in each request.
    """

    def __init__(self, folder: Path, token: str) -> None:
        self._folder, self._token = folder, token
        self._lock = threading.Lock()
        self._port: int | None = None
        self._process: subprocess.Popen[str] | None = None

    def begin(self) -> None:
        """Starts it, and waits for nothing."""
        with self._lock:
            self._running()

    def port(self) -> int:
        """Where it listens on this machine; waits until it does.

        Raises:
            WorkerError: it does not start.
        """
        with self._lock:
            process = self._running()
            if self._port is None:
                assert process.stdout is not None
                line = process.stdout.readline()
                if not line.strip().isdigit():
                    raise WorkerError("a part of the server does not start; see its messages")
                self._port = int(line)
            return self._port

    def end(self) -> None:
        """Lets it end; returns when it has."""
        with self._lock:
            process, self._process = self._process, None
            if process is None:
                return
            if self._port is None:  # nobody has asked it for anything yet
                process.kill()
            try:
                process.communicate(timeout=_PARTING)
            except subprocess.TimeoutExpired:
                process.kill()
                process.communicate()

    def _running(self) -> subprocess.Popen[str]:
        if self._process is not None and self._process.poll() is not None:
            self._process.communicate()
            self._process = None
        if self._process is None:
            self._process, self._port = self._started(), None
        return self._process

    def _started(self) -> subprocess.Popen[str]:
        # Its arrays are small: threads of the numeric library would only be in each other's way.
        environment = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", **os.environ}
        process = subprocess.Popen(
            [sys.executable, "-m", "rigmodel.page.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=environment,
        )
        assert process.stdin is not None
        told = {"folder": str(self._folder.resolve()), "token": self._token}
        with contextlib.suppress(BrokenPipeError):  # it has ended already, which is seen later
            process.stdin.write(json.dumps(told) + "\n")
            process.stdin.flush()
        return process


class Workers:
    """All of them; a context that starts the first, others when they are wanted, and ends all.

    Args:
        folder: where sessions are kept.
        count: how many; as many as there are cores if not given.
    """

    def __init__(self, folder: Path, count: int | None = None) -> None:
        self.token = secrets.token_urlsafe(16)
        wanted = cores() if count is None else count
        self._workers = tuple(Worker(folder, self.token) for _ in range(min(wanted, _MOST)))
        self._whose: OrderedDict[str, Worker] = OrderedDict()

    def __enter__(self) -> Workers:
        self._workers[0].begin()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        where: TracebackType | None,
    ) -> None:
        """Ends all of them."""
        for worker in self._workers:
            worker.end()

    @property
    def first(self) -> Worker:
        """The one that was started first."""
        return self._workers[0]

    def of(self, id: str) -> Worker:
        """Who works on a session: the same as before, else the one with the fewest."""
        found = self._whose.get(id)
        if found is None:
            found = self._next()
            self._whose[id] = found
            while len(self._whose) > _REMEMBERED:
                self._whose.popitem(last=False)
        self._whose.move_to_end(id)
        return found

    def get_ready(self) -> None:
        """Starts the one that works on the next session, and does not wait for it."""
        self._next().begin()

    def _next(self) -> Worker:
        whose = tuple(self._whose.values())
        return min(self._workers, key=lambda w: _count(w, whose))


def _count(worker: Worker, whose: Iterable[Worker]) -> int:
    return sum(1 for one in whose if one is worker)


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):  # not on every system
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
