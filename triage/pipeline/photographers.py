"""Say who took photos that somebody else sent, and hold them back until that person consents."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime

from triage.errors import UnknownError
from triage.mail.consent import read_consent
from triage.pipeline import determiners
from triage.standards.person_names import likeness, near_names
from triage.store import actions, grouping, people, photographers
from triage.store.connection import Survey
from triage.store.people import Person

HELD_BACK = "its photographer has not consented"


def say(survey: Survey, photos: Iterable[str], name: str, *, new: bool, action: int) -> None:
    """Append that the person of this name took these photos; with ``new`` one not known yet.

    Raises
    ------
    UnknownError
        If nobody is called so and ``new`` is not given, or several are.
    """
    person = determiners.determiner(survey, name, new=new)
    for photo in photos:
        photographers.add(survey, photo, person.row, action=action)
        grouping.mark_dirty(survey, [photo])


def likely(survey: Survey, word: str) -> list[str]:
    """Names of people of the survey whom a name in a mail may mean; none where it names nobody."""
    if not word:
        return []
    known = [one.name for one in people.all_people(survey) if one.name]
    same = [name for name in known if likeness(word, name) == "same"]
    if same:
        return same[:1]
    return [name for name, _ in near_names(word, dict.fromkeys(known))]


def held_back(survey: Survey) -> dict[str, str]:
    """Photos that may not leave: taken by somebody who neither sent them nor has said yes."""
    agreed = {one.row for one in people.all_people(survey) if one.publish == "yes"}
    return {
        photo: HELD_BACK
        for photo, person in photographers.sent_by_others(survey).items()
        if person not in agreed
    }


def waiting(survey: Survey) -> list[tuple[str, str, int]]:
    """Photographers whose consent is wanted: code, name, and how many photos wait for it."""
    held = held_back(survey)
    count = Counter(photographers.named(survey, held).values())
    return [
        (one.code, one.name, count[one.row])
        for one in people.all_people(survey)
        if one.row in count and one.publish != "no"
    ]


def record_consent(survey: Survey, code: str, words: str, *, by: str, now: datetime) -> Person:
    """Note what a person said of publishing otherwise than by mail, in their words.

    Raises
    ------
    UnknownError
        If nobody has that address or code, or the words neither grant nor refuse anything.
    """
    person = people.to_forget(survey, code)
    consent = read_consent(words)
    if (consent.publish, consent.name_shown) == ("unstated", "unstated"):
        raise UnknownError(
            "these words neither grant nor refuse anything",
            failing=words,
            next_step="Write what was said, such as 'You may publish my photos with my name.'",
        )
    summary = f"what {person.code} said of publishing was noted"
    with actions.acting(survey, "consent", summary, by=by, now=now) as action:
        people.add_consent(
            survey,
            person.row,
            publish=consent.publish,
            name_shown=consent.name_shown,
            licence=consent.licence,
            wording=words,
            answers=True,
            action=action,
        )
    return next(one for one in people.all_people(survey) if one.row == person.row)
