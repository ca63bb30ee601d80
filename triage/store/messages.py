"""Messages and their parts in, rows out; and what the inbox needs to know back."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from triage.errors import UnknownError
from triage.mail.message import Message
from triage.store import people
from triage.store.actions import utc_text
from triage.store.connection import Survey, portions


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageRow:
    """A message as the survey keeps it; times are ISO text with the offset as sent."""

    row: int
    identifier: str
    message_id: str
    sender: int | None
    sender_name: str
    sender_address: str
    sent_at: str
    received_at: str
    subject: str
    automatic: str
    links: tuple[str, ...]
    problems: tuple[str, ...]
    origin: str
    in_reply_to: str
    references: tuple[str, ...]
    state: str
    state_reason: str
    state_by_hand: bool
    hand_state: str = ""
    hand_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """One part as kept: what it was, what became of it, and the digest if anything was kept."""

    row: int
    message: int
    path: str
    envelope: int
    file_name: str
    declared_type: str
    media_type: str
    outcome: str
    reason: str
    sha256: str
    byte_size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EnvelopeRow:
    """One layer of a message as kept."""

    message: int
    number: int
    sender_name: str
    sender_address: str
    sent_at: str
    subject: str
    text: str
    quoted_text: str


def known(survey: Survey, identifier: str) -> bool:
    """Whether this message has been received before."""
    return (
        survey.connection.execute(
            "select 1 from messages where identifier = ?", (identifier,)
        ).fetchone()
        is not None
    )


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
    sender = people.by_address(survey, outer.sender_address, name=outer.sender_name)
    run = survey.connection.execute
    cursor = run(
        "insert into messages (identifier, message_header, raw_sha256, raw_name, in_reply_to,"
        " reference_headers, sender_id, sent_at, received_at, subject, automatic, links, problems,"
        " origin, taken_in_at) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            message.identifier,
            message.message_id,
            message.raw_sha256,
            raw_name,
            message.in_reply_to,
            json.dumps(list(message.references)),
            sender,
            _iso(outer.sent_at),
            _iso(message.received_at),
            outer.subject,
            message.automatic,
            json.dumps(list(message.links), ensure_ascii=False),
            json.dumps(list(message.problems), ensure_ascii=False),
            origin,
            utc_text(now),
        ),
    )
    row = int(cursor.lastrowid or 0)
    for number, envelope in enumerate(message.envelopes):
        person = people.by_address(survey, envelope.sender_address, name=envelope.sender_name)
        run(
            "insert into envelopes values (?, ?, ?, ?, ?, ?, ?)",
            (
                row,
                number,
                person,
                _iso(envelope.sent_at),
                envelope.subject,
                envelope.text,
                envelope.quoted_text,
            ),
        )
    for part, sha256 in zip(message.parts, kept, strict=True):
        if part.outcome in ("taken in", "kept, not examined") and sha256:
            run(
                "insert into photos (sha256, format, width, height, byte_size)"
                " values (?, ?, 0, 0, ?) on conflict do nothing",
                (sha256, part.media_type, len(part.content)),
            )
        run(
            "insert into parts (message_id, path, envelope, file_name, declared_type, media_type,"
            " outcome, reason, sha256, byte_size) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                row,
                part.path,
                part.envelope,
                part.file_name,
                part.declared_type,
                part.media_type,
                part.outcome,
                part.reason,
                sha256 or None,
                len(part.content),
            ),
        )
    return row


_SELECT = """
select m.*, coalesce(p.name, '') as sender_name, coalesce(
           (select min(address) from addresses a where a.person_id = m.sender_id), '') as address,
       h.state as hand_state, h.reason as hand_reason
from messages m
left join people p on p.id = m.sender_id
left join message_states h on h.id = (
    select max(id) from message_states t where t.message_id = m.id and
        t.action_id in (select id from live_actions))
