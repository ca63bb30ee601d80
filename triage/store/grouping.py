"""Note which photos must be grouped anew, and load their surroundings: copies, sightings, days."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from triage.standards.groups import in_groups
from triage.store.connection import Survey
from triage.store.rows import derived_or_holds


def mark_dirty(survey: Survey, photos: Iterable[str]) -> None:
    """Have these photos, and with them their sightings, grouped anew."""
    mark_grouped(survey, photos, "")


def mark_everything_dirty(survey: Survey) -> None:
    """Have all sightings grouped anew, because the rules changed."""
    survey.run("update photos set grouped_with = '' where grouped_with <> ''")


def mark_grouped(survey: Survey, photos: Iterable[str], method: str) -> None:
    """Note that these photos stand grouped with this method."""
    survey.run_in("update photos set grouped_with = ? where sha256 in (...)", photos, method)


def set_partitions(survey: Survey, partitions: Mapping[str, str]) -> None:
    """Note by photo among which others it was grouped: those of one observer and day."""
    survey.run_each(
        "update photos set partition = ? where sha256 = ? and partition <> ?",
        [(partition, photo, partition) for photo, partition in partitions.items()],
    )


def partitions_of(survey: Survey, photos: Iterable[str]) -> set[str]:
    """The partitions that these photos were grouped in so far."""
    query = "select distinct partition from photos where sha256 in (...)"
    return survey.column_in(query, photos) - {""}


def photos_in_partitions(survey: Survey, partitions: Iterable[str]) -> set[str]:
    """Every photo that was grouped in one of these partitions."""
    return survey.column_in("select sha256 from photos where partition in (...)", partitions)


def dirty(survey: Survey, method: str) -> list[str]:
    """Examined photos that are to be grouped anew."""
    # Put in order here: SQLite would walk through all photos in the order asked for.
    query = (
        "select p.sha256 from photos p where (p.grouped_with < ?1 or p.grouped_with > ?1)"
        " and p.examined_with <> ''"
        " and exists (select 1 from parts a where a.sha256 = p.sha256 and a.outcome = 'taken in')"
    )
    return sorted(survey.column(query, method))


def by_sender(survey: Survey, photos: Sequence[str], *, most: int) -> Iterator[list[str]]:
    """The photos in portions of at most so many, those of one sender in one portion."""
    if len(photos) <= most:
        if photos:
            yield list(photos)
        return
    query = "select photo, min(coalesce(person_id, 0)) from appearances where photo in (...)"
    sender = dict(survey.run_in(f"{query} group by photo", photos))
    portion: list[str] = []
    for _, ones in groupby(sorted(photos, key=lambda p: (sender[p], p)), key=sender.__getitem__):
        of_one = list(ones)
        if portion and len(portion) + len(of_one) > most:
            yield portion
            portion = []
        portion += of_one
    yield portion


def sightings_of_photos(survey: Survey, photos: Iterable[str]) -> set[str]:
    """Identifiers of the sightings that hold any of these photos."""
    return {one for ones in sightings_by_photo(survey, photos).values() for one in ones}


def sightings_by_photo(survey: Survey, photos: Iterable[str]) -> dict[str, list[str]]:
    """By photo, of those that any sighting holds: the identifiers of these, in order."""
    query = (
        "select distinct p.photo, s.identifier from sighting_photos p join known_sightings s"
        " on s.id = p.sighting_id where p.photo in (...) and s.superseded_by is null"
        f" and {derived_or_holds('p.action_id')}"
    )
    found = in_groups((row[0], row[1]) for row in survey.run_in(query, photos))
    return {photo: sorted(ones) for photo, ones in found.items()}


def messages_of_photos(survey: Survey, photos: Iterable[str]) -> set[int]:
    """Rows of the messages in which any of these photos appears."""
    return survey.column_in("select message_id from appearances where photo in (...)", photos)


def photos_of_people(survey: Survey, people: Iterable[int]) -> set[str]:
    """Photos that are any of these people's: sent, and not said to be another's, or taken."""
    # Found by whom a mail, a forwarded part or a photo is from: the view would be read whole.
    query = (
        "select photo from appearances where person_id = ?1 and id in ("
        "select p.id from messages m join parts p on p.message_id = m.id where m.sender_id = ?1"
        " union select p.id from envelopes e join parts p on p.message_id = e.message_id"
        " and p.envelope = e.number where e.person_id = ?1"
        " union select p.id from photographers t join parts p on p.sha256 = t.photo"
        " where t.person_id = ?1)"
    )
    return {photo for person in people for photo in survey.column(query, person)}


def photos_of_action(survey: Survey, action: int) -> set[str]:
    """Photos that an action said something about."""
    found: set[str] = set()
    for table in ("time_claims", "place_claims", "corrections", "photographers"):
        found |= {*survey.column(f"select photo from {table} where action_id = ?", action)}
    for members in survey.column("select members from sighting_edits where action_id = ?", action):
        found |= {photo for photo, _ in json.loads(members)}
    messages = "select message_id from camera_corrections where action_id = ?1 union"
    messages += " select message_id from message_states where action_id = ?1"
    query = f"select photo from appearances where message_id in ({messages})"
    found |= {*survey.column(query, action)}
    query = (
        "select photo from sighting_photos p join sightings s on s.id = p.sighting_id"
        " where s.identifier in (...)"
    )
    found |= survey.column_in(query, sightings_determined_by(survey, action))
    together = (
        "select q.photo from sighting_photos p join sighting_photos q"
        " on q.sighting_id = p.sighting_id where p.photo in (...)"
    )
    return found | survey.column_in(together, found)


def sightings_determined_by(survey: Survey, action: int) -> set[str]:
    """Sightings that an action determined or set aside."""
    query = (
        "select sighting from determinations where action_id = ?1 union"
        " select sighting from sighting_states where action_id = ?1"
    )
    return set(survey.column(query, action))
