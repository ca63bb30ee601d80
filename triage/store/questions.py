"""Keep the questions drafted for senders, and which message answered which."""

from __future__ import annotations

import sqlite3

from triage.store.connection import Survey
from triage.store.messages import make_due
from triage.store.rows import holds


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


# A question with the message that answered it, by itself or as a person says.
_SELECT = (
    "select q.id, q.code, q.message_id, q.what, q.draft_name, q.action_id,"
    " coalesce(q.answered_by, (select s.message_id from answers_said s where s.code = q.code"
    f" and {holds('s.action_id')} order by s.id desc limit 1))"
    " as answered_by from questions q"
)


def live(survey: Survey) -> list[sqlite3.Row]:
    """Questions whose asking was not taken back."""
    return survey.connection.execute(
        f"{_SELECT} join live_actions a on a.id = q.action_id order by q.id"
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
    _read_anew(survey, code)


def say_answer(survey: Survey, code: str, message: int, *, action: int) -> None:
    """Append that a message answers a question, as a person says."""
    survey.connection.execute(
        "insert into answers_said (code, message_id, action_id) values (?, ?, ?)",
        (code, message, action),
    )
    _read_anew(survey, code)


def read_anew_after(survey: Survey, action: int) -> None:
    """Have what an action said to be an answer read again, after it was taken back or brought."""
    query = "select code from answers_said where action_id = ?"
    for row in survey.connection.execute(query, (action,)).fetchall():
        _read_anew(survey, row["code"])


def _read_anew(survey: Survey, code: str) -> None:
    survey.connection.execute(
        "update messages set state_due = 1, texts_read_with = '' where id ="
        " (select message_id from questions where code = ?)",
        (code,),
    )


def of_action(survey: Survey, action: int) -> list[sqlite3.Row]:
    """The questions that an action asked."""
    return survey.connection.execute(f"{_SELECT} where q.action_id = ?", (action,)).fetchall()
