"""How soon the page answers, in a headless Chromium: python tests/benchmarks/bench_page.py.

A change is timed in the browser itself, from the event of the field until the findings of the new
state stand in the page and a pixel of its picture can be read back from the canvas: only then is
all of it drawn, which a browser does behind the program's back. Where drawing is slow this first
picture is true but has steps along its edges; the smooth one follows at rest and is not timed.
Ten users at once are ten browser pages on ten sessions of one server, each of them with a pause
between two changes as a person has it.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from rigmodel.page.store import Store

SCENES = Path(__file__).parents[2] / "scenes"
CHROMIUM = "/usr/bin/chromium"
FLAGS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
PAUSE = 5000.0  # ms that a person looks at what came of a change, where ten work at once
CHANGE = """
([name, typed]) => new Promise((done) => {
  const all = [...document.querySelectorAll("input[data-path]")];
  const field = all.find((one) => JSON.parse(one.dataset.path).join(".") === name);
  const stage = document.getElementById("stage");
  const old = stage.dataset.stamp;
  const began = performance.now();
  const gl = document.getElementById("canvas").getContext("webgl2");
  const drawn = () => {
    gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
    return performance.now() - began;
  };
  const watch = new MutationObserver(() => {
    if (stage.dataset.stamp === old) return;
    watch.disconnect();
    requestAnimationFrame(() => done(drawn()));
  });
  watch.observe(stage, { attributes: true, attributeFilter: ["data-stamp"] });
  field.value = typed;
  field.dispatchEvent(new Event("change", { bubbles: true }));
})
"""
CHANGES = (
    ("toolbar.height", ("20 1/8", "20")),
    ("toolbar.length", ("{long}", "{longer}")),
    ("rows.spacing", ("{wide}", "{wider}")),
)


def changed(page: Page, rounds: int, values: dict[str, str], pause: float) -> list[float]:
    """Milliseconds of every change; what the one before set going has time to end."""
    found: list[float] = []
    for _ in range(rounds):
        for name, typed in CHANGES:
            for value in typed:
                page.wait_for_timeout(pause)
                found.append(page.evaluate(CHANGE, [name, value.format(**values)]))
    return found


def told(name: str, times: list[float], asked: str) -> None:
    ordered = sorted(times)
    high = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
    print(f"{name}: median {statistics.median(times):.0f} ms, 95th percentile {high:.0f} ms "
          f"of {len(times)} ({asked} asked)")  # fmt: skip


def user(
    address: str, path: str, rounds: int, values: dict[str, str], pause: float = 400.0
) -> list[float]:
    """One user in a browser of their own."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 1240, "height": 700})
        page.goto(address + path)
        page.wait_for_selector("#stage[data-state=drawn]")
        times = changed(page, rounds, values, pause)
        browser.close()
    return times


def main() -> None:
    """Measures and prints."""
    folder = Path(tempfile.mkdtemp())
    store = Store(folder)
    three = {"long": "71", "longer": "72", "wide": "15 1/16", "wider": "15"}
    six = {"long": "299", "longer": "300", "wide": "48 1/16", "wider": "48"}
    paths = {}
    for name in ("three-rows-belly", "six-wide-rows"):
        text = (SCENES / f"{name}.yaml").read_text(encoding="utf-8")
        paths[name] = [f"/s/{store.keep(text, name)}" for _ in range(10)]
    program = (
        "import sys; from pathlib import Path; from rigmodel.page.serve import serve; "
        f"serve(None, '127.0.0.1', 0, lambda t: print(t, flush=True), Path({str(folder)!r}))"
    )
    server = subprocess.Popen([sys.executable, "-c", program], stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        address = server.stdout.readline().strip().rstrip("/")
        begun = time.monotonic()
        user(address, paths["three-rows-belly"][0], 0, three)
        print(
            f"first view, browser's own start included: {time.monotonic() - begun:.1f} s (4 asked)"
        )
        one = user(address, paths["three-rows-belly"][0], 4, three)
        told("three rows, one user", one, "150/300")
        told("six rows, one user", user(address, paths["six-wide-rows"][0], 4, six), "250/500")
        with ThreadPoolExecutor(10) as users:
            every = list(
                users.map(
                    lambda path: user(address, path, 1, three, PAUSE), paths["three-rows-belly"]
                )
            )
        ten = [value for times in every for value in times]
        told("three rows, ten users at once", ten, "twice one user's")
        print(f"ten users over one: {statistics.median(ten) / statistics.median(one):.1f} times")
    finally:
        server.terminate()
        server.wait(10)


if __name__ == "__main__":
    main()
