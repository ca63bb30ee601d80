"""Keep messages with their envelopes and parts; give back what the inbox needs to know."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import datetime

from triage.mail.kept import EnvelopeRow, MessageRow, PartRow
from triage.mail.message import Envelope, Message, Part
from triage.standards import identifiers
from triage.store import people
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.forgetting import FORGOTTEN
from triage.store.rows import (
    column_of,
    count_of,
    exists,
    first_of,
    holds,
    insert,
    record_of,
    records_of,
    select_in,
)

ORIGIN_FORGOTTEN = "forgotten"  # the origin of a message whose person was forgotten


def known(survey: Survey, identifier: str) -> bool:
    """Whether this message has been received before."""
    return exists(survey, "messages where identifier = ?", (identifier,))


def add(
    survey: Survey,
    message: Message,
    *,
    origin: str,
    raw_name: str,
    kept: Sequence[str],
    now: datetime,
) -> int:
    """Insert a message with its envelopes, parts and photos; ``kept`` are the parts' digests."""
    outer = message.envelopes[0]
    row = insert(
        survey,
        "messages",
        {
            "identifier": message.identifier,
            "message_header": message.message_id,
            "raw_sha256": message.raw_sha256,
            "raw_name": raw_name,
            "in_reply_to": message.in_reply_to,
            "reference_headers": json.dumps(list(message.references)),
            "sender_id": people.by_address(survey, outer.sender_address, name=outer.sender_name),
            "sent_at": _iso(outer.sent_at),
            "received_at": _iso(message.received_at),
            "subject": outer.subject,
            "automatic": message.automatic,
            "distribution": message.distribution,
            "links": json.dumps(list(message.links), ensure_ascii=False),
            "problems": json.dumps(list(message.problems), ensure_ascii=False),
            "origin": origin,
            "taken_in_at": utc_text(now),
        },
    )
    for number, envelope in enumerate(message.envelopes):
        _add_envelope(survey, row, number, envelope)
    for part, sha256 in zip(message.parts, kept, strict=True):
        _add_part(survey, row, part, sha256)
    return row


def _add_envelope(survey: Survey, message: int, number: int, envelope: Envelope) -> None:
    person = people.by_address(survey, envelope.sender_address, name=envelope.sender_name)
    insert(
        survey,
        "envelopes",
        {
            "message_id": message,
            "number": number,
            "person_id": person,
            "sent_at": _iso(envelope.sent_at),
            "subject": envelope.subject,
            "text": envelope.text,
            "quoted_text": envelope.quoted_text,
        },
    )


def _add_part(survey: Survey, message: int, part: Part, sha256: str) -> None:
    if part.outcome in ("taken in", "kept, not examined") and sha256:
        survey.connection.execute(
            "insert into photos (sha256, format, width, height, byte_size)"
            " values (?1, ?2, 0, 0, ?3) on conflict do update set problem = '', byte_size = ?3,"
            " examined_with = '', linked_with = '', grouped_with = '' where problem = ?4",
            (sha256, part.media_type, len(part.content), FORGOTTEN),
        )
    insert(
        survey,
        "parts",
        {
            "message_id": message,
            "path": part.path,
            "envelope": part.envelope,
            "file_name": part.file_name,
            "declared_type": part.declared_type,
            "media_type": part.media_type,
            "outcome": part.outcome,
            "reason": part.reason,
            "sha256": sha256 or None,
            "byte_size": len(part.content),
        },
    )


_PARTS = "select *, id as row, message_id as message from parts"
_SELECT = f"""
select m.*, m.id as row, m.message_header as message_id, m.sender_id as sender,
       m.reference_headers as "references", p.name as sender_name,
       (select min(address) from addresses a where a.person_id = m.sender_id) as sender_address,
       h.state as hand_state, h.reason as hand_reason, coalesce(h.action_id, 0) as hand_action
from messages m
left join people p on p.id = m.sender_id
left join message_states h on h.id = (
    select max(id) from message_states t where t.message_id = m.id and
        {holds("t.action_id")})
"""


def every(survey: Survey) -> list[MessageRow]:
    """All messages, in the order they were taken in."""
    return _messages(survey, "order by m.id")


def unsettled(survey: Survey) -> list[MessageRow]:
    """Messages that are open or waiting."""
    return _messages(survey, "where m.state in ('', 'open', 'waiting') order by m.id")


def due(survey: Survey) -> list[MessageRow]:
    """Messages whose state must be derived anew: new ones, and those whose facts changed."""
    return _messages(survey, "where m.state_due = 1 order by m.id")


def make_due(survey: Survey, rows: Iterable[int]) -> None:
    """Have the states of these messages derived anew."""
    survey.connection.executemany(
        "update messages set state_due = 1 where id = ?", [(row,) for row in rows]
    )


def rows_of_sender(survey: Survey, person: int) -> list[int]:
    """Rows of the messages that a person sent."""
    return column_of(survey, "select id from messages where sender_id = ?", (person,))


