"""Keep messages with envelopes and parts, how their texts were read, and the list of the inbox."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from triage.inbox.listing import Heap, Listed
from triage.mail.kept import EnvelopeRow, MessageRow, PartRow
from triage.mail.message import Envelope, Message, Part
from triage.standards import identifiers
from triage.standards.groups import in_groups
from triage.store import people
from triage.store.actions import utc_text
from triage.store.connection import Survey
from triage.store.forgetting import FORGOTTEN
from triage.store.rows import holds, record_of, values_of

ORIGIN_FORGOTTEN = "forgotten"  # the origin of a message whose person was forgotten


def known(survey: Survey, identifier: str) -> bool:
    """Whether this message has been received before."""
    return survey.exists("messages where identifier = ?", identifier)


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
    values = values_of(replace(message, envelopes=(), parts=()))
    del values["envelopes"], values["parts"]
    values["message_header"] = values.pop("message_id")
    values["reference_headers"] = values.pop("references")
    values |= {"sender_id": sender, "subject": outer.subject, "sent_at": _iso(outer.sent_at)}
    values |= {"origin": origin, "raw_name": raw_name, "taken_in_at": utc_text(now)}
    row = survey.insert("messages", values)
    for number, envelope in enumerate(message.envelopes):
        _add_envelope(survey, row, number, envelope)
    for part, sha256 in zip(message.parts, kept, strict=True):
        _add_part(survey, row, part, sha256)
    return row


def _add_envelope(survey: Survey, message: int, number: int, envelope: Envelope) -> None:
    values = values_of(envelope)
    name, address = values.pop("sender_name"), values.pop("sender_address")
    values["person_id"] = people.by_address(survey, address, name=name)
    survey.insert("envelopes", values | {"message_id": message, "number": number})


def _add_part(survey: Survey, message: int, part: Part, sha256: str) -> None:
    if part.outcome in ("taken in", "kept, not examined") and sha256:
        survey.run(
            "insert into photos (sha256, format, width, height, byte_size)"
            " values (?1, ?2, 0, 0, ?3) on conflict do update set problem = '', byte_size = ?3,"
            " examined_with = '', linked_with = '', grouped_with = '' where problem = ?4",
            sha256,
            part.media_type,
            len(part.content),
            FORGOTTEN,
        )
    values = values_of(part) | {"message_id": message, "sha256": sha256 or None}
    values["byte_size"] = len(values.pop("content"))
    del values["digest"]
    survey.insert("parts", values)


_PARTS = "select *, id as row from parts"
_SELECT = f"""
select m.*, m.id as row, m.message_header as message_id, m.reference_headers as "references",
       p.name as sender_name,
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


def set_aside(survey: Survey) -> list[MessageRow]:
    """Messages that nobody has to look at, for a reason other than that all is known."""
    return _messages(survey, "where m.state = 'set aside' order by m.id")


def due(survey: Survey) -> list[MessageRow]:
    """Messages whose state must be derived anew: new ones, and those whose facts changed."""
    return _messages(survey, "where m.state_due = 1 order by m.id")


def make_due(survey: Survey, rows: Iterable[int]) -> None:
    """Have the states of these messages derived anew."""
    survey.run_in("update messages set state_due = 1 where id in (...)", rows)


def make_due_of(survey: Survey, senders: Iterable[int]) -> None:
    """Have the states of all messages derived anew that these people sent."""
    survey.run_in("update messages set state_due = 1 where sender_id in (...)", senders)


def make_due_of_earlier_mails(survey: Survey) -> None:
    """Have the states derived anew of mails before which their senders' first photos came only now.

    Words may be about an earlier mail, also where that is received after them.
    """
    survey.run(
        "with new as (select sender_id, min(coalesce(julianday(sent_at), 0)) as since from messages"
        " where state_due = 1 and state = '' and sender_id is not null group by sender_id)"
        " update messages set state_due = 1 where id in (select m.id from new"
        " join messages m on m.sender_id = new.sender_id"
        " where m.state_due = 0 and coalesce(julianday(m.sent_at) >= new.since, 1)"
        " and not exists (select 1 from messages o where o.sender_id = m.sender_id"
        " and o.state_due = 0 and o.id <> m.id"
        " and coalesce(julianday(o.sent_at) <= julianday(m.sent_at), 1)"
        " and exists (select 1 from appearances a where a.message_id = o.id)))"
    )


