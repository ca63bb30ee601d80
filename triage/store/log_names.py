"""Look up what an identifier in a line of the log stands for: a mail, a photo or a sighting."""

from __future__ import annotations

from dataclasses import dataclass

from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a person knows a mail, a photo or a sighting by; empty where it is not known."""

    subject: str = ""
    day: str = ""
    who: str = ""
    file_name: str = ""
    locality: str = ""
    latitude: float | None = None
    longitude: float | None = None


_WHO = "coalesce(nullif(p.name, ''), p.code) as who"
_MAIL = "m.subject, substr(m.sent_at, 1, 10) as day"
_LOOK_UPS = (
    f"select {_MAIL}, {_WHO} from messages m left join people p on p.id = m.sender_id"
    " where m.identifier between ?1 and ?1 || 'g' limit 1",
    f"select a.file_name, {_MAIL}, {_WHO} from parts a join messages m on m.id = a.message_id"
    " left join people p on p.id = m.sender_id"
    " where a.sha256 between ?1 and ?1 || 'g' order by a.id limit 1",
    "select substr(event_date, 1, 10) as day, locality, decimal_latitude as latitude,"
    " decimal_longitude as longitude from sightings where identifier = ?1",
)


def named(survey: Survey, identifier: str) -> Named | None:
    """What the identifier, or the digits that it begins with, stands for; None for nothing."""
    for query in _LOOK_UPS:
        if found := survey.record(Named, query, identifier):
            return found
    return None
