"""Keep what was seen in photos, what people corrected, where photos appear and who took them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable

from triage.mail.kept import AppearanceRow
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality import Measurement, corrected
from triage.quality.examination import Examined
from triage.quality.kept import PhotoRow
from triage.quality.usability import STARTING_MODEL, UsabilityModel, model_from_bytes
from triage.standards import identifiers
from triage.standards.groups import in_groups
from triage.store.connection import Survey
from triage.store.learned import newest_learned
from triage.store.rows import holds, json_of, record_of, record_of_json, values_of


def not_examined_with(survey: Survey, method: str) -> list[str]:
    """Digests of photos taken in and not examined with this method, in order of arrival."""
    # From the photos to their mails: SQLite would otherwise walk through all mails.
    rows = survey.run(
        "select min(a.id), a.photo from photos p cross join appearances a on a.photo = p.sha256"
        " where (p.examined_with < ?1 or p.examined_with > ?1) group by a.photo",
        method,
    )
    return [photo for _, photo in sorted(tuple(row) for row in rows)]


def examined_with(survey: Survey, photos: Iterable[str]) -> dict[str, str]:
    """What each of these photos was last examined with, empty for never."""
    query = "select sha256, examined_with from photos where sha256 in (...) order by sha256"
    return dict(survey.run_in(query, photos))


def save_examination(survey: Survey, seen: Examined, *, examined_with: str) -> None:
    """Write what one photo says by itself; links are computed anew when its hash changed."""
    sha256 = seen.photo.sha256
    query = "update photos set linked_with = '' where sha256 = ? and phash <> ?"
    survey.run(query, sha256, seen.keys.phash)
    values = values_of(seen.photo) | seen.keys._asdict()
    values |= {"exif": json_of(seen.exif), "examined_with": examined_with}
    for as_received in ("sha256", "byte_size"):
        del values[as_received]
    survey.update("photos", values, sha256=sha256)
    if seen.measurement is not None:
        known = {"photo": sha256, "colours": json.dumps(list(seen.colours))}
        survey.insert("measurements", known | values_of(seen.measurement), replace=True)


def appearances(survey: Survey, photos: Iterable[str]) -> list[AppearanceRow]:
    """The appearances of the given photos, in order of arrival."""
    return _appearances(survey, "photo in (...)", photos)


def appearances_of_message(survey: Survey, message: int) -> list[AppearanceRow]:
    """The photos of one message, in its order."""
    return _appearances(survey, "message_id in (...)", [message])


def appearances_of_messages(
    survey: Survey, messages: Iterable[int]
) -> dict[int, list[AppearanceRow]]:
    """By message: its photos, in its order."""
    found = _appearances(survey, "message_id in (...)", messages)
    return in_groups((one.message, one) for one in found)


def _appearances(survey: Survey, where: str, values: Iterable[str | int]) -> list[AppearanceRow]:
    query = f"select *, id as part from appearances where {where}"
    return sorted(survey.records_in(AppearanceRow, query, values), key=lambda one: one.order)


def load(survey: Survey, photos: Iterable[str] | None = None) -> dict[str, PhotoRow]:
    """Photos that were taken in, by digest."""
    wanted = sorted(set(every(survey) if photos is None else photos))
    query = "select * from measurements where photo in (...) order by rowid"
    measured = {row["photo"]: row for row in survey.run_in(query, wanted)}
    corrections = _corrections(survey, wanted)
    model = usability_model(survey) if corrections else STARTING_MODEL
    query = (
        "select sha256, format, width, height, orientation, byte_size, exif, problem"
        " from photos where sha256 in (...) order by sha256"
    )
    found = {}
    for row in survey.run_in(query, wanted):
        kept, said = measured.get(row["sha256"]), corrections.get(row["sha256"], {})
        measurement = None if kept is None else record_of(Measurement, kept)
        if measurement is not None and said:
            # A person's word on view and box stands above the measured one.
            view, box = said.get("view"), json.loads(said.get("box", "null"))
            measurement = corrected(measurement, view=view, box=box and tuple(box), model=model)  # type: ignore[arg-type]
        found[row["sha256"]] = PhotoRow(
            photo=record_of(Photo, row),
            exif=exif_of(row),
            measurement=measurement,
            colours=colours_of(kept),
            corrected=tuple(sorted(set(said) - {"publication"})),
            publication=said.get("publication", ""),
        )
    return found


def every(survey: Survey) -> list[str]:
    """Digests of all photos that were taken in."""
    return survey.column("select sha256 from photos")


def usability_model(survey: Survey) -> UsabilityModel:
    """What the survey learned of usability, else what the program starts with."""
    content = newest_learned(survey, "usability")
    return model_from_bytes(content) if content is not None else STARTING_MODEL


def exif_of(row: sqlite3.Row) -> ExifRecord:
    """The Exif facts that a row of photos keeps."""
    return record_of_json(ExifRecord, row["exif"])


def colours_of(row: sqlite3.Row | None) -> tuple[float, ...]:
    """The colour signature that a row of measurements keeps, empty for none."""
    return tuple(json.loads(row["colours"] or "[]")) if row is not None else ()


def _corrections(survey: Survey, wanted: Iterable[str]) -> dict[str, dict[str, str]]:
    """By photo and field what people corrected last; one exposure has one view in all copies."""
    found: dict[str, dict[str, str]] = {}
    for query in (
        "select c.photo, c.field, c.value from corrections c join live_actions a"
        " on a.id = c.action_id where c.photo in (...) order by c.id",
        "select g.photo, c.field, c.value from corrections c"
        " join live_actions a on a.id = c.action_id and c.field = 'view'"
        " join photo_groups h on h.photo = c.photo and h.kind = 'copy'"
        " join photo_groups g on g.group_identifier = h.group_identifier and g.kind = 'copy'"
        " where g.photo in (...) order by c.id",
    ):
        for row in survey.run_in(query, wanted):
            found.setdefault(row["photo"], {})[row["field"]] = row["value"]
    return found


def add_correction(survey: Survey, photo: str, field: str, value: str, *, action: int) -> None:
    """Append a person's correction of view or box, or a clearance for publication."""
    values = {"photo": photo, "field": field, "value": value, "action_id": action}
    survey.insert("corrections", values)


