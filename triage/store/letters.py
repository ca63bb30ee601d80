"""Keeps which letters were drafted for whom, over which sightings and what was said of each."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from datetime import datetime

from triage.store.actions import utc_text
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterRow:
    """A letter as kept. ``said`` is what was said of each sighting, by its identifier."""

    person: int
    kind: str
    year: int
    draft_name: str
    said: dict[str, str]


def add(survey: Survey, letter: LetterRow, *, action: int, now: datetime) -> None:
    """Note a letter that was drafted."""
    survey.connection.execute(
        "insert into letters (person_id, kind, year, draft_name, said, made_at, action_id)"
        " values (?, ?, ?, ?, ?, ?, ?)",
        (
            letter.person,
            letter.kind,
            letter.year,
            letter.draft_name,
            json.dumps(letter.said, sort_keys=True, ensure_ascii=False),
            utc_text(now),
            action,
        ),
    )


def live(survey: Survey, kind: str) -> list[LetterRow]:
    """Letters of a kind whose drafting was not taken back, the oldest first."""
    rows = survey.connection.execute(
        "select l.* from letters l join live_actions a on a.id = l.action_id"
        " where l.kind = ? order by l.id",
        (kind,),
    )
    return [_letter(row) for row in rows]


def of_action(survey: Survey, action: int) -> list[LetterRow]:
    """The letters that an action drafted."""
    rows = survey.connection.execute(
        "select * from letters where action_id = ? order by id", (action,)
    )
    return [_letter(row) for row in rows]


def newest_mail(survey: Survey, person: int) -> int | None:
    """The newest message that a person wrote themselves; None if only machines did."""
    row = survey.connection.execute(
        "select id from messages where sender_id = ? and automatic = ''"
        " order by sent_at desc, id desc limit 1",
        (person,),
    ).fetchone()
    return int(row[0]) if row else None


def texts_of(survey: Survey, person: int) -> list[str]:
    """What a person wrote in their own mails."""
    rows = survey.connection.execute(
        "select e.text from envelopes e join messages m on m.id = e.message_id"
        " where m.sender_id = ? and e.number = 0 order by m.id",
        (person,),
    )
    return [row[0] for row in rows]


def _letter(row: sqlite3.Row) -> LetterRow:
    return LetterRow(
        person=row["person_id"],
        kind=row["kind"],
        year=row["year"],
        draft_name=row["draft_name"],
        said=json.loads(row["said"]),
    )