def of_sender(survey: Survey, person: int) -> list[MessageRow]:
    """The messages that a person sent."""
    return _messages(survey, "where m.sender_id = ?", (person,))


def rows_of_action(survey: Survey, action: int) -> list[int]:
    """Rows of the messages that an action settled, set aside or asked about."""
    query = "select distinct message_id from message_states where action_id = ?"
    return column_of(survey, query, (action,))


def count_open(survey: Survey) -> int:
    """How many messages are open."""
    return count_of(survey, "messages where state in ('', 'open')")


def any_unsettled(survey: Survey) -> bool:
    """Whether any message is open or waiting."""
    return exists(survey, "messages where state in ('', 'open', 'waiting')")


def counts(survey: Survey) -> tuple[int, int]:
    """How many messages there are, and how many parts they have."""
    return count_of(survey, "messages"), count_of(survey, "parts")


def arrivals(survey: Survey, rows: Iterable[int]) -> dict[int, tuple[str, str]]:
    """By row: a message's identifier, and when it was received or, that unknown, sent."""
    query = "select id, identifier, received_at, sent_at from messages where id in (...)"
    return {
        row["id"]: (row["identifier"], row["received_at"] or row["sent_at"] or "")
        for row in select_in(survey, query, rows)
    }


def find(survey: Survey, text: str) -> MessageRow:
    """The message whose identifier begins with the text, or whose Message-ID it is.

    Raises
    ------
    UnknownError
        If none or several match, or fewer than six digits are given.
    """
    found = _messages(
        survey,
        "where m.identifier between ? and ? or m.message_header in (?, ?)",
        (*identifiers.beginnings(text, "'triage inbox'"), text, f"<{text}>"),
    )
    return identifiers.the_one(found, "message", text, "'triage inbox'")


def by_row(survey: Survey, row: int) -> MessageRow:
    """The message with this row number, which must exist."""
    return _messages(survey, "where m.id = ?", (row,))[0]


def parts_of(survey: Survey, message: int) -> list[PartRow]:
    """Every part of a message, in its order."""
    return records_of(survey, PartRow, f"{_PARTS} where message_id = ? order by id", (message,))


def other_files(survey: Survey, messages: Iterable[int]) -> dict[int, list[PartRow]]:
    """By message: its parts that were kept and are no pictures."""
    rows = select_in(
        survey,
        f"{_PARTS} where outcome = 'kept, other kind' and message_id in (...) order by id",
        messages,
    )
    found: dict[int, list[PartRow]] = {}
    for row in rows:
        found.setdefault(row["message_id"], []).append(record_of(PartRow, row))
    return found


def every_part(survey: Survey) -> list[PartRow]:
    """Every part of every message."""
    return records_of(survey, PartRow, f"{_PARTS} order by id")


def envelopes_of(survey: Survey, message: int) -> list[EnvelopeRow]:
    """The layers of a message, the outer one first."""
    return records_of(
        survey,
        EnvelopeRow,
        "select e.*, e.message_id as message, p.name as sender_name,"
        " (select min(address) from addresses a where a.person_id = e.person_id)"
        " as sender_address from envelopes e left join people p on p.id = e.person_id"
        " where e.message_id = ? order by e.number",
        (message,),
    )


def own_text(survey: Survey, message: int) -> str:
    """What the sender of a message wrote in it."""
    query = "select text from envelopes where message_id = ? and number = 0"
    return str(first_of(survey, query, (message,)) or "")


def set_state(
    survey: Survey,
    message: int,
    state: str,
    reason: str,
    *,
    now: datetime,
    action: int | None = None,
) -> None:
    """Append a state; the same state for the same reason is not repeated."""
    current = survey.connection.execute(
        "select state, state_reason from messages where id = ?", (message,)
    ).fetchone()
    if action is not None or tuple(current) != (state, reason):
        values = {"message_id": message, "state": state, "reason": reason, "at": utc_text(now)}
        insert(survey, "message_states", values | {"action_id": action})
    survey.connection.execute(
        "update messages set state = ?, state_reason = ?, state_due = ? where id = ?",
        (state, reason, int(action is not None), message),
    )


def _iso(moment: datetime | None) -> str | None:
    return moment.isoformat() if moment is not None else None


def _messages(survey: Survey, where: str, values: Sequence[object] = ()) -> list[MessageRow]:
    rows = survey.connection.execute(f"{_SELECT} {where}", values)
    return [_message(row) for row in rows]


def _message(row: sqlite3.Row) -> MessageRow:
    by_hand = (row["hand_state"], row["hand_reason"]) == (row["state"], row["state_reason"])
    return record_of(
        MessageRow,
        row,
        state=row["state"] or "open",
        state_reason=row["state_reason"] or "not examined yet",
        state_by_hand=row["hand_state"] is not None and by_hand,
    )
