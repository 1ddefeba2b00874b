"""Runs a study on all cores of this machine, or on a cluster."""

from __future__ import annotations

import itertools
import multiprocessing
import os
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rigmodel.advise.study.cases import Result, run_batch
from rigmodel.advise.study.plan import StudyError, StudyPlan
from rigmodel.advise.study.results import Results
from rigmodel.advise.study.store import Store

_ANSWERS_IN = "15s"
_FIRST, _LATE = 4, 16  # batches after which the start is forgotten; that the pace is taken from
_AHEAD = 3  # batches handed out for each worker, so that none waits for the next
_DIED = "a process that worked on cases died; what is done is kept, so run the study again to go on"
_Batches = Iterator[tuple[int, tuple[Result, ...]]]


@dataclass(frozen=True)
class Progress:
    """How far a study is.

    Attributes:
        done: cases done, in earlier runs too.
        total: cases of the study.
        seconds_left: estimate from the pace of late; None before there is one.
    """

    done: int
    total: int
    seconds_left: float | None

    def text(self) -> str:
        """Such as ``120 of 400 cases, about 3 min left``."""
        told = f"{self.done} of {self.total} cases"
        if self.seconds_left is None or self.done == self.total:
            return told
        minutes = self.seconds_left / 60.0
        if minutes >= 90.0:
            left = f"{minutes / 60.0:.1f} h"
        else:
            left = f"{minutes:.0f} min" if minutes >= 1.5 else f"{self.seconds_left:.0f} s"
        return f"{told}, about {left} left"


def run_study(
    plan: StudyPlan,
    target: Path,
    replace: bool = False,
    scheduler: str | None = None,
    progress: Callable[[Progress], None] = lambda _: None,
) -> Results:
    """Works on every case that has no result yet and gives the results of all.

    Args:
        plan: the study.
        target: Parquet file to end in. If the run is stopped, the next one goes on from there.
        replace: whether results of another study in that place may be written over.
        scheduler: address of a cluster's scheduler; None for the cores of this machine.
        progress: called at the start and after every batch.

    Raises:
        FileError: results of another study are there, or the files cannot be written.
        StudyError: the cluster cannot be reached, a process that worked on cases died, or what a
            study needs is not installed.
    """
    store = Store(plan, target)
    store.open(replace)
    if store.finished():
        store.discard_parts()
        progress(Progress(plan.total, plan.total, 0.0))
        return store.results()
    missing = store.missing()
    done = plan.total - sum(_size(plan, start) for start in missing)
    pace = Pace(plan.total)
    progress(pace.now(done))
    batches = _local(plan, missing) if scheduler is None else _cluster(plan, missing, scheduler)
    for start, results in batches:
        store.add(start, results)
        done += len(results)
        progress(pace.now(done))
    store.finish()
    return store.results()


class Pace:
    """Estimates the time left from the last batches; the first one pays for the start.

    Args:
        total: cases of the study.
        clock: gives seconds.
    """

    def __init__(self, total: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._total, self._clock = total, clock
        self._late: deque[tuple[float, int]] = deque(maxlen=_LATE)
        self._started = False

    def now(self, done: int) -> Progress:
        """How far the study is when that many cases are done; called at the start and after."""
        now = self._clock()
        self._late.append((now, done))
        if len(self._late) > _FIRST and not self._started:
            self._late.popleft()  # from here on the start is no part of the pace
            self._started = True
        then, before = self._late[0]
        if done == before:
            return Progress(done, self._total, None)
        return Progress(done, self._total, (now - then) / (done - before) * (self._total - done))


def _size(plan: StudyPlan, start: int) -> int:
    return min(plan.batch, plan.total - start)


def cores() -> int:
    """Processor cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _local(plan: StudyPlan, starts: Sequence[int]) -> _Batches:
    if not starts:
        return
    context = multiprocessing.get_context("spawn")  # the same on every system, and no shared state
    workers = min(cores(), len(starts))
    stretches = Stretches(starts, workers)
    pools = [ProcessPoolExecutor(1, context, _leave_with_parent, (plan,)) for _ in range(workers)]
    waiting: dict[Future[tuple[Result, ...]], tuple[int, int]] = {}

    def hand(worker: int) -> None:
        start = stretches.next_for(worker)
        if start is not None:
            waiting[pools[worker].submit(_batch, start)] = (worker, start)

    try:
        for worker in [*range(workers)] * _AHEAD:
            hand(worker)
        while waiting:
            done, _ = wait(waiting, return_when=FIRST_COMPLETED)
            for future in done:
                worker, start = waiting.pop(future)
                hand(worker)
                yield start, future.result()
    except BrokenProcessPool:
        raise StudyError(_DIED) from None
    finally:
        for pool in pools:
            pool.shutdown(wait=False, cancel_futures=True)
        for pool in pools:
            pool.shutdown(wait=True)


class Stretches:
    """Batches in one stretch for each worker; a worker at its end takes from the longest other's.

    Neighbours have most of a rig in common, so a worker that stays in its stretch builds less.
    """

    def __init__(self, starts: Sequence[int], workers: int) -> None:
        size = -(-len(starts) // workers)
        self._left = [deque(starts[k * size : (k + 1) * size]) for k in range(workers)]

    def next_for(self, worker: int) -> int | None:
        """The start of a worker's next batch; None where nothing is left."""
        if self._left[worker]:
            return self._left[worker].popleft()
        longest = max(self._left, key=len)
        return longest.pop() if longest else None


_PLAN: list[StudyPlan] = []  # of this process of the pool, so that no batch has to carry it


def _batch(start: int) -> tuple[Result, ...]:
    return run_batch(_PLAN[0], start)


def _leave_with_parent(plan: StudyPlan) -> None:
    """Sets a process of the pool up, to end when the one that started it is gone, killed or not."""
    _PLAN[:] = [plan]
    parent = multiprocessing.parent_process()
    assert parent is not None  # only called in processes of the pool

    def leave() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=leave, daemon=True).start()


def _itself(plan: StudyPlan) -> StudyPlan:
    return plan


def _cluster(plan: StudyPlan, starts: Sequence[int], scheduler: str) -> _Batches:
    try:
        import distributed  # noqa: PLC0415
    except ImportError:
        told = "--scheduler needs dask; install it with: pip install 'rigmodel[cluster]'"
        raise StudyError(told) from None
    try:
        client = distributed.Client(scheduler, timeout=_ANSWERS_IN)
    except (OSError, ValueError, ImportError) as error:
        raise StudyError(f"no scheduler answers at {scheduler}: {error}") from None
    with client:
        sent = client.submit(_itself, plan, pure=False)  # made again if the worker with it dies
        left = iter(starts)

        def more(count: int) -> dict[Any, int]:
            chosen = itertools.islice(left, count)
            return {client.submit(run_batch, sent, s, pure=False): s for s in chosen}

        waiting = more(_AHEAD * max(1, sum(client.nthreads().values())))
        results = distributed.as_completed(waiting)
        try:
            for future in results:
                start = waiting.pop(future)
                waiting |= (added := more(1))
                results.update(added)
                yield start, future.result()
        except distributed.KilledWorker:
            raise StudyError(_DIED) from None
