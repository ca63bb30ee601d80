"""A function and many inputs in, its results in the same order out, on all cores.

A native decoder that dies on one hostile file takes its process with it: the inputs that were
under way are then tried one by one, so that only the guilty one is lost.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TypeVar

Given = TypeVar("Given")
Result = TypeVar("Result")

FEWEST_FOR_PROCESSES = 4  # starting processes costs more than this many photos
AHEAD = 4  # inputs under way for each process; bounds memory when one is slow


def in_order(
    function: Callable[[Given], Result],
    inputs: Sequence[Given],
    *,
    processes: int | None = None,
    crashed: Callable[[Given], Result],
) -> Iterator[Result]:
    """Apply a function of a module to many inputs in worker processes.

    Parameters
    ----------
    function : callable
        Importable by name, as processes are started afresh on every system.
    inputs : sequence
        Each can be pickled.
    processes : int, optional
        All cores unless given; with 1, or few inputs, everything happens in this process.
    crashed : callable
        Gives the result for an input whose process died.

    Yields
    ------
    result
        One for each input, in order. Closing the iterator, or an interruption by the keyboard,
        stops the processes.

    Raises
    ------
    ValueError
        If ``processes`` is below 1.
    """
    wanted = processes if processes is not None else available_cores()
    if wanted < 1:
        raise ValueError(f"processes must be at least 1, got {wanted}")
    if wanted == 1 or len(inputs) < FEWEST_FOR_PROCESSES:
        yield from map(function, inputs)
        return
    at = 0
    while at < len(inputs):
        for result in _until_broken(function, inputs[at:], wanted):
            yield result
            at += 1
        suspects = inputs[at : at + wanted * AHEAD]
        for suspect in suspects:
            yield _alone(function, suspect, crashed)
            at += 1


def available_cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0)) or 1
    return os.cpu_count() or 1


def _until_broken(
    function: Callable[[Given], Result], inputs: Sequence[Given], processes: int
) -> Iterator[Result]:
    """Results in order, ending early when a process has died."""
    pool = _pool(processes)
    under_way: deque[Future[Result]] = deque()
    waiting = iter(inputs)
    try:
        for given in waiting:
            under_way.append(pool.submit(function, given))
            if len(under_way) >= processes * AHEAD:
                yield under_way.popleft().result()
        while under_way:
            yield under_way.popleft().result()
    except BrokenProcessPool:
        return
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _alone(
    function: Callable[[Given], Result], given: Given, crashed: Callable[[Given], Result]
) -> Result:
    with _pool(1) as pool:
        try:
            return pool.submit(function, given).result()
        except BrokenProcessPool:
            return crashed(given)


def _pool(processes: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        max_workers=processes,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start_worker,
    )


def _start_worker() -> None:
    """One thread for each process, and leave the keyboard to the process that started it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    import cv2

    cv2.setNumThreads(1)
