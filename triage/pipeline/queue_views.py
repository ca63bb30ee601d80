"""Show the ranked queue as rows, a table and a page."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from triage.errors import TriageError
from triage.exports.tables import csv_bytes
from triage.pipeline.queueing import Ranked
from triage.report.queue_sheet import SheetEntry, SheetPhoto, queue_sheet
from triage.store import photos, previews
from triage.store.connection import Survey

HEADINGS = (
    *("position", "sighting", "score", "turn", "state"),
    *("event_date", "locality", "decimal_latitude", "decimal_longitude"),
    *("coordinate_uncertainty_in_meters", "suborder", "best_dorsal", "best_lateral", "best"),
    *("photos", "nearest_sites", "reasons", "proposed_changes"),
)
"""The columns of the queue's table; ``determine --from`` passes them over."""
RETIRED_HEADINGS = ("value", "sender_factor", "waiting_term")  # of tables written earlier


def rows(ranked: Sequence[Ranked]) -> list[dict[str, Any]]:
    """One row a sighting, Darwin Core terms where they exist, in the order of the queue."""
    return [
        {
            "position": one.entry.position,
            "sighting": one.sighting.identifier,
            "score": one.entry.score,
            "turn": one.entry.turn,
            "state": one.sighting.state,
            "event_date": one.sighting.event_date,
            "locality": one.sighting.locality,
            "decimal_latitude": one.sighting.decimal_latitude,
            "decimal_longitude": one.sighting.decimal_longitude,
            "coordinate_uncertainty_in_meters": one.sighting.coordinate_uncertainty_in_meters,
            "suborder": one.sighting.suborder,
            "best_dorsal": one.entry.best_dorsal,
            "best_lateral": one.entry.best_lateral,
            "best": one.entry.best,
            "photos": list(one.sighting.photos),
            "nearest_sites": [
                {"locality": name, "distance": round(metres)} for name, metres, _ in one.nearest
            ],
            "reasons": list(one.entry.reasons),
            "proposed_changes": list(one.changes),
        }
        for one in ranked
    ]


def write_csv(ranked: Sequence[Ranked], path: Path) -> None:
    """Write the rows as a table; lists become text separated by " | "."""
    cells = ({key: _cell(value) for key, value in row.items()} for row in rows(ranked))
    path.write_bytes(csv_bytes(HEADINGS, cells))


def _cell(value: Any) -> Any:
    if not isinstance(value, list):
        return value
    return " | ".join(
        f"{one['locality']} ({one['distance']} m)" if isinstance(one, dict) else str(one)
        for one in value
    )


def write_html(survey: Survey, ranked: Sequence[Ranked], path: Path, *, now: datetime) -> None:
    """Write a page that holds its own pictures and needs no network."""
    wanted = {photo for one in ranked for photo in one.sighting.photos}
    rows_of_photos = photos.load(survey, wanted)
    entries = [
        SheetEntry(
            position=one.entry.position,
            sighting=one.sighting.identifier,
            score=one.entry.score,
            event_date=one.sighting.event_date,
            place=one.sighting.locality or _coordinates(one),
            uncertainty=one.sighting.coordinate_uncertainty_in_meters,
            nearest=tuple((name, metres) for name, metres, _ in one.nearest),
            reasons=one.entry.reasons,
            changes=one.changes,
            dorsal=_photo(survey, one.entry.best_dorsal, rows_of_photos),
            lateral=_photo(survey, one.entry.best_lateral, rows_of_photos),
            others=tuple(
                shown
                for photo in one.sighting.photos
                if photo not in (one.entry.best_dorsal, one.entry.best_lateral)
                and (shown := _photo(survey, photo, rows_of_photos))
            ),
        )
        for one in ranked
    ]
    title = survey.settings.survey.title
    path.write_text(queue_sheet(entries, title=title, made_at=now), encoding="utf-8")


def _coordinates(one: Ranked) -> str:
    found = one.sighting
    if found.decimal_latitude is None or found.decimal_longitude is None:
        return ""
    return f"{found.decimal_latitude:.5f}, {found.decimal_longitude:.5f}"


def _photo(survey: Survey, photo: str, known: dict[str, photos.PhotoRow]) -> SheetPhoto | None:
    row = known.get(photo)
    if row is None or row.measurement is None:
        return None
    try:
        content = previews.picture(survey, photo, "small").read_bytes()
    except (TriageError, OSError):
        content = b""  # a damaged original is the audit's to report
    return SheetPhoto(
        photo=photo,
        data=base64.b64encode(content).decode("ascii"),
        measurement=row.measurement,
    )
