"""Keeps which letters were drafted for whom, over which sightings and what was said of each."""

from __future__ import annotations

from datetime import datetime

from triage.replies.due import LetterRow
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.rows import holds, values_of


def add(survey: Survey, letter: LetterRow, *, action: int, now: datetime) -> None:
    """Note a letter that was drafted."""
    values = values_of(letter) | {"made_at": utc_text(now), "action_id": action}
    values["person_id"] = values.pop("person")
    survey.insert("letters", values)


def live(survey: Survey, kind: str) -> list[LetterRow]:
    """Letters of a kind whose drafting was not taken back, the oldest first."""
    return _letters(survey, f"kind = ? and {holds()}", kind)


def of_action(survey: Survey, action: int) -> list[LetterRow]:
    """The letters that an action drafted."""
    return _letters(survey, "action_id = ?", action)


def _letters(survey: Survey, where: str, value: str | int) -> list[LetterRow]:
    return survey.records(LetterRow, f"select * from letters where {where} order by id", value)


def newest_mail(survey: Survey, person: int) -> int | None:
    """The newest message that a person wrote themselves; None if only machines did."""
    query = "select id from messages where sender_id = ? and automatic = ''"
    newest = f"{query} order by julianday(sent_at) desc, identifier desc"  # in any zone
    found: int | None = survey.first(newest, person)
    return found


def texts_of(survey: Survey, person: int) -> list[str]:
    """What a person wrote in their own mails."""
    return survey.column(
        "select e.text from envelopes e join messages m on m.id = e.message_id"
        " where m.sender_id = ? and e.number = 0 order by m.id",
        person,
    )
