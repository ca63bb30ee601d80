"""Find which question a mail answers: by its thread, else by our words that it quotes."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from email import message_from_bytes, policy

from triage.errors import UnknownError
from triage.replies.answers import recognise_answer
from triage.replies.threads import AskedQuestion, ThreadFound, recognise_without_thread
from triage.store import messages, photos, questions
from triage.store.connection import Survey
from triage.store.messages import MessageRow


def answered(survey: Survey, row: MessageRow, waiting: Iterable[sqlite3.Row]) -> ThreadFound:
    """The question that a mail surely answers, or one that it may answer, of those that wait.

    Whoever else writes in the thread is heard by the coordinator, not believed.
    """
    asked = {q["code"]: q for q in waiting if _is_asked_of(survey, q, row)}
    if not asked or row.automatic:  # a machine that replies has read nothing
        return ThreadFound()
    layers = messages.envelopes_of(survey, row.row)
    quoted = "\n".join(one.quoted_text for one in layers)
    words = "\n".join((row.subject, *(one.text for one in layers), quoted))
    code = recognise_answer(row.in_reply_to, row.references, words, list(asked))
    if code:
        return ThreadFound(code=code)
    # A subject tells only where nothing else does: photos may be new ones on the old subject.
    brings = bool(photos.appearances_of_message(survey, row.row))
    threaded = bool(row.in_reply_to or row.references)
    found = recognise_without_thread(
        "" if brings or threaded else row.subject,
        quoted,
        [_asked(survey, question) for question in asked.values()],
    )
    return ThreadFound(code=found.code) if brings else found


def say_answer(survey: Survey, row: MessageRow, code: str, *, action: int) -> str:
    """Append that a message answers the question of this code; returns what was asked.

    Raises
    ------
    UnknownError
        If no question of that code waits for this message's sender.
    """
    known = [q for q in questions.live(survey) if q["code"] == code.strip().lower()]
    if not known or not _is_asked_of(survey, known[0], row):
        raise UnknownError(
            "no such question was asked of this sender",
            failing=code,
            next_step="See 'triage replies' for the codes.",
        )
    questions.say_answer(survey, known[0]["code"], row.row, action=action)
    return str(known[0]["what"])


def _is_asked_of(survey: Survey, question: sqlite3.Row, row: MessageRow) -> bool:
    asked = messages.by_row(survey, question["message_id"])
    return asked.row != row.row and asked.sender is not None and asked.sender == row.sender


def _asked(survey: Survey, question: sqlite3.Row) -> AskedQuestion:
    return AskedQuestion(
        code=question["code"],
        subject=messages.by_row(survey, question["message_id"]).subject,
        words=_words_of(survey, question["draft_name"]),
    )


def _words_of(survey: Survey, draft_name: str) -> str:
    """The text of a draft as it lies in the survey, empty where it lies there no more."""
    path = survey.replies / draft_name
    if not path.is_file():
        return ""
    body = message_from_bytes(path.read_bytes(), policy=policy.default).get_body(("plain",))
    return body.get_content() if body is not None else ""
