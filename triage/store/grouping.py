"""Which photos must be grouped anew in, their surroundings (copies, sightings, days) out."""

from __future__ import annotations

import json
from collections.abc import Iterable

from triage.store.connection import Survey
from triage.store.photos import AppearanceRow, appearances


def mark_dirty(survey: Survey, photos: Iterable[str]) -> None:
    """Have these photos, and with them their sightings, grouped anew."""
    survey.connection.executemany(
        "update photos set grouped_with = '' where sha256 = ?", [(p,) for p in photos]
    )


def mark_grouped(survey: Survey, photos: Iterable[str], method: str) -> None:
    """Note that these photos stand grouped with this method."""
    survey.connection.executemany(
        "update photos set grouped_with = ? where sha256 = ?", [(method, p) for p in photos]
    )


def dirty(survey: Survey, method: str) -> list[str]:
    """Examined photos that are to be grouped anew."""
    rows = survey.connection.execute(
        "select p.sha256 from photos p where p.examined_with <> '' and p.grouped_with <> ?"
        " and exists (select 1 from parts a where a.sha256 = p.sha256 and a.outcome = 'taken in')"
        " order by p.sha256",
        (method,),
    )
    return [row[0] for row in rows]


def appearances_of_message(survey: Survey, message: int) -> list[AppearanceRow]:
    """The photos of one message."""
    rows = survey.connection.execute(
        "select id, photo from appearances where message_id = ? order by id", (message,)
    ).fetchall()
    wanted = {row["id"] for row in rows}
    return [
        one for one in appearances(survey, [row["photo"] for row in rows]) if one.part in wanted
    ]


def sightings_of_photos(survey: Survey, photos: Iterable[str]) -> set[str]:
    """Identifiers of the sightings that hold any of these photos."""
    found: set[str] = set()
    for photo in photos:
        found.update(
            row[0]
            for row in survey.connection.execute(
                "select s.identifier from known_sightings s join sighting_photos p"
                " on p.sighting_id = s.id where p.photo = ? and s.superseded_by is null"
                " and (p.action_id is null or p.action_id in (select id from live_actions))",
                (photo,),
            )
        )
    return found


def sightings_of_day(survey: Survey, observer: int | None, day: str) -> set[str]:
    """Identifiers of one observer's sightings on one day."""
    rows = survey.connection.execute(
        "select identifier from known_sightings where observer_id is ? and superseded_by is null"
        " and substr(event_date, 1, 10) = ?",
        (observer, day),
    )
    return {row[0] for row in rows}


def messages_of_photos(survey: Survey, photos: Iterable[str]) -> set[int]:
    """Rows of the messages in which any of these photos appears."""
    found: set[int] = set()
    for photo in photos:
        found.update(
            row[0]
            for row in survey.connection.execute(
                "select message_id from appearances where photo = ?", (photo,)
            )
        )
    return found


def messages_without_state(survey: Survey) -> set[int]:
    """Rows of messages that have no state yet."""
    rows = survey.connection.execute(
        "select m.id from messages m where not exists"
        " (select 1 from message_states s where s.message_id = m.id)"
    )
    return {row[0] for row in rows}


def photos_of_action(survey: Survey, action: int) -> set[str]:
    """Photos that an action said something about."""
    run = survey.connection.execute
    found: set[str] = set()
    for table in ("time_claims", "place_claims", "corrections"):
        found |= {
            row[0] for row in run(f"select photo from {table} where action_id = ?", (action,))
        }
    for row in run("select members from sighting_edits where action_id = ?", (action,)):
        found |= {photo for photo, _ in json.loads(row[0])}
    messages = "select message_id from camera_corrections where action_id = ? union"
    messages += " select message_id from message_states where action_id = ?"
    query = f"select photo from appearances where message_id in ({messages})"
    found |= {row[0] for row in run(query, (action, action))}
    for identifier in sightings_determined_by(survey, action):
        query = (
            "select photo from sighting_photos p join sightings s on s.id = p.sighting_id"
            " where s.identifier = ?"
        )
        found |= {row[0] for row in run(query, (identifier,))}
    return found | _neighbours(survey, found)


def _neighbours(survey: Survey, photos: set[str]) -> set[str]:
    """The other photos of the sightings that hold these."""
    return {
        row[0]
        for photo in photos
        for row in survey.connection.execute(
            "select q.photo from sighting_photos p join sighting_photos q"
            " on q.sighting_id = p.sighting_id where p.photo = ?",
            (photo,),
        )
    }


def sightings_determined_by(survey: Survey, action: int) -> set[str]:
    """Sightings that an action determined or set aside."""
    rows = survey.connection.execute(
        "select sighting from determinations where action_id = ? union"
        " select sighting from sighting_states where action_id = ?",
        (action, action),
    )
    return {row[0] for row in rows}
