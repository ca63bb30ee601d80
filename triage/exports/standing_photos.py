"""What stands of a photo in one message, as a row: time, place, their doubts, view, sightings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields

from triage.exports.tables import csv_bytes
from triage.mail.kept import AppearanceRow, MessageRow
from triage.metadata.choosing import Chosen
from triage.quality.kept import PhotoRow
from triage.standards.darwin_core import place_words


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


def standing_photo(
    one: AppearanceRow,
    message: MessageRow,
    row: PhotoRow,
    chosen: Chosen,
    *,
    sender: str,
    photographer: str,
    sightings: str,
) -> StandingPhoto:
    """What stands of a photo in one message; ``sightings`` are identifiers, separated by blanks."""
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


def table_of(rows: Iterable[StandingPhoto]) -> bytes:
    """The rows as a CSV file."""
    return csv_bytes([field.name for field in fields(StandingPhoto)], map(asdict, rows))


def sentence_of(row: StandingPhoto) -> str:
    """When and where a photo is from as it stands now, with its doubts, in one line."""
    when = (
        f"{row.event_date.replace('T', ' ')} ({row.time_source})" if row.event_date else "no date"
    )
    where = place_words(row.locality, row.decimal_latitude, row.decimal_longitude)
    place = f"{where} ({row.place_source})" if where else "no place"
    doubts = "; ".join(text for text in (row.time_doubts, row.place_doubts) if text)
    name = row.file_name or row.photo[:10]
    taken = f", taken by {row.photographer}" if row.photographer else ""
    return f"{name}: {when}, {place}{taken}" + (f"; in doubt: {doubts}" if doubts else "")