def of_sender(survey: Survey, person: int) -> list[MessageRow]:
    """The messages that a person sent."""
    return _messages(survey, "where m.sender_id = ?", person)


def rows_of_action(survey: Survey, action: int) -> list[int]:
    """Rows of the messages that an action settled, set aside or asked about."""
    query = "select distinct message_id from message_states where action_id = ?"
    return survey.column(query, action)


def count_open(survey: Survey) -> int:
    """How many messages are open."""
    return survey.count("messages where state in ('', 'open')")


def any_unsettled(survey: Survey) -> bool:
    """Whether any message is open or waiting."""
    return survey.exists("messages where state in ('', 'open', 'waiting')")


def counts(survey: Survey) -> tuple[int, int]:
    """How many messages there are, and how many parts they have."""
    return survey.count("messages"), survey.count("parts")


def find(survey: Survey, text: str) -> MessageRow:
    """The message whose identifier begins with the text, or whose Message-ID it is.

    Raises
    ------
    UnknownError
        If none or several match, or fewer than six digits are given.
    """
    where = "where m.identifier between ? and ? or m.message_header in (?, ?)"
    beginnings = identifiers.beginnings(text, "'triage inbox'")
    found = _messages(survey, where, *beginnings, text, f"<{text}>")
    return identifiers.the_one(found, "message", text, "'triage inbox'")


def by_row(survey: Survey, row: int) -> MessageRow:
    """The message with this row number, which must exist."""
    return _messages(survey, "where m.id = ?", row)[0]


def parts_of(survey: Survey, message: int) -> list[PartRow]:
    """Every part of a message, in its order."""
    return survey.records(PartRow, f"{_PARTS} where message_id = ? order by id", message)


def other_files(survey: Survey, messages: Iterable[int]) -> dict[int, list[PartRow]]:
    """By message: its parts that were kept and are no pictures."""
    query = f"{_PARTS} where outcome = 'kept, other kind' and message_id in (...) order by id"
    return in_groups((one.message, one) for one in survey.records_in(PartRow, query, messages))


def envelopes_of(survey: Survey, message: int) -> list[EnvelopeRow]:
    """The layers of a message, the outer one first."""
    return survey.records(
        EnvelopeRow,
        "select e.*, p.name as sender_name,"
        " (select min(address) from addresses a where a.person_id = e.person_id)"
        " as sender_address from envelopes e left join people p on p.id = e.person_id"
        " where e.message_id = ? order by e.number",
        message,
    )


def own_text(survey: Survey, message: int) -> str:
    """What the sender of a message wrote in it."""
    query = "select text from envelopes where message_id = ? and number = 0"
    return str(survey.first(query, message) or "")


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
    current = survey.row("select state, state_reason from messages where id = ?", message)
    if action is not None or tuple(current) != (state, reason):
        values = {"message_id": message, "state": state, "reason": reason, "at": utc_text(now)}
        survey.insert("message_states", values | {"action_id": action})
    values = {"state": state, "state_reason": reason, "state_due": int(action is not None)}
    survey.update("messages", values, id=message)


def decided_since(survey: Survey, identifiers: Iterable[str], action: int) -> bool:
    """Whether somebody decided any of these messages after an action."""
    query = (
        "select 1 from message_states where action_id > ? and message_id in"
        " (select id from messages where identifier in (...))"
    )
    return bool(survey.run_in(query, identifiers, action))


def _iso(moment: datetime | None) -> str | None:
    return moment.isoformat() if moment is not None else None


def _messages(survey: Survey, where: str, *values: object) -> list[MessageRow]:
    return [_message(row) for row in survey.run(f"{_SELECT} {where}", *values)]


def _message(row: sqlite3.Row) -> MessageRow:
    by_hand = (row["hand_state"], row["hand_reason"]) == (row["state"], row["state_reason"])
    return record_of(
        MessageRow,
        row,
        state=row["state"] or "open",
        state_reason=row["state_reason"] or "not examined yet",
        state_by_hand=row["hand_state"] is not None and by_hand,
    )


def texts_not_read_with(survey: Survey, key: str) -> list[int]:
    """Messages whose texts have not been read with this list of sites and method.

    The texts of a person who was forgotten are gone: what was read from them stays.
    """
    query = (
        "select id from messages where (texts_read_with < ?1 or texts_read_with > ?1)"
        " and origin <> 'forgotten' order by id"
    )
    return survey.column(query, key)


