"""Copy the database of an open survey as of one moment, and note when it was backed up."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from triage.store import notes
from triage.store.actions import utc_text
from triage.store.connection import Survey

_NOTE = "newest backup"


def copy_database(survey: Survey, copy: Path) -> bool:
    """Copy the database through SQLite's backup interface; tell whether the copy is whole."""
    copy.unlink(missing_ok=True)
    with closing(sqlite3.connect(copy)) as target:
        survey.connection.backup(target)
        target.execute("pragma journal_mode = delete")
        return bool(target.execute("pragma integrity_check").fetchone()[0] == "ok")


@contextmanager
def opened_copy(survey: Survey, copy: Path) -> Iterator[Survey]:
    """The survey as the copied database has it, with the files of the one at work."""
    with closing(sqlite3.connect(copy)) as connection:
        connection.row_factory = sqlite3.Row
        yield Survey(survey.folder, connection, survey.settings)


def note(survey: Survey, moment: datetime) -> None:
    """Note when the survey was backed up."""
    notes.write(survey, _NOTE, utc_text(moment))


def newest(survey: Survey) -> datetime | None:
    """When the survey was last backed up, or None."""
    noted = notes.read(survey, _NOTE)
    return datetime.fromisoformat(noted) if noted else None
