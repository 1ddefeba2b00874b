"""Several processes behind one server: who works on what, and what becomes of it when one ends."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from rigmodel.page.actions import act
from rigmodel.page.listening import listen
from rigmodel.page.precedence import Precedence
from rigmodel.page.store import Store
from rigmodel.page.workers import Worker, WorkerError, Workers
from tests.page.scenes import opened, scene_text

OWN = {"Content-Type": "application/json", "X-Rigmodel": "1"}
PROGRAM = """
import sys
from pathlib import Path
from rigmodel.page import workers
from rigmodel.page.serve import serve
workers.cores = lambda: 2
serve(None, "127.0.0.1", 0, lambda told: print(told, flush=True), Path(sys.argv[1]))
"""


@dataclass(frozen=True)
class Running:
    """A server as the command starts it, in a process of its own."""

    process: subprocess.Popen[str]
    port: int
    store: Store

    def ask(self, method: str, path: str, body: object = None) -> tuple[int, Any]:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            link.request(method, path, None if body is None else json.dumps(body), OWN)
            answer = link.getresponse()
            return answer.status, json.loads(answer.read())
        finally:
            link.close()

    def new(self) -> str:
        id: str = self.ask("POST", "/open", {"kind": "demo", "name": "new"})[1]["id"]
        return id

    def height(self, id: str, typed: str) -> tuple[int, Any]:
        version = self.ask("GET", f"/s/{id}/state")[1]["version"]
        change = {"what": "set", "path": ["toolbar", "height"], "typed": typed, "version": version}
        return self.ask("POST", f"/s/{id}/do", change)

    def workers(self) -> list[int]:
        """Numbers of the processes that it started (Linux: from what the kernel tells)."""
        found = []
        for status in Path("/proc").glob("[0-9]*/stat"):
            try:
                fields = status.read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(fields[1]) == self.process.pid and fields[0] != "Z":
                found.append(int(status.parent.name))
        return found


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Running]:
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(tmp_path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    assert process.stdout is not None
    port = int(process.stdout.readline().strip().rstrip("/").rpartition(":")[2])
    yield Running(process, port, Store(tmp_path))
    process.kill()
    process.communicate()


def ended(pid: int) -> bool:
    """Waits until a process is gone, or only its entry is left."""
    told = threading.Event()
    for _ in range(400):
        try:
            status = Path(f"/proc/{pid}/stat").read_text()
        except OSError:
            return True
        if status.rpartition(")")[2].split()[0] == "Z":
            return True
        told.wait(0.05)
    return False


def test_a_session_stays_with_its_process_and_each_has_as_many(tmp_path: Path) -> None:
    with Workers(tmp_path, 3) as workers:
        ids = [f"{k:022}" for k in range(30)]
        first = [workers.of(id) for id in ids]
        assert [workers.of(id) for id in ids] == first
        assert set(Counter(map(id, first)).values()) == {10}


def test_users_at_once_each_find_their_own_work(running: Running) -> None:
    ids = [running.new() for _ in range(6)]

    def work(number: int) -> list[int]:
        return [running.height(ids[number], f"{20 + number} {k}/16")[0] for k in (1, 3, 5)]

    with ThreadPoolExecutor(6) as users:
        assert all(code == 200 for codes in users.map(work, range(6)) for code in codes)
    for number, id in enumerate(ids):
        assert f"height: {20 + number} 5/16" in running.store.get(id).record.text


def test_a_process_that_ends_is_started_again_and_nothing_is_lost(running: Running) -> None:
    ids = [running.new() for _ in range(4)]
    for id in ids:
        assert running.height(id, "20 1/8")[0] == 200
    before = running.workers()
    assert len(before) == 2
    for pid in before:
        os.kill(pid, signal.SIGKILL)
        assert ended(pid)
    for id in ids:
        code, told = running.ask("GET", f"/s/{id}/state")
        assert code == 200
        assert "height: 20 1/8" in told["text"]
        assert running.height(id, "20 1/4")[0] == 200
        assert running.ask("POST", f"/s/{id}/do", {"what": "undo", "version": 3})[0] == 200
    assert not set(before) & set(running.workers())


def test_a_change_asked_of_a_process_that_has_just_ended_is_made_once(running: Running) -> None:
    id = running.new()
    version = running.ask("GET", f"/s/{id}/state")[1]["version"]
    for pid in running.workers():
        os.kill(pid, signal.SIGKILL)
        assert ended(pid)
    change = {"what": "set", "path": ["toolbar", "height"], "typed": "21", "version": version}
    code, told = running.ask("POST", f"/s/{id}/do", change)
    if code == 503:  # the connection was still there: nobody knows whether it was made
        assert "started again" in told["message"]
        code, told = running.ask("POST", f"/s/{id}/do", change)
    assert code in (200, 409)
    assert running.store.get(id).record.version == version + 1


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_process_outlives_the_server(running: Running, how: signal.Signals) -> None:
    for _ in range(2):
        running.ask("GET", f"/s/{running.new()}/state")
    started = running.workers()
    assert len(started) == 2
    if how is signal.SIGINT:  # Ctrl+C goes to all that the terminal started
        os.killpg(running.process.pid, how)
    else:
        running.process.send_signal(how)
    running.process.wait(20)
    assert all(ended(pid) for pid in started)
    assert running.process.stderr is not None
    told = running.process.stderr.read()
    assert "rigmodel/page/worker" not in told


def test_a_process_answers_to_its_server_only(tmp_path: Path) -> None:
    with Workers(tmp_path, 1) as workers:
        link = http.client.HTTPConnection("127.0.0.1", workers.of("x" * 22).port(), timeout=60)
        link.request("GET", f"/s/{'x' * 22}/state", headers=OWN)
        assert link.getresponse().status == 403
        link.close()


def test_a_process_that_does_not_start_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", "/bin/true")
    worker = Worker(tmp_path, "token")
    with pytest.raises(WorkerError, match="does not start"):
        worker.port()
    worker.end()


@pytest.mark.parametrize("host", ["127.0.0.1", "::1", "[::1]"])
def test_what_is_written_is_sent_at_once(host: str) -> None:
    with listen(host, 0) as listening:
        address = listening.getsockname()[:2]
        with socket.create_connection(address), listening.accept()[0] as one:
            assert one.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0


def test_what_nobody_waits_for_gives_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rigmodel.page.precedence._PATIENCE", 60.0)
    precedence, begun, done = Precedence(), threading.Event(), threading.Event()

    def rest() -> None:
        begun.set()
        precedence.give_way()
        done.set()

    with precedence.first(), precedence.first():
        thread = threading.Thread(target=rest)
        thread.start()
        assert begun.wait(20.0)
        assert not done.wait(0.2)
    assert done.wait(20.0)
    thread.join()
    monkeypatch.setattr("rigmodel.page.precedence._PATIENCE", 0.01)
    with precedence.first():
        precedence.give_way()  # not for ever: the rest must end as well


def test_remedies_wait_while_somebody_does_and_come_then(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("rigmodel.page.precedence._PATIENCE", 60.0)
    asked = threading.Event()
    give_way = Precedence.give_way

    def giving(self: Precedence) -> None:
        asked.set()
        give_way(self)

    monkeypatch.setattr(Precedence, "give_way", giving)
    store = Store(tmp_path)
    text = scene_text("four-narrow-rows-clash")
    with store.precedence.first():
        session = opened(store, text, "clash.yaml")
        assert asked.wait(60.0)
        assert session.checked is not None
        assert not session.checked.cured
        change = {"what": "set", "version": 1, "path": ["rows", "keep_out"], "typed": "2"}
        act(session, change)  # and a change is made meanwhile
    settled = session.settled()
    assert settled is not None
    assert settled.cured


def test_the_front_loads_nothing_of_the_check() -> None:
    program = (
        "import sys, rigmodel.page.serve, rigmodel.page.front; "
        "print(*sorted(n for n in sys.modules if n.startswith(('rigmodel', 'numpy', 'pydantic'))))"
    )
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    rooms = {".".join(name.split(".")[:2]) for name in run.stdout.split()}
    assert rooms <= {"rigmodel", "rigmodel.errors", "rigmodel.page", "rigmodel.reading"}


def test_the_next_session_s_process_is_got_ready_while_somebody_chooses(tmp_path: Path) -> None:
    with Workers(tmp_path, 3) as workers:
        started = [worker for worker in workers._workers if worker._process is not None]
        assert started == [workers.first]
        workers.get_ready()  # nobody has a session yet: the first one is ready for it
        assert [w for w in workers._workers if w._process is not None] == started
        assert workers.of("a") is workers.first
        workers.get_ready()
        ready = [w for w in workers._workers if w._process is not None and w is not workers.first]
        assert len(ready) == 1
        assert workers.of("b") is ready[0]
