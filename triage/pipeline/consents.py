"""Record who took a photo and who consents to what; tell which photos are held back, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from triage.errors import UnknownError
from triage.mail.consent import Consent, Publication, read_consent, speaks_of_children
from triage.pipeline import claims
from triage.standards.person_names import likeness, near_names
from triage.store import actions, derived_rules, grouping, messages, people, photos
from triage.store import consents as kept
from triage.store.connection import Survey, portions
from triage.store.people import Person

OF_PHOTOGRAPHER = "its photographer has not consented"
OF_CHILD = "of or by a child: no guardian's consent is on record"


METHOD = "consents 14"  # raised when the same words are read otherwise
AT_ONCE = 1000  # mails read in one transaction


def read_kept_mails(survey: Survey) -> None:
    """Read what kept mails say of publishing, unless they were read by these rules before.

    What people noted, saw or decided stays.
    """
    if derived_rules.noted(survey, "consents") == METHOD:
        return
    for mails in portions(kept.mails(survey), AT_ONCE):
        with survey.transaction():
            read_mails(survey, mails)
    with survey.transaction():
        derived_rules.note(survey, "consents", METHOD)


def read_mails(survey: Survey, rows: Sequence[int]) -> None:
    """Read what these mails say of publishing, each author's words for the author."""
    said = [
        (message, person, read_consent(words))
        for message, person, words in kept.words_of(survey, rows)
    ]
    messages.make_due(survey, sorted(kept.keep(survey, rows, said)))


def say_photographer(
    survey: Survey, digests: Iterable[str], name: str, *, new: bool, action: int
) -> None:
    """Append that the person of this name took these photos; with ``new`` one not known yet.

    Raises
    ------
    UnknownError
        If nobody is called so and ``new`` is not given, or several are.
    """
    person = people.meant(people.known(survey), name, new=new)
    taken = list(digests)
    for photo in taken:
        person = people.added(survey, person)
        photos.add_photographer(survey, photo, person.row, action=action)
    grouping.mark_dirty(survey, taken)
    claims.reread_corrected(survey, taken)


def likely(survey: Survey, word: str) -> list[str]:
    """Names of people of the survey whom a name in a mail may mean; none where it names nobody."""
    if not word:
        return []
    known = [one.name for one in people.listed(survey) if one.name]
    same = [name for name in known if likeness(word, name) == "same"]
    if same:
        return same[:1]
    return [name for name, _ in near_names(word, dict.fromkeys(known))]


def held_back(survey: Survey) -> dict[str, str]:
    """Photos that may not leave, each with the reason.

    Taken by somebody who neither sent them nor has said yes; or brought by a mail that speaks of a
    child, whose guardian has not consented.
    """
    consented = {one.person for one in kept.of_guardians(survey)}
    return dict.fromkeys(_taken_by_others(survey), OF_PHOTOGRAPHER) | {
        photo: OF_CHILD
        for photo, sender, words in kept.words_beside(survey)
        if sender not in consented and speaks_of_children(words)
    }


def _taken_by_others(survey: Survey) -> list[str]:
    taken = photos.taken_by_others(survey)
    if not taken:
        return []
    agreed = {one.row for one in people.all_people(survey) if one.publish == "yes"}
    return [photo for photo, person in taken.items() if person not in agreed]


def waiting(survey: Survey) -> list[tuple[str, str, int]]:
    """Photographers whose consent is wanted: code, name, and how many photos wait for it."""
    count = Counter(photos.photographers_of(survey, _taken_by_others(survey)).values())
    if not count:
        return []
    return [
        (one.code, one.name, count[one.row])
        for one in people.all_people(survey)
        if one.row in count and one.publish != "no"
    ]


def record_consent(survey: Survey, code: str, words: str, *, by: str, now: datetime) -> None:
    """Note what a person said of publishing otherwise than by mail, in their words.

    Raises
    ------
    UnknownError
        If nobody has that address or code, or the words neither grant nor refuse anything.
    """
    person = people.find(survey, code)
    consent = read_consent(words)
    if (consent.publish, consent.name_shown) == ("unstated", "unstated"):
        raise UnknownError(
            "these words neither grant nor refuse anything",
            failing=words,
            next_step="Write what was said, such as 'You may publish my photos with my name.'",
        )
    summary = f"what {person.code} said of publishing was noted"
    _note(survey, person, [replace(consent, wording=words, held=False, aside="")], summary, by, now)


def _note(
    survey: Survey, person: Person, said: Iterable[Consent], summary: str, by: str, now: datetime
) -> None:
    """Append what somebody says that a person said, as one action."""
    with actions.acting(survey, "consent", summary, by=by, now=now) as action:
        for one in said:
            kept.add(survey, person.row, one, answers=True, action=action)


def see_consent(survey: Survey, code: str, *, by: str, now: datetime) -> Person:
    """Say that the words by which a person grants something were seen and do grant it.

    From then on this and later grants of the person count; undo takes it back.

    Raises
    ------
    UnknownError
        If nobody has that address or code.
    """
    person = people.find(survey, code)
    summary = f"the consent of {person.code} was seen"
    with actions.acting(survey, "consent", summary, by=by, now=now) as action:
        kept.see(survey, person.row, action=action)
    return people.find(survey, person.code)


def decide_unclear(
    survey: Survey, code: str, *, publish: Publication, by: str, now: datetime
) -> None:
    """Say that a person's words about use allow publishing, or that they do not.

    With "unstated" they say nothing of it: what stood before them stands again.

    Raises
    ------
    UnknownError
        If nobody has that address or code, or nothing of theirs is unclear.
    """
    person = people.find(survey, code)
    if not person.unclear:
        raise UnknownError(
            "nothing that this person said is left to decide",
            failing=code,
            next_step="See 'triage people' for what stands.",
        )
    summary = f"the words of {code} on publishing were decided"
    said = Consent(publish=publish, wording=" / ".join(person.unclear))
    _note(survey, person, [said], summary, by, now)


def deny_grant(survey: Survey, code: str, *, by: str, now: datetime) -> None:
    """Say that the words by which a person seems to grant something grant nothing.

    The same words in a later mail are not asked about again; undo takes it back.

    Raises
    ------
    UnknownError
        If nobody has that address or code, or no words of theirs wait to be seen.
    """
    person = people.find(survey, code)
    if not person.unseen:
        raise UnknownError(
            "no words of this person wait to be seen",
            failing=code,
            next_step="See 'triage people' for what stands.",
        )
    summary = f"the words of {person.code} grant nothing"
    _note(survey, person, [Consent(wording=one) for one in person.unseen], summary, by, now)


def record_guardian(
    survey: Survey, code: str, *, given_by: str, message: str = "", by: str, now: datetime
) -> None:
    """Note that a guardian consented for the photos in this person's mails; undo takes it back.

    ``message`` is the mail in which it was given; without one it was given otherwise.

    Raises
    ------
    UnknownError
        If the person or the message is unknown, or nobody is named as the guardian.
    """
    if not given_by.strip():
        raise UnknownError(
            "a consent needs the name of whoever gave it",
            failing=code,
            next_step="Name the guardian: --given-by NAME.",
        )
    person = people.find(survey, code)
    mail = messages.find(survey, message) if message else None
    given_on = mail.sent_at[:10] if mail and mail.sent_at else now.date().isoformat()
    summary = f"a guardian's consent for the photos of {person.code}"
    with actions.acting(survey, "guardian", summary, by=by, now=now) as action:
        kept.add_guardian(
            survey,
            person.row,
            given_by=given_by.strip(),
            given_on=given_on,
            message=mail.row if mail else None,
            action=action,
        )
