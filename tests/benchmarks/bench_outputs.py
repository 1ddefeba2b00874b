"""Times every output of the three-row scene, start included, against what no output can avoid.

Run by hand: ``python tests/benchmarks/bench_outputs.py [rounds]``. Each command runs in a process
of its own, as a user starts it; commands and the floor take turns in every round, and the best of
each counts. Seconds swing with the machine; the ratio to the floor, ``import numpy, vtk``, hardly
does.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCENE = ROOT / "scenes" / "three-rows-belly.yaml"
ALL_SECONDS, ONE_SECONDS = 10.0, 4.0
FLOOR = ("-c", "import numpy, vtk")
SINGLE = (
    "check",
    "render",
    "render --view sheet",
    "render --ghosts float,trip,lift,steer",
    "render --sweep float",
    "render --sweep all",
    "sheet",
    "list",
    "draw",
    "draw --format svg",
    "draw --format dxf",
    "report",
    "export",
    "export --format stl",
    "export --format 3mf",
)


def seconds(arguments: tuple[str, ...], folder: str) -> float:
    """Wall time of one process; its compiled modules are kept from run to run."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    env["PYTHONPATH"] = str(ROOT)
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments], cwd=folder, env=env, check=True, capture_output=True
    )
    return time.perf_counter() - start


def command(words: str) -> tuple[str, ...]:
    """A command on the scene, as arguments of Python."""
    name, *options = words.split()
    files = [] if name == "check" else ["--force", "--out", "."]
    return ("-m", "rigmodel.cli", name, str(SCENE), *options, *files)


def main() -> None:
    """Prints a table."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    runs = {"import numpy, vtk": FLOOR, **{c: command(c) for c in (*SINGLE, "all")}}
    best = dict.fromkeys(runs, float("inf"))
    with tempfile.TemporaryDirectory() as folder:
        for _ in range(rounds):
            for name, arguments in runs.items():
                best[name] = min(best[name], seconds(arguments, folder))
    floor = best["import numpy, vtk"]
    print("| output | seconds | over `import numpy, vtk` | at most |")
    print("|---|---|---|---|")
    for name, took in best.items():
        limit = {"all": f"{ALL_SECONDS:g} s", "import numpy, vtk": ""}.get(
            name, f"{ONE_SECONDS:g} s"
        )
        print(f"| `{name}` | {took:.2f} | {took / floor:.1f} times | {limit} |")
    one_by_one = sum(best[name] for name in SINGLE)
    print(f"| all the single ones | {one_by_one:.1f} | {one_by_one / floor:.1f} times | |")


if __name__ == "__main__":
    main()
