"""List what stands of photos, one row for each appearance in a message.

It is read back from the survey, never from what was typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from triage.exports.standing_photos import StandingPhoto
from triage.exports.standing_photos import standing_photo as row_of
from triage.mail.kept import AppearanceRow, MessageRow
from triage.pipeline import claims
from triage.store import grouping, messages, people, photos
from triage.store.connection import Survey


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
    known = claims.exposures(survey, [one.photo for one in shown])
    best_of = known.best_of
    held = grouping.sightings_by_photo(survey, [one.photo for one in shown])
    codes = people.codes(survey)
    taken = photos.photographers_of(survey, best_of)
    senders = photos.senders_of_parts(survey, [one.part for one in shown if one.photo in taken])
    return [
        row_of(
            one,
            rows[one.message],
            known.rows[one.photo],
            known.chosen[best_of[one.photo]],
            sender=codes.get(senders.get(one.part, one.person) or 0, ""),
            photographer=codes.get(taken.get(one.photo, 0), ""),
            sightings=" ".join(held.get(best_of[one.photo], held.get(one.photo, ()))),
        )
        for one in shown
    ]
