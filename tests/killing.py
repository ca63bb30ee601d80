"""Runs a function in a process of its own that is killed, without warning, at its n-th write or
after a while.

A write is a file or folder opened for writing, made, renamed or removed, or a statement by which
SQLite begins, changes or ends something: each is met just before it happens.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sqlite3
import sys
import warnings
from collections.abc import Callable

_FILES = {"os.rename", "os.remove", "os.rmdir", "os.mkdir", "os.link", "os.truncate"}
_STATEMENTS = ("begin", "insert", "update", "delete", "commit", "create", "alter", "drop")
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT


def run_killed(
    function: Callable[[], object], at: int | None = None, *, after: float | None = None
) -> int:
    """Run in a forked process, killed at its write number ``at`` or ``after`` so many seconds.

    Returns how many writes it came to, negative if it was killed (-1 if only the clock knows when).
    """
    context = multiprocessing.get_context("fork")
    receiving, sending = context.Pipe(duplex=False)
    child = context.Process(target=_counted, args=(function, at, sending))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # forking beside threads, from 3.12 on
        child.start()
    sending.close()
    if after is not None and not receiving.poll(after):
        child.kill()
    try:
        told = receiving.recv()
    except EOFError:
        told = None
    child.join()
    if told is None and child.exitcode != -signal.SIGKILL:
        raise AssertionError(f"the process ended with {child.exitcode}")
    return -int(at or 1) if told is None else int(told)


def spread(count: int, over: int) -> list[int]:
    """So many numbers of 1 to ``over``, evenly, both ends with them."""
    return sorted({1 + round(i * (over - 1) / max(count - 1, 1)) for i in range(count)})


def _counted(function: Callable[[], object], at: int | None, sending) -> None:
    seen = 0

    def met() -> None:
        nonlocal seen
        seen += 1
        if seen == at:
            os.kill(os.getpid(), signal.SIGKILL)

    def statement(text: str) -> None:
        if text.lstrip().lower().startswith(_STATEMENTS):
            met()

    def hook(event: str, args: tuple) -> None:
        if event in _FILES or (event == "open" and isinstance(args[2], int) and args[2] & _WRITES):
            met()

    def connect(*args: object, **options: object) -> sqlite3.Connection:
        connection = plain(*args, **options)
        connection.set_trace_callback(statement)
        return connection

    plain, sqlite3.connect = sqlite3.connect, connect
    sys.addaudithook(hook)
    function()
    sending.send(seen)
