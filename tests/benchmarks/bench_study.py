"""Cases of a study a second, on one core and on two; memory; what a cluster adds for each case.

    python tests/benchmarks/bench_study.py            # 10,000 cases and more; some minutes
    python tests/benchmarks/bench_study.py --small    # a twentieth of it

Every run is a process of its own, held to as many cores as it may use. Ratios count, not times.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIFTS = 20
GRID = """
name: three rows, what fits what
scene: scene.yaml
vary:
  - {{name: row spacing, set: rows.spacing, range: {{low: 14 in, high: 16 in, step: 1/4 in}}}}
  - name: track
    set: [tractor.rear.track, tractor.front.track]
    values: ["48", "52", "56", "60", "64", "68", "72"]
  - {{name: tyre, set: tractor.rear.tyre, values: [8.3-24, 9.5-24, 11.2-24, 12.4-24]}}
  - name: wheels
    set: stations[1].swap.finger_wheel
    values: [finger-wheel-8, finger-wheel-10]
  - {{name: lift, set: tractor.lift.highest, range: {{low: 21 in, high: {high} in, step: 0.5 in}}}}
"""


def write(folder: Path, lifts: int) -> Path:
    """The study and its scene, in a folder; 504 cases for each height of the lift."""
    scene = (ROOT / "scenes" / "three-rows-belly.yaml").read_text()
    (folder / "scene.yaml").write_text(scene)
    path = folder / "study.yaml"
    path.write_text(GRID.format(high=21 + (lifts - 1) / 2))
    return path


def worked(folder: Path, cores: int, scheduler: str = "") -> dict[str, float]:
    """Runs a study in a process of its own; times in seconds, memory in MB."""
    command = [sys.executable, __file__, "--run", str(folder), "--scheduler", scheduler]
    chosen = sorted(os.sched_getaffinity(0))[:cores]
    done = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=True,
        preexec_fn=lambda: os.sched_setaffinity(0, chosen),
    )
    told: dict[str, float] = json.loads(done.stdout)
    return told


def run(folder: Path, scheduler: str) -> None:
    """One run, told as JSON."""
    from rigmodel.advise.study.read import read_study  # noqa: PLC0415
    from rigmodel.advise.study.run import run_study  # noqa: PLC0415
    from rigmodel.advise.study.store import Store  # noqa: PLC0415

    plan = read_study(folder / "study.yaml")
    target = folder / "study.parquet"
    began = time.perf_counter()
    run_study(plan, target, scheduler=scheduler or None)
    seconds = time.perf_counter() - began
    fits = sum(r.outcome.value in ("pass", "advise") for r in Store(plan, target).results())
    workers = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(
        json.dumps(
            {
                "cases": plan.total,
                "fits": fits,
                "seconds": seconds,
                "cpu": workers.ru_utime + workers.ru_stime,
                "worker_mb": workers.ru_maxrss / 1024.0,
                "own_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
            }
        )
    )


def fresh(lifts: int, cores: int, scheduler: str = "") -> dict[str, float]:
    """The same in a folder of its own, so that nothing is found done."""
    with tempfile.TemporaryDirectory() as name:
        write(Path(name), lifts)
        return worked(Path(name), cores, scheduler)


def gather(folder: Path) -> None:
    """What the gathering process does with a study, on made-up results; told as JSON."""
    from rigmodel.advise.study.cases import Outcome, Result  # noqa: PLC0415
    from rigmodel.advise.study.page import study_page  # noqa: PLC0415
    from rigmodel.advise.study.read import read_study  # noqa: PLC0415
    from rigmodel.advise.study.store import Store  # noqa: PLC0415
    from rigmodel.units import Unit  # noqa: PLC0415

    plan = read_study(folder / "study.yaml")
    store = Store(plan, folder / "study.parquet")
    store.open()
    ends, began = tuple(Outcome), time.process_time()
    for start in plan.starts():
        found = []
        for case in plan.batch_cases(start):
            # A text of its own for each case, as long as those of two failing checks.
            reason = f"tyre-fit: the {case}. of its kind " + "comes too near to a tyre " * 14
            outcome = ends[case % len(ends)]
            found.append(Result(case, outcome, case % 50 - 25.0, "tyre-fit", ("tyre-fit",), reason))
        store.add(start, found)
    store.finish()
    size = len(study_page(plan, store.results(), Unit.IN, "0"))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    seconds = time.process_time() - began
    print(json.dumps({"cases": plan.total, "own_mb": peak, "cpu": seconds, "page_mb": size / 1e6}))


def gathered(lifts: int) -> dict[str, float]:
    """The same in a process and a folder of its own."""
    with tempfile.TemporaryDirectory() as name:
        write(Path(name), lifts)
        command = [sys.executable, __file__, "--gather", name]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
    told: dict[str, float] = json.loads(done.stdout)
    return told


def cluster_overhead(lifts: int) -> tuple[float, float]:
    """Processor seconds a case of a worker of a cluster on this machine, and of one without.

    What a study of 504 cases takes is taken off both, and with it start-up and first geometry.
    """
    import distributed  # noqa: PLC0415
    import psutil  # type: ignore[import-untyped] # noqa: PLC0415

    spent: list[float] = []
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=True, dashboard_address=":0"
    ) as cluster:
        workers = psutil.Process().children(recursive=True)
        for some in (1, 1, lifts):
            before = sum(sum(worker.cpu_times()[:2]) for worker in workers)
            fresh(some, 2, cluster.scheduler_address)
            after = sum(sum(worker.cpu_times()[:2]) for worker in workers)
            spent.append(after - before)
    few, many = fresh(1, 1), fresh(lifts, 1)
    more = many["cases"] - few["cases"]
    return (spent[2] - spent[1]) / more, (many["cpu"] - few["cpu"]) / more


def main() -> None:
    """Prints the table for the contributor guide."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--run", type=Path, default=None)
    parser.add_argument("--scheduler", default="")
    parser.add_argument("--gather", type=Path, default=None)
    options = parser.parse_args()
    if options.gather is not None:
        gather(options.gather)
        return
    if options.run is not None:
        run(options.run, options.scheduler)
        return
    lifts = 1 if options.small else LIFTS
    two, one = fresh(lifts, 2), fresh(lifts, 1)
    few = fresh(max(1, lifts // 4), 2)
    print("| what | measured |\n|---|---|")
    print(f"| cases of the three-row scene, of which fit | {two['cases']}, {two['fits']} |")
    print(f"| two cores | {two['seconds']:.1f} s, {two['cases'] / two['seconds']:.0f} a second |")
    print(f"| one core | {one['seconds']:.1f} s, {one['cases'] / one['seconds']:.0f} a second |")
    print(f"| two cores over one | {one['seconds'] / two['seconds']:.2f} times |")
    told = f"{one['cpu'] / one['cases'] * 1e3:.1f} ms, {two['cpu'] / two['cases'] * 1e3:.1f} ms"
    print(f"| processor time for each case, on one core and on two | {told} |")
    told = f"{two['worker_mb']:.0f} MB, {few['worker_mb']:.0f} MB"
    print(f"| memory of a worker, {two['cases']} cases and {few['cases']} | {told} |")
    told = f"{two['own_mb']:.0f} MB, {few['own_mb']:.0f} MB"
    print(f"| memory of the process that gathers, with all results read | {told} |")
    small, large = gathered(1), gathered(lifts * 10)
    told = f"{small['own_mb']:.0f} MB, {large['own_mb']:.0f} MB"
    print(f"| … of made-up results: {small['cases']} cases and {large['cases']} | {told} |")
    told = f"{large['cpu'] / large['cases'] * 1e3:.2f} ms"
    print(f"| … its processor time for each case | {told} |")
    if not options.small:
        there, here = cluster_overhead(lifts // 2)
        print(f"| a cluster's worker over one without | {(there - here) * 1e3:.2f} ms a case |")
        print(f"| … share of the case's own time | {there / here - 1.0:.0%} |")


if __name__ == "__main__":
    main()
