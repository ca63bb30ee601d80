"""Keep the log of who did what, and let an action of it hold no longer, or again."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime

from triage.errors import UnknownError
from triage.store.connection import Survey
from triage.store.rows import first_of

LASTING = ("forget", "settings")
"""Commands whose work nothing takes back."""


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


@contextmanager
def acting(survey: Survey, command: str, summary: str, *, by: str, now: datetime) -> Iterator[int]:
    """One transaction with an action in it; gives the number under which everything is written."""
    with survey.transaction():
        yield record(survey, command, summary, by=by, now=now)


def record(survey: Survey, command: str, summary: str, *, by: str, now: datetime) -> int:
    """Append an action and return its number."""
    survey.require_writing()
    cursor = survey.connection.execute(
        "insert into actions (at, by_name, command, summary) values (?, ?, ?, ?)",
        (utc_text(now), by, command, summary),
    )
    return int(cursor.lastrowid or 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Undone:
    """What was taken back; ``root`` is the action whose work no longer holds, or holds again."""

    number: int
    taken: Action
    root: int
    holds: bool


def undo(
    survey: Survey,
    *,
    by: str,
    now: datetime,
    number: int | None = None,
    also: Collection[str] = (),
) -> Undone:
    """Take back an action: one's own newest that still holds, or the one of this number.

    Taking back an undo brings back what it took. ``also`` are other forms of the own name.

    Raises
    ------
    UnknownError
        If there is nothing to take back, it was taken back before, or its work lasts.
    """
    row = _to_undo(survey, (by, *also), number)
    if row is None and number is not None:
        _refuse_taken_back(survey, number)
    if row is None:
        raise UnknownError(
            "there is no such action to take back",
            failing=str(number if number is not None else by),
            next_step="See 'triage log' for everybody's actions and their numbers.",
        )
    if row["command"] in LASTING:
        raise UnknownError(
            f"nothing can be taken back: '{row['command']}' is for good",
            failing=f"action {row['id']}",
            next_step="An action before it can be taken back by its number: see 'triage log'.",
        )
    cursor = survey.connection.execute(
        "insert into actions (at, by_name, command, summary, undoes) values (?, ?, 'undo', ?, ?)",
        (utc_text(now), by, _summary(row), row["id"]),
    )
    root, holds = _turn(survey, row)
    return Undone(
        number=int(cursor.lastrowid or 0),
        taken=_action(row, taken_back=True),
        root=root,
        holds=holds,
    )


def _refuse_taken_back(survey: Survey, number: int) -> None:
    """Say by which action an action that holds no longer was taken back."""
    query = "select id from actions where undoes = ? and live = 1 order by id desc"
    if by := first_of(survey, query, (number,)):
        raise UnknownError(
            "this was taken back already",
            failing=f"action {number}",
            next_step=f"'triage undo {by}' brings it back.",
        )


def _to_undo(survey: Survey, names: Collection[str], number: int | None) -> sqlite3.Row | None:
    run = survey.connection.execute
    if number is not None:
        found: sqlite3.Row | None = run(
            "select * from actions where id = ? and live = 1", (number,)
        ).fetchone()
        return found
    found = run(
        "select a.* from live_actions a join json_each(?) n on a.by_name = n.value collate nocase"
        " order by a.id desc limit 1",
        (json.dumps(list(names)),),
    ).fetchone()
    return found


def _summary(row: sqlite3.Row) -> str:
    if row["undoes"] is None:
        return f"took back: {row['summary']}"
    return f"brought back: {row['summary'].partition(': ')[2]}"


def _turn(survey: Survey, row: sqlite3.Row) -> tuple[int, bool]:
    """Let an action hold no longer, what it took back hold again, and so on down to the root."""
    live = 0
    while True:
        survey.connection.execute("update actions set live = ? where id = ?", (live, row["id"]))
        if row["undoes"] is None:
            return row["id"], bool(live)
        live = 1 - live
        row = survey.connection.execute(
            "select * from actions where id = ?", (row["undoes"],)
        ).fetchone()


def log(survey: Survey, *, limit: int = 50) -> list[Action]:
    """The newest actions first."""
    rows = survey.connection.execute("select * from actions order by id desc limit ?", (limit,))
    return [_action(row, taken_back=not row["live"]) for row in rows]


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
    row = _to_undo(survey, [by], None)
    if row is None or row["command"] in LASTING:
        return None
    return _action(row, taken_back=False)


def by_number(survey: Survey, number: int) -> Action | None:
    """The action of this number, an undo too."""
    row = survey.connection.execute("select * from actions where id = ?", (number,)).fetchone()
    return _action(row, taken_back=not row["live"]) if row is not None else None
