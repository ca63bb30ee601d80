"""Withdraw photos that their sender wants out: nothing of them leaves the survey from then on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from triage.pipeline.proposals import WITHDRAWN
from triage.pipeline.undo import refresh
from triage.store import actions, copies, determinations, grouping, photos, sightings
from triage.store.connection import Survey


def withdraw(
    survey: Survey, withdrawn: Sequence[str], *, reason: str, by: str, now: datetime
) -> list[str]:
    """Withhold photos and their copies, and set aside the sightings that show nothing else.

    Returns the identifiers of those sightings. A sighting that shows more is proposed anew without
    them; one that was determined keeps them, withheld from publication. The files themselves stay
    in the survey; undo takes all of it back.

    Raises
    ------
    UnknownError
        If no photo, or several, begin with the digits given for one.
    """
    digests = [photos.find(survey, one) for one in withdrawn]
    everyone = {one for members in copies.exposures(survey, digests).values() for one in members}
    which = f"photo {digests[0][:12]}" if len(digests) == 1 else f"{len(digests)} photos"
    summary = f"{which} withdrawn: {reason or 'the sender asked for it'}"
    with actions.acting(survey, "withdraw", summary, by=by, now=now) as action:
        for one in sorted(everyone):
            photos.add_correction(survey, one, "publication", WITHDRAWN, action=action)
        emptied = _show_nothing_else(survey, everyone)
        for identifier in emptied:
            sightings.freeze(survey, identifier, now=now)
            determinations.add_state(survey, identifier, "set aside", "withdrawn", action=action)
        grouping.mark_dirty(survey, sorted(everyone))
    refresh(survey, now=now)
    return emptied


def not_withdrawn(survey: Survey, members: Sequence[str]) -> tuple[str, ...]:
    """Those of the photos that have not been withdrawn."""
    rows = photos.load(survey, set(members))
    return tuple(one for one in members if rows[one].publication != WITHDRAWN)


def _show_nothing_else(survey: Survey, withdrawn: set[str]) -> list[str]:
    """Sightings of these photos all of whose photos are withdrawn."""
    found = []
    for identifier in sorted(grouping.sightings_of_photos(survey, withdrawn)):
        held = {photo for photo, _ in sightings.find(survey, identifier).members}
        rows = photos.load(survey, held)
        if all(rows[photo].publication == WITHDRAWN for photo in held):
            found.append(identifier)
    return found