def corrected_by(survey: Survey, action: int, field: str) -> list[str]:
    """Photos of which an action corrected a field."""
    query = "select distinct photo from corrections where action_id = ? and field = ?"
    return sorted(survey.column(query, action, field))


def live_corrections(survey: Survey, field: str) -> dict[str, str]:
    """The newest live correction of one field, by photo."""
    query = f"select photo, value from corrections where field = ? and {holds()} order by id"
    return dict(survey.run(query, field))


def measured_features(survey: Survey, photos: Iterable[str]) -> dict[str, bytes]:
    """The numbers kept for learning, by photo."""
    query = "select photo, features from measurements where photo in (...) order by rowid"
    return dict(survey.run_in(query, photos))


def find(survey: Survey, text: str) -> str:
    """The digest of the photo taken in that begins with these digits.

    Raises
    ------
    UnknownError
        If none or several match, or fewer than six digits are given.
    """
    found = survey.column(
        "select distinct photo from appearances where photo between ? and ? limit 2",
        *identifiers.beginnings(text, "'triage photos'"),
    )
    return str(identifiers.the_one(found, "photo", text, "'triage photos'"))


def add_photographer(survey: Survey, photo: str, person: int, *, action: int) -> None:
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


def photographers_of(survey: Survey, photos: Iterable[str]) -> dict[str, int]:
    """By photo, of these, the row of the person who is said to have taken it."""
    return dict(survey.run_in(f"{_NEWEST} and t.photo in (...)", photos))


def taken_by_others(survey: Survey) -> dict[str, int]:
    """By photo, the person who took it, of photos that never came in a mail of that person."""
    query = (
        f"select n.photo, n.person_id from ({_NEWEST}) n where not exists (select 1"
        f" from {SENT_PARTS} where p.sha256 = n.photo and {SENDER} = n.person_id)"
    )
    return dict(survey.run(query))


def senders_of_parts(survey: Survey, parts: Iterable[int]) -> dict[int, int | None]:
    """By part of a mail, the row of the person who sent it, whoever took the photo."""
    query = f"select p.id, {SENDER} as person_id from {SENT_PARTS} where p.id in (...)"
    return dict(survey.run_in(query, parts))
