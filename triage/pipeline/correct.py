"""Correct what is measured or claimed of photos, or withdraw them, and all that rests on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from triage.errors import UnknownError
from triage.pipeline import consents, examine, repeats, settle
from triage.pipeline.proposals import WITHDRAWN
from triage.pipeline.undo import refresh
from triage.quality.corrections import checked_correction
from triage.standards.counting import counted
from triage.store import actions, copies, determinations, grouping, photos, sightings
from triage.store.connection import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """What a correction of a photo led to.

    ``reasons`` speak for and against the photo where its box was drawn anew. ``moved`` says in
    words that it left the photos it stood with, or came to others; then ``own`` is the sighting
    that it is in now, ``rest`` the one of those that it left, each empty for none.
    """

    reasons: tuple[str, ...] = ()
    moved: str = ""
    own: str = ""
    rest: str = ""


def correct(
    survey: Survey, photo: str, *, field: str, value: str, by: str, now: datetime
) -> Corrected:
    """Append one correction of a photo; see :func:`correct_all`."""
    return correct_all(survey, photo, {field: value}, by=by, now=now)


def correct_all(
    survey: Survey,
    photo: str,
    values: Mapping[str, str],
    *,
    by: str,
    now: datetime,
    new: bool = False,
    tell: repeats.Tell = repeats.silent,
) -> Corrected:
    """Append corrections of a photo, by field: view, box, time, place, publication, photographer.

    All are one action; ``new`` lets the photographer be somebody not known yet.

    A photo whose box is corrected is measured at once where the insect is said to be. The same
    words again about what stands unchanged add nothing; ``tell`` hears of that.

    Raises
    ------
    UnknownError
        If the photo is unknown or a value is not of its field's form; nothing is changed then.
    """
    digest = photos.find(survey, photo)
    checked = {field: checked_correction(field, value) for field, value in values.items()}
    before = _together_with(survey, digest)
    statement = repeats.said("correct", by, digest, sorted(values.items()))
    if not repeats.is_known(survey, statement, tell):
        said = ", ".join(f"{field} {value}" for field, value in values.items())
        summary = f"photo {digest[:12]}: {said}"
        with actions.acting(survey, "correct", summary, by=by, now=now) as action:
            for field, value in checked.items():
                if field == "time":
                    settle.add_time(survey, digest, value, action=action, now=now)
                elif field == "place":
                    settle.add_place(survey, digest, value, action=action)
                elif field == "photographer":
                    consents.say_photographer(survey, [digest], value, new=new, action=action)
                else:
                    photos.add_correction(survey, digest, field, value, action=action)
            subjects = [f"{field} {digest}" for field in values]
            repeats.keep(survey, statement, subjects, action=action)
            grouping.mark_dirty(survey, [digest])
    if "box" in values:
        examine.measure_in_box(survey, [digest], now=now)
    refresh(survey, now=now)
    measured = photos.load(survey, [digest])[digest].measurement if "box" in values else None
    return replace(
        _moved(survey, digest, before), reasons=measured.reasons if measured is not None else ()
    )


def _together_with(survey: Survey, digest: str) -> set[str]:
    """The exposures in the sightings of a photo, by their best copies; its own is one of them."""
    held = grouping.sightings_by_photo(survey, copies.exposures(survey, [digest]))
    rows = sightings.of_identifiers(survey, {one for ones in held.values() for one in ones})
    return {photo for row in rows for photo in row.photos}


def _moved(survey: Survey, digest: str, before: set[str]) -> Corrected:
    """How a photo stands now that stood with others before; nothing if it stands as it did."""
    after = _together_with(survey, digest)
    left, come = before - after, after - before
    best = set(copies.exposures(survey, [digest]))
    if not (left - best or come - best or bool(before) != bool(after)):
        return Corrected()
    mine = grouping.sightings_by_photo(survey, best)
    theirs = grouping.sightings_by_photo(survey, left - best)
    own = next((one for ones in mine.values() for one in ones), "")
    rest = next((one for ones in theirs.values() for one in ones), "")
    words = "this photo now stands in no sighting"
    if own:
        others = len(after - best)
        where = f"one sighting with {counted(others, 'other photo')}" if others else ""
        words = f"this photo now stands as {where or 'a sighting of its own'}"
    if left - best:
        words += f", without {counted(len(left - best), 'photo')} that it was with"
    return Corrected(moved=words, own=own, rest=rest)


def withdraw(
    survey: Survey,
    withdrawn: Sequence[str],
    *,
    reason: str,
    by: str,
    now: datetime,
    command: str = "withdraw",
) -> list[str]:
    """Withhold photos and their copies, and set aside the sightings that show nothing else.

    Returns the identifiers of those sightings. A sighting that shows more is proposed anew without
    them; one that was determined keeps them, withheld from publication. The files themselves stay
    in the survey; undo takes all of it back, but not where it is part of a ``command`` for good.

    Raises
    ------
    UnknownError
        If no photo, or several, begin with the digits given for one, or all are withdrawn already.
    """
    digests = [photos.find(survey, one) for one in withdrawn]
    if not not_withdrawn(survey, digests):
        raise UnknownError(
            "withdrawn already",
            failing=", ".join(one[:10] for one in digests),
            next_step="'triage log' has the action; 'triage undo NUMBER' puts the photos back.",
        )
    everyone = {one for members in copies.exposures(survey, digests).values() for one in members}
    which = f"photo {digests[0][:12]}" if len(digests) == 1 else f"{len(digests)} photos"
    summary = f"{which} withdrawn: {reason or 'the sender asked for it'}"
    with actions.acting(survey, command, summary, by=by, now=now) as action:
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
    found = sorted(grouping.sightings_of_photos(survey, withdrawn))
    return [one for one in found if not not_withdrawn(survey, sightings.find(survey, one).photos)]
