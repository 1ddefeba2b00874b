"""Files to take away, made in a process beside the server's: the same bytes, nothing lost."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import threading
import time
import zipfile
from collections.abc import Iterator

import pytest

from rigmodel.clearance.trial import Bench
from rigmodel.outputs.kinds import OUTPUTS
from rigmodel.page.aside import Aside, MakingError
from rigmodel.page.checking import Checked, check_text, cured
from rigmodel.page.downloads import EVERYTHING, OFFERED, download
from tests.page.scenes import SCENES, SMALL, scene_text

STUB = """
import pickle, sys
pickle.load(sys.stdin.buffer)
{answer}
sys.stdout.flush()
"""


@pytest.fixture(scope="module")
def aside() -> Iterator[Aside]:
    made = Aside()
    yield made
    made.end()


@pytest.fixture(scope="module")
def small() -> Checked:
    return check_text(SMALL, "small.yaml", SCENES, "mm", Bench())


def without_times(data: bytes, what: str) -> object:
    """What a file holds but the time at which it was made."""
    if what == "dxf":
        return data[data.index(b"ENTITIES") : data.index(b"OBJECTS")]
    if what == "list":
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            return {n: book.read(n) for n in book.namelist() if n != "docProps/core.xml"}
    return data


@pytest.mark.parametrize("what", [name for name in OFFERED if name != EVERYTHING])
def test_a_file_is_the_same_as_if_made_here(aside: Aside, small: Checked, what: str) -> None:
    made = aside.made(what, "small", small)
    assert len(made) > 200
    again = download(what, "small", small.assembly, small.findings)
    assert without_times(made, what) == without_times(again, what)


@pytest.mark.parametrize("name", ["own-mesh-obstacle", "four-narrow-rows-clash"])
def test_a_rig_is_handed_over_as_the_page_shows_it(aside: Aside, name: str) -> None:
    bench = Bench()
    found = check_text(scene_text(name), name, SCENES, "", bench)
    if found.fails:
        found = cured(found, bench.memo, lambda: None)
    told = download("report", name, found.assembly, found.findings)
    assert aside.made("report", name, found) == told


def test_everything_is_one_archive(aside: Aside, small: Checked) -> None:
    with zipfile.ZipFile(io.BytesIO(aside.made(EVERYTHING, "small", small))) as found:
        assert found.testzip() is None
        names = set(found.namelist())
        assert names == {f"small{output.ending}" for output in OUTPUTS.values()}
        told = found.read("small-parts.csv")
    assert told == download("parts", "small", small.assembly, small.findings)


def test_a_process_that_is_killed_over_a_file_is_started_again(small: Checked) -> None:
    aside = Aside()
    killed: list[int] = []

    def kill() -> None:
        end = time.monotonic() + 20.0
        while aside._process is None and time.monotonic() < end:
            time.sleep(0.01)
        if aside._process is not None:
            killed.append(aside._process.pid)
            aside._process.kill()

    thread = threading.Thread(target=kill)
    thread.start()
    try:
        assert aside.made("parts", "small", small).startswith(b"\xef\xbb\xbf")
    finally:
        thread.join()
        aside.end()
    assert killed


@pytest.mark.parametrize(
    ("answer", "told"),
    [
        ("pickle.dump((b'', 'no font is here'), sys.stdout.buffer)", "no font is here"),
        ("print('what a library says')", "stopped over this one"),
        ("", "stopped over this one"),
    ],
)
def test_what_cannot_be_made_is_told(
    small: Checked, monkeypatch: pytest.MonkeyPatch, answer: str, told: str
) -> None:
    def stub() -> subprocess.Popen[bytes]:
        program = [sys.executable, "-c", STUB.format(answer=answer)]
        return subprocess.Popen(program, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    monkeypatch.setattr("rigmodel.page.aside._started", stub)
    aside = Aside()
    with pytest.raises(MakingError, match=told):
        aside.made("parts", "small", small)
    aside.end()
    with pytest.raises(MakingError):  # nothing is started again after the end
        aside.made("parts", "small", small)


def test_the_process_gives_way_to_checks_and_does_not_outlive_the_server() -> None:
    program = (
        "from tests.page.scenes import SCENES, SMALL\n"
        "from rigmodel.clearance.trial import Bench\n"
        "from rigmodel.page.aside import Aside\n"
        "from rigmodel.page.checking import check_text\n"
        "import time\n"
        "aside = Aside()\n"
        "aside.made('parts', 's', check_text(SMALL, 's', SCENES, '', Bench()))\n"
        "print(aside._process.pid, flush=True)\n"
        "time.sleep(60)\n"
    )
    run = [sys.executable, "-c", program]
    with subprocess.Popen(run, stdout=subprocess.PIPE, text=True, cwd=SCENES.parent) as server:
        assert server.stdout is not None
        pid = int(server.stdout.readline())
        assert os.getpriority(os.PRIO_PROCESS, pid) > os.getpriority(os.PRIO_PROCESS, server.pid)
        server.send_signal(signal.SIGKILL)
    end = time.monotonic() + 20.0
    while time.monotonic() < end:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    raise AssertionError("it is still there")
