"""Keep the questions drafted for senders, and which message answered which."""

from __future__ import annotations

import sqlite3

from triage.store.connection import Survey
from triage.store.messages import make_due


def add(
    survey: Survey, *, code: str, message: int, what: str, draft_name: str, action: int
) -> None:
    """Note a question that was drafted for a sender."""
    survey.connection.execute(
        "insert into questions (code, message_id, what, draft_name, action_id)"
        " values (?, ?, ?, ?, ?)",
        (code, message, what, draft_name, action),
    )
    make_due(survey, [message])


def live(survey: Survey) -> list[sqlite3.Row]:
    """Questions whose asking was not taken back."""
    return survey.connection.execute(
        "select q.* from questions q join live_actions a on a.id = q.action_id order by q.id"
    ).fetchall()


def ever_drafted(survey: Survey) -> list[sqlite3.Row]:
    """Every question that was ever drafted, also those taken back: a code is never used twice."""
    return survey.connection.execute("select * from questions order by id").fetchall()


def answer(survey: Survey, code: str, message: int) -> None:
    """Note which message answered a question."""
    survey.connection.execute(
        "update questions set answered_by = ? where code = ? and answered_by is null",
        (message, code),
    )
    survey.connection.execute(
        "update messages set state_due = 1, texts_read_with = '' where id ="
        " (select message_id from questions where code = ?)",
        (code,),
    )


def of_action(survey: Survey, action: int) -> list[sqlite3.Row]:
    """The questions that an action asked."""
    return survey.connection.execute(
        "select * from questions where action_id = ?", (action,)
    ).fetchall()
