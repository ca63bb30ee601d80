"""Withdraw a photo that its sender wants out: nothing of it leaves the survey from then on."""

from __future__ import annotations

from datetime import datetime

from triage.pipeline.proposals import WITHDRAWN
from triage.pipeline.undo import refresh
from triage.store import actions, copies, determinations, grouping, photos, sightings
from triage.store.connection import Survey


def withdraw(survey: Survey, photo: str, *, reason: str, by: str, now: datetime) -> list[str]:
    """Withhold a photo and its copies, and set aside the sightings that show nothing else.

    Returns the identifiers of those sightings. A sighting that shows more is proposed anew without
    the photo; one that was determined keeps it, withheld from publication. The file itself stays
    in the survey; undo takes all of it back.

    Raises
    ------
    UnknownError
        If no photo, or several, begin with these digits.
    """
    digest = photos.find(survey, photo)
    everyone = {one for members in copies.exposures(survey, [digest]).values() for one in members}
    with survey.transaction():
        action = actions.record(
            survey,
            command="withdraw",
            summary=f"photo {digest[:12]} withdrawn: {reason or 'its sender asked for it'}",
            by=by,
            now=now,
        )
        for one in sorted(everyone):
            photos.add_correction(survey, one, "publication", WITHDRAWN, action=action)
        emptied = _show_nothing_else(survey, everyone)
        for identifier in emptied:
            sightings.freeze(survey, identifier, now=now)
            determinations.add_state(survey, identifier, "set aside", "withdrawn", action=action)
        grouping.mark_dirty(survey, sorted(everyone))
    refresh(survey, now=now)
    return emptied


def _show_nothing_else(survey: Survey, withdrawn: set[str]) -> list[str]:
    """Sightings of these photos all of whose photos are withdrawn."""
    found = []
    for identifier in sorted(grouping.sightings_of_photos(survey, withdrawn)):
        held = {photo for photo, _ in sightings.find(survey, identifier).members}
        rows = photos.load(survey, held)
        if all(rows[photo].publication == WITHDRAWN for photo in held):
            found.append(identifier)
    return found
