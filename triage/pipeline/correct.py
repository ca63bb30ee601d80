"""Correct what is measured or claimed of a photo, and everything that rests on it."""

from __future__ import annotations

import json
from datetime import datetime

from triage.errors import UnknownError
from triage.pipeline import examine, settle
from triage.pipeline.undo import refresh
from triage.store import actions, grouping, photos
from triage.store.connection import Survey

VIEWS = ("dorsal", "lateral", "anterior", "oblique", "other")


def correct(
    survey: Survey, photo: str, *, field: str, value: str, by: str, now: datetime
) -> tuple[str, ...]:
    """Append a correction of a photo: view, box, time, place or publication.

    A photo whose box is corrected is measured at once where the insect is said to be; what speaks
    for and against it now is returned, and nothing for the other fields.

    Raises
    ------
    UnknownError
        If the photo is unknown or the value is not of the field's form.
    """
    digest = photos.find(survey, photo)
    checked = _checked(field, value)
    with survey.transaction():
        action = actions.record(
            survey,
            command="correct",
            summary=f"photo {digest[:12]}: {field} {value}",
            by=by,
            now=now,
        )
        if field == "time":
            settle.add_time(survey, digest, value, action=action)
        elif field == "place":
            settle.add_place(survey, digest, value, action=action)
        else:
            photos.add_correction(survey, digest, field, checked, action=action)
        grouping.mark_dirty(survey, [digest])
    if field == "box":
        examine.measure_new(survey, now=now, only=[digest], processes=1)
    refresh(survey, now=now)
    if field != "box":
        return ()
    measured = photos.load(survey, [digest])[digest].measurement
    return measured.reasons if measured is not None else ()


def _checked(field: str, value: str) -> str:
    if field == "view" and value not in VIEWS:
        raise UnknownError(
            "there is no such view", failing=value, next_step=f"One of: {', '.join(VIEWS)}."
        )
    if field == "publication" and value not in ("cleared", "withheld"):
        raise UnknownError(
            "there is no such decision", failing=value, next_step="Either cleared or withheld."
        )
    if field != "box":
        return value
    try:
        x0, y0, x1, y1 = (float(piece) for piece in value.replace(";", ",").split(","))
    except ValueError:
        x0 = y0 = x1 = y1 = -1.0
    if not (0 <= x0 < x1 <= 1 and 0 <= y0 < y1 <= 1):
        raise UnknownError(
            "a box is x0,y0,x1,y1 as fractions of the upright image",
            failing=value,
            next_step="For example 0.20,0.15,0.85,0.70.",
        )
    return json.dumps([x0, y0, x1, y1])
