"""Keep the questions drafted for senders, and which message answered which."""

from __future__ import annotations

from collections.abc import Iterable

from triage.replies.drafted import QuestionRow
from triage.store.connection import Survey
from triage.store.messages import make_due
from triage.store.rows import holds


def add(
    survey: Survey, *, code: str, message: int, what: str, draft_name: str, action: int
) -> None:
    """Note a question that was drafted for a sender."""
    values = {"code": code, "message_id": message, "what": what, "draft_name": draft_name}
    survey.insert("questions", values | {"action_id": action})
    make_due(survey, [message])


# A question with the message that answered it, by itself or as a person says.
_SELECT = (
    "select q.code, q.what, q.draft_name, q.message_id, m.identifier, m.subject, m.sender_id,"
    " p.name as sender_name,"
    " coalesce(q.answered_by, (select s.message_id from answers_said s where s.code = q.code"
    f" and {holds('s.action_id')} order by s.id desc limit 1)) as answered_by"
    " from questions q join messages m on m.id = q.message_id"
    " left join people p on p.id = m.sender_id"
)


def live(survey: Survey) -> list[QuestionRow]:
    """Questions whose asking was not taken back."""
    return survey.records(QuestionRow, f"{_SELECT} where {holds('q.action_id')} order by q.id")


def count_drafted(survey: Survey, message: int, what: str) -> int:
    """How often this was asked of a message, also where it was taken back: no code comes twice."""
    return survey.count("questions where message_id = ? and what = ?", message, what)


def answer(survey: Survey, code: str, message: int) -> None:
    """Note which message answered a question."""
    survey.run(
        "update questions set answered_by = ? where code = ? and answered_by is null", message, code
    )
    _read_anew(survey, [code])


def say_answer(survey: Survey, code: str, message: int, *, action: int) -> None:
    """Append that a message answers a question, as a person says."""
    survey.insert("answers_said", {"code": code, "message_id": message, "action_id": action})
    _read_anew(survey, [code])


def read_anew_after(survey: Survey, action: int) -> None:
    """Have what an action said to be an answer read again, after it was taken back or brought."""
    query = "select code from answers_said where action_id = ?"
    _read_anew(survey, survey.column(query, action))


def _read_anew(survey: Survey, codes: Iterable[str]) -> None:
    survey.run_in(
        "update messages set state_due = 1, texts_read_with = '' where id in"
        " (select message_id from questions where code in (...))",
        codes,
    )


def of_action(survey: Survey, action: int) -> list[QuestionRow]:
    """The questions that an action asked."""
    return survey.records(QuestionRow, f"{_SELECT} where q.action_id = ?", action)
