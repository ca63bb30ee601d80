"""Call a function on many inputs, on all cores, with the results in the same order.

Each process works at one input at a time. A native decoder that dies on a hostile file takes its
process with it, and one that works at it without end is ended: only that input is lost, a new
process takes the place, and the others go on.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pickle
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

Given = TypeVar("Given")
Result = TypeVar("Result")

AHEAD = 4  # results for each process that may wait for a slow one before them; bounds memory
SECONDS_EACH = 60.0  # a photo takes half a second, on an old laptop under load perhaps ten
MEMORY_EACH = 1_000_000_000
"""Bytes that a worker may add to what it held at its start: a photo is to need 400 MB in all, which
its header tells before; this stops what told something else. Linux alone keeps to it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work(Generic[Given, Result]):
    """What is done with each input, and what stands for the result of one that cost its process.

    ``function`` is importable by name, as processes are started afresh on every system.
    ``crashed`` gives the result for an input whose process died, ``overdue`` for one that took too
    long. ``unable`` is asked on each machine but this one, with one of the inputs: why it cannot do
    such work, or nothing.
    """

    function: Callable[[Given], Result]
    crashed: Callable[[Given], Result]
    overdue: Callable[[Given], Result]
    unable: Callable[[Given], str] = lambda _: ""


class Workers(Protocol):
    """Somewhere to work at many inputs: the cores of this machine, or those of a cluster."""

    def results(
        self, work: Work[Given, Result], inputs: Sequence[Given]
    ) -> Iterator[tuple[Given, Result]]:
        """Each input with its result, in any order; closing the iterator ends the work."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """Processes of this machine: all cores unless told. See ``in_order``."""

    processes: int | None = None

    def results(
        self, work: Work[Given, Result], inputs: Sequence[Given]
    ) -> Iterator[tuple[Given, Result]]:
        """Each input with its result, in the order given; see ``in_order``."""
        return zip(inputs, in_order(work, inputs, processes=self.processes), strict=True)


def in_order(
    work: Work[Given, Result],
    inputs: Sequence[Given],
    *,
    processes: int | None = None,
    seconds: float = SECONDS_EACH,
) -> Iterator[Result]:
    """Work at many inputs in worker processes.

    Parameters
    ----------
    work : Work
        What to do with each.
    inputs : sequence
        Each can be pickled.
    processes : int, optional
        All cores unless given. With 0 everything happens in this process, without any limit: for
        files that were read before, where starting a process would cost more than the work.
    seconds : float
        How long one input may take before its process is ended.

    Yields
    ------
    result
        One for each input, in order. Closing the iterator, an interruption by the keyboard or the
        end of this process, however it comes, ends the workers.

    Raises
    ------
    ValueError
        If ``processes`` is below 0.
    """
    if processes is not None and processes < 0:
        raise ValueError(f"processes must be at least 0, got {processes}")
    if processes == 0:
        yield from map(work.function, inputs)
        return
    crew = [_Worker(work.function) for _ in range(min(processes or available_cores(), len(inputs)))]
    results: dict[int, Result] = {}
    given = done = 0
    try:
        while done < len(inputs):
            for worker in crew:
                if worker.idle and given < min(len(inputs), done + AHEAD * len(crew)):
                    worker.give(given, inputs[given])
                    given += 1
            _listen(crew, inputs, results, work, seconds)
            while done in results:
                yield results.pop(done)
                done += 1
    finally:
        for worker in crew:
            worker.end()


def available_cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) or 1
    return os.cpu_count() or 1


class _Worker(Generic[Given]):
    """One process, the pipe to it, and the input it works at (its number, and since when)."""

    def __init__(self, function: Callable[[Given], Any]) -> None:
        self.function = function
        self.start()

    def start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.connection, theirs = context.Pipe()
        self.process = context.Process(target=_work, args=(theirs, self.function), daemon=True)
        self.process.start()
        theirs.close()  # so that the pipe breaks when the process dies
        self.ready = False
        self.at: int | None = None
        self.since = 0.0

    @property
    def idle(self) -> bool:
        return self.ready and self.at is None

    def give(self, number: int, given: Given) -> None:
        self.at, self.since = number, time.monotonic()
        with contextlib.suppress(OSError):  # it died meanwhile, which is noticed when listening
            self.connection.send(given)

    def end(self) -> None:
        self.process.kill()
        self.process.join()
        self.connection.close()


def _listen(
    crew: list[_Worker[Given]],
    inputs: Sequence[Given],
    results: dict[int, Result],
    work: Work[Given, Result],
    seconds: float,
) -> None:
    """Wait for news of the workers: results, a process that died, or one that is overdue."""
    busy = [worker.since + seconds for worker in crew if worker.at is not None]
    until = max(min(busy) - time.monotonic(), 0.0) if busy else None
    told = set(wait([worker.connection for worker in crew], timeout=until))
    for worker in crew:
        if worker.connection in told:
            _hear(worker, inputs, results, work)
        elif worker.at is not None and time.monotonic() - worker.since >= seconds:
            results[worker.at] = work.overdue(inputs[worker.at])
            worker.end()
            worker.start()


def _hear(
    worker: _Worker[Given],
    inputs: Sequence[Given],
    results: dict[int, Result],
    work: Work[Given, Result],
) -> None:
    try:
        kind, value = worker.connection.recv()
    except (EOFError, OSError, pickle.UnpicklingError):
        if worker.at is None:
            raise RuntimeError("a worker process could not be started") from None
        results[worker.at] = work.crashed(inputs[worker.at])
        worker.end()
        worker.start()
        return
    if kind == "raised":
        raise value
    if kind == "done" and worker.at is not None:
        results[worker.at] = value
    worker.ready, worker.at = True, None


# -- in the worker's process -------------------------------------------------------------------


def _work(connection: Connection, function: Callable[[Any], Any]) -> None:
    _start_worker()
    threading.Thread(target=_end_with_parent, daemon=True).start()
    with contextlib.suppress(EOFError, OSError):  # the process that started this one is gone
        connection.send(("ready", None))
        while True:
            given = connection.recv()
            try:
                answer = ("done", function(given))
            except Exception as error:
                answer = ("raised", error)
            connection.send(answer)


def _start_worker() -> None:
    """One thread for each process, and leave the keyboard to the process that started it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    import cv2

    cv2.setNumThreads(1)
    _limit_memory()


def _limit_memory() -> None:
    """Let allocations beyond the limit fail: a photo's memory error, or the end of this worker."""
    if sys.platform == "linux":
        import resource

        pages = int(Path("/proc/self/statm").read_text("ascii").split()[5])  # data, proc(5)
        most = pages * resource.getpagesize() + MEMORY_EACH
        resource.setrlimit(resource.RLIMIT_DATA, (most, resource.RLIM_INFINITY))


def _end_with_parent() -> None:
    """End this process as soon as the one that started it is gone, whatever it is doing."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