"""


def every(survey: Survey) -> list[MessageRow]:
    """All messages, in the order they were taken in."""
    return [_message(row) for row in survey.connection.execute(_SELECT + " order by m.id")]


def unsettled(survey: Survey) -> list[MessageRow]:
    """Messages that are open or waiting."""
    return [
        _message(row)
        for row in survey.connection.execute(
            _SELECT + " where m.state in ('', 'open', 'waiting') order by m.id"
        )
    ]


def due(survey: Survey) -> list[MessageRow]:
    """Messages whose state must be derived anew: new ones, and those whose facts changed."""
    rows = survey.connection.execute(_SELECT + " where m.state_due = 1 order by m.id")
    return [_message(row) for row in rows]


def make_due(survey: Survey, rows: Iterable[int]) -> None:
    """Have the states of these messages derived anew."""
    survey.connection.executemany(
        "update messages set state_due = 1 where id = ?", [(row,) for row in rows]
    )


def rows_of_sender(survey: Survey, person: int) -> list[int]:
    """Rows of the messages that a person sent."""
    rows = survey.connection.execute("select id from messages where sender_id = ?", (person,))
    return [row[0] for row in rows]


def count_open(survey: Survey) -> int:
    """How many messages are open."""
    query = "select count(*) from messages where state in ('', 'open')"
    return int(survey.connection.execute(query).fetchone()[0])


def counts(survey: Survey) -> tuple[int, int]:
    """How many messages there are, and how many parts they have."""
    run = survey.connection.execute
    return (
        int(run("select count(*) from messages").fetchone()[0]),
        int(run("select count(*) from parts").fetchone()[0]),
    )


def arrivals(survey: Survey, rows: Iterable[int]) -> dict[int, tuple[str, str]]:
    """By row: a message's identifier, and when it was received or, that unknown, sent."""
    found = {}
    for portion in portions(rows):
        marks = ",".join("?" * len(portion))
        for row in survey.connection.execute(
            f"select id, identifier, received_at, sent_at from messages where id in ({marks})",
            portion,
        ):
            found[row["id"]] = (row["identifier"], row["received_at"] or row["sent_at"] or "")
    return found


def find(survey: Survey, text: str) -> MessageRow:
    """The message whose identifier begins with the text, or whose Message-ID it is.

    Raises
    ------
    UnknownError
        If none or several match.
    """
    rows = survey.connection.execute(
        _SELECT + " where m.identifier between ? and ? or m.message_header in (?, ?)",
        (text.lower(), text.lower() + "~", text, f"<{text}>"),
    ).fetchall()
    if len(rows) != 1:
        raise UnknownError(
            "no message" if not rows else f"{len(rows)} messages begin so",
            failing=text,
            next_step="Give more digits of the identifier that 'triage inbox' shows.",
        )
    return _message(rows[0])


def by_row(survey: Survey, row: int) -> MessageRow:
    """The message with this row number, which must exist."""
    return _message(survey.connection.execute(_SELECT + " where m.id = ?", (row,)).fetchone())


def parts_of(survey: Survey, message: int) -> list[PartRow]:
    """Every part of a message, in its order."""
    rows = survey.connection.execute(
        "select * from parts where message_id = ? order by id", (message,)
    )
    return [_part(row) for row in rows]


def every_part(survey: Survey) -> list[PartRow]:
    """Every part of every message."""
    return [_part(row) for row in survey.connection.execute("select * from parts order by id")]


def envelopes_of(survey: Survey, message: int) -> list[EnvelopeRow]:
    """The layers of a message, the outer one first."""
    rows = survey.connection.execute(
        "select e.*, coalesce(p.name, '') as sender_name, coalesce("
        " (select min(address) from addresses a where a.person_id = e.person_id), '') as address"
        " from envelopes e left join people p on p.id = e.person_id"
        " where e.message_id = ? order by e.number",
        (message,),
    )
    return [
        EnvelopeRow(
            message=row["message_id"],
            number=row["number"],
            sender_name=row["sender_name"],
            sender_address=row["address"],
            sent_at=row["sent_at"] or "",
            subject=row["subject"],
            text=row["text"],
            quoted_text=row["quoted_text"],
        )
        for row in rows
    ]


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
        survey.connection.execute(
            "insert into message_states (message_id, state, reason, at, action_id)"
            " values (?, ?, ?, ?, ?)",
            (message, state, reason, utc_text(now), action),
        )
    survey.connection.execute(
        "update messages set state = ?, state_reason = ?, state_due = ? where id = ?",
        (state, reason, int(action is not None), message),
    )


def texts_not_read_with(survey: Survey, key: str) -> list[int]:
    """Messages whose texts have not been read with this list of sites and method.

    The texts of a person who was forgotten are gone: what was read from them stays.
    """
    rows = survey.connection.execute(
        "select id from messages where (texts_read_with < ? or texts_read_with > ?)"
        " and origin <> 'forgotten' order by id",
        (key, key),
    )
    return [row[0] for row in rows]


def texts_to_reread(survey: Survey) -> list[int]:
    """Messages whose texts are to be read again whatever the list of sites."""
    rows = survey.connection.execute(
        "select id from messages where texts_read_with = '' and origin <> 'forgotten' order by id"
    )
    return [row[0] for row in rows]


def mark_texts_read(survey: Survey, messages: Iterable[int], key: str) -> None:
    """Note with which list of sites and method the texts were read."""
    survey.connection.executemany(
        "update messages set texts_read_with = ? where id = ?", [(key, row) for row in messages]
    )