def texts_to_reread(survey: Survey) -> list[int]:
    """Messages whose texts are to be read again whatever the list of sites."""
    query = "select id from messages where texts_read_with = '' and origin <> 'forgotten'"
    return survey.column(f"{query} order by id")


def texts_read_by(survey: Survey, rows: Iterable[int], rules: str) -> set[int]:
    """Those of these messages whose texts were read by these rules, with whatever list of sites."""
    query = "select id from messages where texts_read_with glob ? and id in (...)"
    return survey.column_in(query, rows, f"{rules} *")


def mark_texts_read(survey: Survey, messages: Iterable[int], key: str) -> None:
    """Note with which list of sites and method the texts were read."""
    survey.run_in("update messages set texts_read_with = ? where id in (...)", messages, key)


def reread_texts(survey: Survey, messages: Iterable[int]) -> None:
    """Have the texts of these messages read again at the next examination."""
    mark_texts_read(survey, messages, "")


def from_lists(survey: Survey, rows: Iterable[int]) -> set[int]:
    """Those of these messages that came through a list or bulk mailing and nobody accepted."""
    query = (
        "select m.id from messages m where m.id in (...) and m.distribution <> ''"
        " and not exists (select 1 from message_states t join live_actions a on a.id = t.action_id"
        " where t.message_id = m.id and t.state = 'settled')"
    )
    return survey.column_in(query, rows)


def texts_of(survey: Survey, rows: Iterable[int]) -> dict[int, str]:
    """By message: what all its authors wrote, the outer one first, without what they quote."""
    query = "select message_id, text from envelopes where message_id in (...) order by number"
    found: dict[int, str] = {}
    for row in survey.run_in(query, rows):
        found[row["message_id"]] = f"{found.get(row['message_id'], '')}\n{row['text']}".strip()
    return found


_NEED = "substr(m.state_reason, 1, instr(m.state_reason || ', ', ', ') - 1)"
_UNSETTLED = "m.state in ('', 'open', 'waiting')"
_NAMES = (
    "coalesce(p.name, '') as sender_name,"
    " case when coalesce(p.name, '') = '' then (select min(address) from addresses a"
    " where a.person_id = m.sender_id) end as sender_address"
)


def heaps(survey: Survey) -> list[Heap]:
    """All unsettled messages, counted from an index."""
    return survey.records(
        Heap,
        f"select m.*, {_NAMES} from (select state, {_NEED} as need,"
        f" sender_id, count(*) as count from messages m where {_UNSETTLED} group by 1, 2, 3) m"
        " left join people p on p.id = m.sender_id",
    )


def listed(survey: Survey, of: Sequence[Heap], *, offset: int, limit: int) -> list[Listed]:
    """So many messages of these heaps together, the earliest sent first."""
    where, values = _in(of)
    return survey.records(
        Listed,
        f"select m.identifier, m.subject, {_NAMES}, m.sent_at, m.state, m.state_reason"
        f" from messages m left join people p on p.id = m.sender_id where {where}"
        " order by coalesce(m.sent_at, ''), m.identifier limit ? offset ?",
        *values,
        limit,
        offset,
    )


def heap_of(survey: Survey, identifier: str) -> tuple[str, str, int | None] | None:
    """State, first need and sender of the heap that an unsettled message lies in."""
    row = survey.row(
        f"select state, {_NEED}, sender_id from messages m where identifier = ? and {_UNSETTLED}",
        identifier,
    )
    return (row[0], row[1], row[2]) if row else None


def count_before(survey: Survey, of: Sequence[Heap], identifier: str) -> int:
    """How many messages of these heaps come before this one of them."""
    where, values = _in(of)
    row = survey.row(
        "select count(*) from messages m, messages here where here.identifier = ?"
        f" and ({where}) and (coalesce(m.sent_at, ''), m.identifier)"
        " < (coalesce(here.sent_at, ''), here.identifier)",
        identifier,
        *values,
    )
    return int(row[0])


def still_open(survey: Survey, identifiers: Iterable[str]) -> set[str]:
    """Those of these messages that need somebody."""
    query = "select identifier from messages where state in ('', 'open') and identifier in (...)"
    return survey.column_in(query, identifiers)


def _in(of: Sequence[Heap]) -> tuple[str, list[str | int | None]]:
    where = " or ".join([f"(m.state = ? and {_NEED} = ? and m.sender_id is ?)"] * len(of))
    return where, [value for heap in of for value in (heap.state, heap.need, heap.sender)]
