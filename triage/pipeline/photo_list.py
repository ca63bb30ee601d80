"""List what stands of each photo: message, time and place with their doubts, view, sighting.

One row for each appearance of a photo in a message; read back from the survey, never from what was
typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from triage.exports.tables import csv_bytes
from triage.mail.kept import AppearanceRow, MessageRow
from triage.metadata.choosing import Chosen
from triage.pipeline import claims
from triage.quality.kept import PhotoRow
from triage.store import copies, grouping, messages, people, photographers, photos
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingPhoto:
    """A photo as it stands in one message; empty where nothing is known.

    ``sender`` and ``photographer`` are codes; the latter only where another than the sender did.
    """

    photo: str
    file_name: str
    message: str
    message_state: str
    sender: str
    photographer: str
    received: str
    event_date: str
    time_source: str
    time_uncertainty_in_seconds: float | None
    time_doubts: str
    decimal_latitude: float | None
    decimal_longitude: float | None
    coordinate_uncertainty_in_meters: float | None
    location_id: str
    locality: str
    place_source: str
    place_doubts: str
    kind: str
    view: str
    usability: float | None
    publication: str
    sightings: str
    problem: str


def standing_photos(
    survey: Survey, identifiers: Iterable[str] | None = None
) -> list[StandingPhoto]:
    """Every photo of every message, or of the messages with these identifiers, as it stands."""
    rows = (
        messages.every(survey)
        if identifiers is None
        else [messages.find(survey, one) for one in identifiers]
    )
    shown = photos.appearances_of_messages(survey, [row.row for row in rows])
    every = [one for row in rows for one in shown.get(row.row, ())]
    return _rows(survey, {row.row: row for row in rows}, every)


def standing_photo(survey: Survey, photo: str) -> list[StandingPhoto]:
    """One photo as it stands, in every message that brought it."""
    shown = photos.appearances(survey, [photos.find(survey, photo)])
    rows = {one.message: messages.by_row(survey, one.message) for one in shown}
    return _rows(survey, rows, shown)


def _rows(
    survey: Survey, rows: dict[int, MessageRow], shown: Sequence[AppearanceRow]
) -> list[StandingPhoto]:
    groups = copies.exposures(survey, [one.photo for one in shown])
    best_of = {photo: best for best, members in groups.items() for photo in members}
    known = photos.load(survey, best_of)
    chosen = claims.choose(survey, groups, rows=known)
    held = _sightings(survey, [one.photo for one in shown])
    codes = people.codes(survey)
    taken = photographers.named(survey, best_of)
    senders = photographers.senders(survey, [one.part for one in shown if one.photo in taken])
    return [
        _row(
            one,
            rows[one.message],
            known[one.photo],
            chosen[best_of[one.photo]],
            sender=codes.get(senders.get(one.part, one.person) or 0, ""),
            photographer=codes.get(taken.get(one.photo, 0), ""),
            sightings=held.get(best_of[one.photo], held.get(one.photo, "")),
        )
        for one in shown
    ]


def _sightings(survey: Survey, every: Iterable[str]) -> dict[str, str]:
    return {
        photo: " ".join(sorted(grouping.sightings_of_photos(survey, [photo])))
        for photo in dict.fromkeys(every)
    }


def _row(
    one: AppearanceRow,
    message: MessageRow,
    row: PhotoRow,
    chosen: Chosen,
    *,
    sender: str,
    photographer: str,
    sightings: str,
) -> StandingPhoto:
    time, place, measured = chosen.time, chosen.place, row.measurement
    return StandingPhoto(
        photo=one.photo,
        file_name=one.file_name,
        message=message.identifier,
        message_state=message.state,
        sender=sender,
        photographer=photographer,
        received=message.received_at or message.sent_at,
        event_date=time.event_date if time else "",
        time_source=time.source if time else "",
        time_uncertainty_in_seconds=time.uncertainty_seconds if time else None,
        time_doubts="; ".join(chosen.time_doubts),
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters if place else None,
        location_id=place.location_id if place else "",
        locality=place.locality if place else "",
        place_source=place.source if place else "",
        place_doubts="; ".join(chosen.place_doubts),
        kind=measured.kind if measured else "",
        view=measured.view if measured else "",
        usability=round(measured.usability, 4) if measured else None,
        publication=row.publication,
        sightings=sightings,
        problem=row.photo.problem,
    )


def write_csv(rows: Iterable[StandingPhoto], path: Path) -> None:
    """Write the rows as a table."""
    columns = [field.name for field in fields(StandingPhoto)]
    path.write_bytes(csv_bytes(columns, map(asdict, rows)))


def sentence_of(row: StandingPhoto) -> str:
    """When and where a photo is from as it stands now, with its doubts, in one line."""
    when = (
        f"{row.event_date.replace('T', ' ')} ({row.time_source})" if row.event_date else "no date"
    )
    where = row.locality
    if row.decimal_latitude is not None and not where:
        where = f"{row.decimal_latitude:.5f}, {row.decimal_longitude:.5f}"
    place = f"{where} ({row.place_source})" if where else "no place"
    doubts = "; ".join(text for text in (row.time_doubts, row.place_doubts) if text)
    name = row.file_name or row.photo[:10]
    taken = f", taken by {row.photographer}" if row.photographer else ""
    return f"{name}: {when}, {place}{taken}" + (f"; in doubt: {doubts}" if doubts else "")
