"""How long `suggest` takes, from reading the scene to the answer, in processor time and in ratios.

    python tests/benchmarks/bench_suggest.py

The floor of an answer is one whole check of the rig that it gives: at least that must be worked out
in 3D. Where nothing passes, every way out is tried in 3D as well, which takes many such checks.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from rigmodel.advise.suggest.answer import Answer, suggest
from rigmodel.advise.suggest.objective import Objective
from rigmodel.advise.suggest.reading import load_field
from rigmodel.advise.suggest.request import request_for
from rigmodel.assembly.build import assemble
from rigmodel.clearance.finding import Finding
from rigmodel.clearance.runner import run
from rigmodel.spec.resolve import Scene

SCENES = Path(__file__).parents[2] / "scenes"
RUNS = 3
WANTED = {"three rows": 2.0, "six rows": 10.0}  # seconds


def answer(path: Path, objective: Objective | None = Objective.PARTS) -> Answer:
    """One answer, with nothing known from an earlier one."""
    return suggest(request_for(load_field(path)[0]), objective)


def seconds(what: Callable[[], object]) -> float:
    """Least processor time of some runs."""
    found = []
    for _ in range(RUNS):
        began = time.process_time()
        what()
        found.append(time.process_time() - began)
    return min(found)


def whole_check(scene: Scene) -> tuple[Finding, ...]:
    """Assembly and every check, with nothing known from an earlier one."""
    return run(assemble(scene))


def main() -> None:
    """Prints the table for the contributor guide."""
    three, six = SCENES / "three-rows-belly.yaml", SCENES / "six-wide-rows.yaml"
    answer(three)  # imports
    for name, path in (("three rows", three), ("six rows", six)):
        found = answer(path)
        took = seconds(partial(answer, path))
        scene = found.rigs[0].assembly.scene
        floor = seconds(partial(whole_check, scene))
        print(f"| {name}: the rig with the fewest parts | {took:.2f} s ({WANTED[name]:g} asked) |")
        print(f"| … over one whole check of that rig | {took / floor:.1f} times |")
    took = seconds(partial(answer, three, None))
    print(f"| three rows: the Pareto set | {took:.2f} s |")
    with TemporaryDirectory() as folder:
        narrow = Path(folder) / "narrow.yaml"
        narrow.write_text(three.read_text().replace("spacing: 15", "spacing: 10"))
        assert not answer(narrow).rigs
        took = seconds(partial(answer, narrow))
        print(f"| three rows, nothing passes: what clashes and every way out | {took:.2f} s |")


if __name__ == "__main__":
    main()
