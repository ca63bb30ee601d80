"""A survey in, the turn of one command at it out: those that write much go one after the other.

The turn is SQLite's own lock on an empty file beside the survey, the same on every system: it ends
with its process, however that ends, so that no stale lock is ever left.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager

from triage.errors import SurveyError
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

TURNS = "survey.turn"
PATIENCE = 600.0  # seconds; a night's mail is received and examined in less
_AGAIN = 0.2  # seconds between two tries


@contextmanager
def turn(
    survey: Survey, *, progress: Progress = silent, patience: float = PATIENCE
) -> Iterator[None]:
    """Hold the turn at this survey; ``progress`` is told if another command has it.

    Raises
    ------
    SurveyError
        If the other command is not done in time, or the survey can only be read.
    """
    survey.require_writing()
    with closing(
        sqlite3.connect(survey.folder / TURNS, isolation_level=None, timeout=_AGAIN)
    ) as lock:
        until = time.monotonic() + patience
        told = False
        while not _taken(lock):
            if not told:
                progress("waiting for another command at this survey", 0, None)
                told = True
            if time.monotonic() >= until:
                raise SurveyError(
                    "another command is at work in this survey",
                    failing=str(survey.folder),
                    next_step="Wait until it is done, then run the same command again.",
                )
        try:
            yield
        finally:
            lock.execute("rollback")


def _taken(lock: sqlite3.Connection) -> bool:
    try:
        lock.execute("begin exclusive")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            return False
        raise
    return True
