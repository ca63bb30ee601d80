"""What a person did in, an entry in the log out; and the newest entry taken back."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime

from triage.errors import UnknownError
from triage.store.connection import Survey

LASTING = ("forget", "people", "sites", "visits", "lots", "checklist", "scores", "measurements")
"""Commands whose work no later action takes back: undoing passes over them."""

LASTING_HINT = (
    "A table is put right by importing its corrected rows; joined addresses stay joined, and what"
    " was forgotten is gone."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Action:
    """One line of the log: who did what, when, and whether it was taken back."""

    number: int
    at: str
    by: str
    command: str
    summary: str
    taken_back: bool


def utc_text(moment: datetime) -> str:
    """An aware moment as UTC ISO 8601 with seconds."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def record(survey: Survey, *, command: str, summary: str, by: str, now: datetime) -> int:
    """Append an action and return its number."""
    cursor = survey.connection.execute(
        "insert into actions (at, by_name, command, summary) values (?, ?, ?, ?)",
        (utc_text(now), by, command, summary),
    )
    return int(cursor.lastrowid or 0)


def undo(survey: Survey, *, by: str, now: datetime, number: int | None = None) -> Action:
    """Take back an action (the newest that still holds, unless its number is given).

    Raises
    ------
    UnknownError
        If there is nothing of that number, it was taken back before, or its work lasts.
    """
    marks = ", ".join("?" * len(LASTING))
    where = "id = ?" if number is not None else f"command not in ({marks})"
    row = survey.connection.execute(
        f"select * from live_actions where {where} order by id desc limit 1",
        (number,) if number is not None else LASTING,
    ).fetchone()
    if row is not None and row["command"] in LASTING:
        raise UnknownError(
            f"'{row['command']}' cannot be taken back",
            failing=str(number),
            next_step=LASTING_HINT,
        )
    if row is None:
        raise UnknownError(
            "there is no such action to take back",
            failing=str(number if number is not None else "undo"),
            next_step="See 'triage log' for the numbers.",
        )
    survey.connection.execute(
        "insert into actions (at, by_name, command, summary, undoes) values (?, ?, 'undo', ?, ?)",
        (utc_text(now), by, f"took back: {row['summary']}", row["id"]),
    )
    survey.connection.execute(
        "update messages set state_due = 1 where id in"
        " (select message_id from message_states where action_id = ?)",
        (row["id"],),
    )
    survey.connection.execute(
        "update messages set texts_read_with = '' where id in"
        " (select message_id from questions where action_id = ? and answered_by is not null)",
        (row["id"],),
    )
    return _action(row, taken_back=True)


def log(survey: Survey, *, limit: int = 50) -> list[Action]:
    """The newest actions first."""
    rows = survey.connection.execute(
        "select a.*, exists (select 1 from actions u where u.undoes = a.id) as taken_back"
        " from actions a order by id desc limit ?",
        (limit,),
    )
    return [_action(row, taken_back=bool(row["taken_back"])) for row in rows]


def _action(row: sqlite3.Row, *, taken_back: bool) -> Action:
    return Action(
        number=row["id"],
        at=row["at"],
        by=row["by_name"],
        command=row["command"],
        summary=row["summary"],
        taken_back=taken_back,
    )


def newest_of(survey: Survey, by: str) -> Action | None:
    """The newest action of this person that still holds and may be taken back."""
    row = survey.connection.execute(
        "select * from live_actions where by_name = ? collate nocase"
        f" and command not in ({', '.join('?' * len(LASTING))}) order by id desc limit 1",
        (by, *LASTING),
    ).fetchone()
    return _action(row, taken_back=False) if row is not None else None
