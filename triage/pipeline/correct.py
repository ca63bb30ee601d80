"""Correct what is measured or claimed of a photo, and everything that rests on it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from triage.pipeline import consents, examine, repeats, settle
from triage.pipeline.undo import refresh
from triage.quality.corrections import checked_correction
from triage.store import actions, grouping, photos
from triage.store.connection import Survey


def correct(
    survey: Survey, photo: str, *, field: str, value: str, by: str, now: datetime
) -> tuple[str, ...]:
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
) -> tuple[str, ...]:
    """Append corrections of a photo, by field: view, box, time, place, publication, photographer.

    All are one action; ``new`` lets the photographer be somebody not known yet.

    A photo whose box is corrected is measured at once where the insect is said to be; what speaks
    for and against it now is returned, and nothing for the other fields. The same words again about
    what stands unchanged add nothing; ``tell`` hears of that.

    Raises
    ------
    UnknownError
        If the photo is unknown or a value is not of its field's form; nothing is changed then.
    """
    digest = photos.find(survey, photo)
    checked = {field: checked_correction(field, value) for field, value in values.items()}
    statement = repeats.said("correct", by, digest, sorted(values.items()))
    if not repeats.is_known(survey, statement, tell):
        said = ", ".join(f"{field} {value}" for field, value in values.items())
        summary = f"photo {digest[:12]}: {said}"
        with actions.acting(survey, "correct", summary, by=by, now=now) as action:
            for field, value in checked.items():
                _add(survey, digest, field, value, new=new, action=action)
            subjects = [f"{field} {digest}" for field in values]
            repeats.keep(survey, statement, subjects, action=action)
            grouping.mark_dirty(survey, [digest])
    if "box" in values:
        examine.measure_in_box(survey, [digest], now=now)
    refresh(survey, now=now)
    if "box" not in values:
        return ()
    measured = photos.load(survey, [digest])[digest].measurement
    return measured.reasons if measured is not None else ()


def _add(survey: Survey, digest: str, field: str, value: str, *, new: bool, action: int) -> None:
    if field == "time":
        settle.add_time(survey, digest, value, action=action)
    elif field == "place":
        settle.add_place(survey, digest, value, action=action)
    elif field == "photographer":
        consents.say_photographer(survey, [digest], value, new=new, action=action)
    else:
        photos.add_correction(survey, digest, field, value, action=action)