def reread_texts(survey: Survey, message: int) -> None:
    """Have a message's texts read again at the next examination."""
    survey.connection.execute("update messages set texts_read_with = '' where id = ?", (message,))


def add_question(
    survey: Survey, *, code: str, message: int, what: str, draft_name: str, action: int
) -> None:
    """Note a question that was drafted for a sender."""
    survey.connection.execute(
        "insert into questions (code, message_id, what, draft_name, action_id)"
        " values (?, ?, ?, ?, ?)",
        (code, message, what, draft_name, action),
    )
    make_due(survey, [message])


def questions(survey: Survey) -> list[sqlite3.Row]:
    """Questions whose asking was not taken back."""
    return survey.connection.execute(
        "select q.* from questions q join live_actions a on a.id = q.action_id order by q.id"
    ).fetchall()


def all_questions(survey: Survey) -> list[sqlite3.Row]:
    """Every question that was ever drafted, also those taken back: a code is never used twice."""
    return survey.connection.execute("select * from questions order by id").fetchall()


def answer_question(survey: Survey, code: str, message: int) -> None:
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


def add_failure(survey: Survey, *, stage: str, subject: str, reason: str, now: datetime) -> None:
    """Note that one thing failed in one stage; the newest reason replaces an older one."""
    survey.connection.execute(
        "insert into failures values (?, ?, ?, ?) on conflict (stage, subject)"
        " do update set reason = excluded.reason, at = excluded.at",
        (stage, subject, reason, utc_text(now)),
    )


def clear_failure(survey: Survey, *, stage: str, subject: str) -> None:
    """Forget a failure that was mended."""
    survey.connection.execute(
        "delete from failures where stage = ? and subject = ?", (stage, subject)
    )


def failures(survey: Survey) -> list[sqlite3.Row]:
    """What failed and still does."""
    return survey.connection.execute("select * from failures order by stage, subject").fetchall()


def imap_position(survey: Survey, account: str, folder: str) -> tuple[int, int] | None:
    """Where the last reading of a mailbox stopped: UIDVALIDITY and UID."""
    row = survey.connection.execute(
        "select uid_validity, uid from imap_positions where account = ? and folder = ?",
        (account, folder),
    ).fetchone()
    return (row[0], row[1]) if row else None


def set_imap_position(
    survey: Survey, account: str, folder: str, uid_validity: int, uid: int
) -> None:
    """Note where the reading of a mailbox stands."""
    survey.connection.execute(
        "insert into imap_positions values (?, ?, ?, ?) on conflict (account, folder)"
        " do update set uid_validity = excluded.uid_validity, uid = excluded.uid",
        (account, folder, uid_validity, uid),
    )


def _iso(moment: datetime | None) -> str | None:
    return moment.isoformat() if moment is not None else None


def _message(row: sqlite3.Row) -> MessageRow:
    return MessageRow(
        row=row["id"],
        identifier=row["identifier"],
        message_id=row["message_header"],
        sender=row["sender_id"],
        sender_name=row["sender_name"],
        sender_address=row["address"],
        sent_at=row["sent_at"] or "",
        received_at=row["received_at"] or "",
        subject=row["subject"],
        automatic=row["automatic"],
        links=tuple(json.loads(row["links"])),
        problems=tuple(json.loads(row["problems"])),
        origin=row["origin"],
        in_reply_to=row["in_reply_to"],
        references=tuple(json.loads(row["reference_headers"])),
        state=row["state"] or "open",
        state_reason=row["state_reason"] or "not examined yet",
        state_by_hand=row["hand_state"] is not None
        and (row["hand_state"], row["hand_reason"]) == (row["state"], row["state_reason"]),
        hand_state=row["hand_state"] or "",
        hand_reason=row["hand_reason"] or "",
    )


def _part(row: sqlite3.Row) -> PartRow:
    return PartRow(
        row=row["id"],
        message=row["message_id"],
        path=row["path"],
        envelope=row["envelope"],
        file_name=row["file_name"],
        declared_type=row["declared_type"],
        media_type=row["media_type"],
        outcome=row["outcome"],
        reason=row["reason"],
        sha256=row["sha256"] or "",
        byte_size=row["byte_size"],
    )


def parse_moment(text: str) -> datetime | None:
    """ISO text as kept back to an aware moment, with the sender's offset where it is known.

    A date with the zone ``-0000`` is UTC by RFC 5322 section 3.3: only the sender's zone is
    unknown.
    """
    if not text:
        return None
    moment = datetime.fromisoformat(text)
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
