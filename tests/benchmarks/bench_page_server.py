"""How soon the page's server answers a change, one user and ten, without a browser.

    python tests/benchmarks/bench_page_server.py

A change is timed from its request to the last byte of what the browser needs to show it: the new
state, then the model of the 3D view without the shapes it has already. Users are threads of one
process, each with a session and a connection of its own. Ratios count, not times.
"""

from __future__ import annotations

import argparse
import http.client
import itertools
import json
import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

SCENES = Path(__file__).parents[2] / "scenes"
HEADERS = {"Content-Type": "application/json", "X-Rigmodel": "1"}
USERS = 10
CHANGES = {
    "three-rows-belly": (
        ("toolbar.height", ("20 1/8", "20")),
        ("toolbar.length", ("71", "72")),
        ("rows.spacing", ("15 1/16", "15")),
    ),
    "six-wide-rows": (
        ("toolbar.height", ("20 1/8", "20")),
        ("toolbar.length", ("299", "300")),
        ("rows.spacing", ("48 1/16", "48")),
    ),
}


class User:
    """One user: a scene, and a connection that is kept."""

    def __init__(self, port: int, scene: str) -> None:
        self.link = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.turns = itertools.cycle(
            [(name, typed) for name, values in CHANGES[scene] for typed in values]
        )
        self.id = json.loads(self.ask("POST", "/open", {"kind": "demo", "name": scene}))["id"]
        self.version = json.loads(self.ask("GET", f"/s/{self.id}/state"))["version"]
        self.known: set[str] = set()
        self.whim = random.Random(self.id)
        self.draw()

    def ask(self, method: str, path: str, body: object = None) -> bytes:
        """What is answered."""
        data = None if body is None else json.dumps(body).encode()
        self.link.request(method, path, data, HEADERS)
        answer = self.link.getresponse()
        told = answer.read()
        if answer.status != 200:
            raise RuntimeError(f"{answer.status}: {told[:300]!r}")
        return told

    def draw(self) -> None:
        """Takes the model, told of all shapes that were sent before."""
        told = self.ask("GET", f"/s/{self.id}/model?known={'.'.join(self.known)}")
        self.known.update(json.loads(told)["shapes"])

    def change(self) -> float:
        """Makes one change; milliseconds until all of it is here."""
        name, typed = next(self.turns)
        body = {"what": "set", "version": self.version, "path": name.split("."), "typed": typed}
        began = time.perf_counter()
        told = self.ask("POST", f"/s/{self.id}/do", body)
        self.draw()
        taken = 1000.0 * (time.perf_counter() - began)
        self.version = json.loads(told)["state"]["version"]
        return taken

    def work(self, rounds: int, pause: float) -> list[float]:
        """Makes every change so many times."""
        self.link.close()  # the server ends a connection that was left alone
        times = []
        for _ in range(rounds * 6):
            time.sleep(pause * self.whim.uniform(0.5, 1.5))  # people do not keep step
            times.append(self.change())
        return times


@contextmanager
def served() -> Iterator[int]:
    """A server of its own, as the command starts it; its port."""
    with tempfile.TemporaryDirectory() as folder:
        program = (
            "from pathlib import Path; from rigmodel.page.serve import serve; "
            f"serve(None, '127.0.0.1', 0, lambda t: print(t, flush=True), Path({folder!r}))"
        )
        server = subprocess.Popen(
            [sys.executable, "-c", program], stdout=subprocess.PIPE, text=True
        )
        try:
            assert server.stdout is not None
            yield int(server.stdout.readline().strip().rstrip("/").rpartition(":")[2])
        finally:
            server.terminate()
            server.wait(20)


@contextmanager
def taking(user: User) -> Iterator[None]:
    """Somebody takes everything away of a scene, again and again."""
    over = threading.Event()
    user.link.close()

    def take() -> None:
        while not over.is_set():
            user.ask("GET", f"/s/{user.id}/get/everything")

    thread = threading.Thread(target=take)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def told(name: str, times: list[float], one: float = 0.0) -> float:
    """Prints one row; the median."""
    median = statistics.median(times)
    high = sorted(times)[min(len(times) - 1, int(0.95 * len(times)))]
    ratio = f"; {median / one:.1f} times one user's" if one else ""
    print(f"| {name} | {median:.0f} / {high:.0f} ms of {len(times)}{ratio} |", flush=True)
    return median


def main() -> None:
    """Prints the table for the contributor guide."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--rounds", type=int, default=4)
    rounds = parser.parse_args().rounds
    print(f"| change to answer with the model, {os.cpu_count()} cores | median / 95th percentile |")
    print("|---|---|")
    with served() as port:
        six = User(port, "six-wide-rows")
        three = [User(port, "three-rows-belly") for _ in range(USERS)]
        for user in (six, *three):
            user.work(1, 0.0)  # what a fitter's first minute does: answers are kept from here on
        told("six rows, one user", six.work(rounds, 0.1))
        one = told("three rows, one user", three[0].work(rounds, 0.1))
        with taking(three[2]):  # by the same process as the one who is timed
            time.sleep(3.0)
            during = three[0].work(rounds, 0.1)
        told("three rows, one user, while another takes everything away", during, one)
        for words, pause in (("a pause of about a second", 1.0), ("without a pause", 0.0)):
            with ThreadPoolExecutor(USERS) as threads:
                every = list(threads.map(lambda u, p=pause: u.work(max(1, rounds // 2), p), three))
            told(f"three rows, ten users, {words}", [t for times in every for t in times], one)


if __name__ == "__main__":
    main()
