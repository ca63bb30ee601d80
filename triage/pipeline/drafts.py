"""Draft the questions to senders, list them, and take an unsent draft away with its question."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import datetime

from triage.errors import SettingsError, UnknownError
from triage.replies.drafting import AskedMessage, Asker, draft_reply
from triage.replies.envelope import Addressee
from triage.replies.language import language_of
from triage.replies.marks import question_code
from triage.replies.wording import Question, question_called
from triage.store import evidence, messages, photos, questions
from triage.store.connection import Survey


def ask(
    survey: Survey, row: messages.MessageRow, wanted: str, *, action: int, now: datetime
) -> str:
    """Draft a question to the sender of a message; returns the name of the draft.

    Raises
    ------
    UnknownError
        If there is no such question, or nobody to ask.
    SettingsError
        If the survey has no address of its own.
    """
    what = question_called(wanted)
    _may_ask(survey, row)
    asked_before = sum(
        q["message_id"] == row.row and q["what"] == what for q in questions.ever_drafted(survey)
    )
    code = question_code(row.identifier, what, number=asked_before + 1)
    name = f"{code}.eml"
    (survey.replies / name).write_bytes(_draft(survey, row, what, code, now))
    questions.add(survey, code=code, message=row.row, what=what, draft_name=name, action=action)
    return name


def remove_unsent(survey: Survey, question: sqlite3.Row, *, now: datetime) -> None:
    """Take away the draft of a question that was taken back, unless its answer has come."""
    if question["answered_by"] is None and question["draft_name"]:
        (survey.replies / question["draft_name"]).unlink(missing_ok=True)


def write_again(survey: Survey, question: sqlite3.Row, *, now: datetime) -> None:
    """Draft anew a question that is asked after all."""
    row = messages.by_row(survey, question["message_id"])
    path = survey.replies / question["draft_name"]
    if question["answered_by"] is None and not path.exists():
        path.write_bytes(
            _draft(survey, row, question_called(question["what"]), question["code"], now)
        )


def _may_ask(survey: Survey, row: messages.MessageRow) -> None:
    if not survey.settings.survey.reply_address:
        raise SettingsError(
            "a question needs the survey's own address",
            failing="reply_address in [survey] of survey.toml",
            next_step='Set it, such as reply_address = "linnet@example.org", then ask again.',
        )
    if not row.sender_address:
        raise UnknownError(
            "the message names no sender who could be asked",
            failing=f"message {row.identifier[:12]}",
            next_step="Settle it with --site, --date, --accept or --set-aside REASON.",
        )


def _draft(
    survey: Survey, row: messages.MessageRow, what: Question, code: str, now: datetime
) -> bytes:
    settings = survey.settings
    shown = photos.appearances_of_message(survey, row.row)
    return draft_reply(
        AskedMessage(
            to=addressee(row),
            sent_on=row.sent_at[:10],
            places=tuple(
                site.locality
                for site in evidence.sites(survey)
                if not site.private and not site.sensitivity
            )[:8],
            photos=tuple(dict.fromkeys(one.file_name for one in shown if one.file_name)),
        ),
        what,
        code=code,
        asker=Asker(
            survey=settings.survey.title,
            address=settings.survey.reply_address,
            name=settings.survey.contact,
            licence_uri=settings.publishing.asked_photo_licence,
        ),
        now=now,
        language=language_of_message(survey, row),
        templates=survey.folder / "templates",
    )


def addressee(row: messages.MessageRow) -> Addressee:
    """The sender of a message, and the message as a letter to them answers it."""
    return Addressee(
        address=row.sender_address,
        name=row.sender_name,
        subject=row.subject,
        message_id=_bracketed(row.message_id),
        references=tuple(_bracketed(one) for one in row.references),
    )


def language_of_message(survey: Survey, row: messages.MessageRow) -> str:
    """The language that the sender wrote in; the survey's where too few words tell."""
    text = "\n".join(one.text for one in messages.envelopes_of(survey, row.row)[:1])
    return language_of(f"{row.subject}\n{text}", otherwise=survey.settings.survey.language)


def _bracketed(message_id: str) -> str:
    """A Message-ID as the header has it (RFC 5322 section 3.6.4); kept without the brackets."""
    return f"<{message_id.strip('<>')}>" if message_id else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A drafted question, where it lies, and whether its answer has come."""

    code: str
    what: str
    message: str
    path: str
    answered: bool


def drafts(survey: Survey) -> list[Draft]:
    """Every question that was drafted and not taken back."""
    return [
        Draft(
            code=question["code"],
            what=question["what"],
            message=messages.by_row(survey, question["message_id"]).identifier,
            path=str(survey.replies / question["draft_name"]),
            answered=question["answered_by"] is not None,
        )
        for question in questions.live(survey)
    ]
