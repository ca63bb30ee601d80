"""Keeps who took a photo where its sender did not, and reads whose photos those are."""

from __future__ import annotations

from collections.abc import Iterable

from triage.store.connection import Survey
from triage.store.rows import holds


def add(survey: Survey, photo: str, person: int, *, action: int) -> None:
    """Append that this person took the photo."""
    survey.insert("photographers", {"photo": photo, "person_id": person, "action_id": action})


SENT_PARTS = (
    "parts p join messages m on m.id = p.message_id"
    " left join envelopes e on e.message_id = p.message_id and e.number = p.envelope"
)
SENDER = "coalesce(e.person_id, m.sender_id)"  # of a part in SENT_PARTS, whoever took the photo

_NEWEST = (
    "select t.photo, t.person_id from photographers t"
    f" where {holds('t.action_id')} and t.id = (select max(u.id)"
    f" from photographers u where u.photo = t.photo and {holds('u.action_id')})"
)


def named(survey: Survey, photos: Iterable[str]) -> dict[str, int]:
    """By photo, of these, the row of the person who is said to have taken it."""
    return dict(survey.run_in(f"{_NEWEST} and t.photo in (...)", photos))


def sent_by_others(survey: Survey) -> dict[str, int]:
    """By photo, the person who took it, of photos that never came in a mail of that person."""
    query = (
        f"select n.photo, n.person_id from ({_NEWEST}) n where not exists (select 1"
        f" from {SENT_PARTS} where p.sha256 = n.photo and {SENDER} = n.person_id)"
    )
    return dict(survey.run(query))


def senders(survey: Survey, parts: Iterable[int]) -> dict[int, int | None]:
    """By part of a mail, the row of the person who sent it, whoever took the photo."""
    query = f"select p.id, {SENDER} as person_id from {SENT_PARTS} where p.id in (...)"
    return dict(survey.run_in(query, parts))
