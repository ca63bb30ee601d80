"""Join addresses of one person, record consent that was seen, and forget people."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from triage.determinations.determiners import recognise
from triage.errors import UnknownError
from triage.pipeline import inbox, proposals
from triage.pipeline.correct import not_withdrawn, withdraw
from triage.pipeline.undo import make_people_due
from triage.standards.counting import counted
from triage.standards.person_names import near_names
from triage.store import (
    actions,
    backups,
    forgetting,
    grouping,
    history,
    joins,
    messages,
    originals,
    people,
    previews,
    turns,
)
from triage.store.connection import Survey
from triage.store.people import Person

SHORT_NAME_LETTERS = 12  # at most: initials or a nickname


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetOutcome:
    """Whose mail was removed, by code, and how much of it.

    ``dropped`` photos were deleted, ``withdrawn`` ones only kept back, since others sent them too;
    ``backed_up`` is the day of the newest backup, which still holds what was forgotten.
    """

    code: str
    messages: int
    dropped: int = 0
    withdrawn: int = 0
    backed_up: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgettable:
    """Who would be forgotten, and what of theirs the survey holds."""

    person: Person
    messages: int
    photos: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """Who it is, before anything is removed."""
        who = self.person.name or "no name known"
        addresses = ", ".join(self.person.addresses) or "no address"
        held = f"{counted(self.messages, 'message')}, {counted(len(self.photos), 'photo')}"
        return f"{who} ({addresses}), {self.person.code}: {held}"


def with_names(survey: Survey, *texts: str) -> list[str]:
    """Texts with people's names for their codes, for the desk's own pages."""
    found = list(texts)
    for person in people.all_people(survey):
        if person.name:
            found = [text.replace(person.code, person.name) for text in found]
    return found


def join(
    survey: Survey, first: str, second: str, *, by: str = "coordinator", now: datetime
) -> None:
    """Say that two addresses are one person's; what hung on two observers is grouped anew."""
    with survey.transaction():
        two = joins.two_people(survey, first, second)
        if two is None:
            return
        summary = "two addresses are one person's"
        action = actions.record(survey, "people", summary, by=by, now=now)
        joins.record(survey, *two, action=action)
        make_people_due(survey, [two[0]])
    proposals.propose(survey, now=now)
    inbox.settle_states(survey, now=now)


def tell_apart(survey: Survey, first: str, second: str, *, by: str, now: datetime) -> None:
    """Say that two people of near names are two: nobody asks again; undo takes it back.

    Raises
    ------
    UnknownError
        If nobody has an address or code, or both are one person's.
    """
    one, other = people.find(survey, first), people.find(survey, second)
    if one.row == other.row:
        raise UnknownError(
            "both are one person's",
            failing=f"{first} {second}",
            next_step="If that was a mistake, take the join back: see 'triage log' for its number.",
        )
    if frozenset((one.code, other.code)) in joins.told_apart(survey):
        return
    summary = f"{one.code} and {other.code} are two people"
    with actions.acting(survey, "people", summary, by=by, now=now) as action:
        joins.tell_apart(survey, one.row, other.row, action=action)


def whom(survey: Survey, address_or_code: str) -> Forgettable:
    """The person whom 'forget' would remove.

    Raises
    ------
    UnknownError
        If nobody is known by that address or code.
    """
    person = people.find(survey, address_or_code)
    return Forgettable(
        person=person,
        messages=len(people.mails_of(survey, person.row)),
        photos=tuple(sorted(grouping.photos_of_people(survey, [person.row]))),
    )


def forget(
    survey: Survey,
    address_or_code: str,
    *,
    by: str = "coordinator",
    now: datetime,
    photos: bool = False,
) -> ForgetOutcome:
    """Remove a person's mail, name and contact; a line in the log remains, without the name.

    Photos, sightings and determinations stay under the person's code. With ``photos`` the photos
    leave every export, and their files, previews and all that was read in them are deleted, but of
    those that others sent too. Interrupted, it is finished by the same command with the code.
    """
    found = whom(survey, address_or_code)
    person = found.person
    gone = forgetting.whole_ownership(survey, person.row, found.photos) if photos else []
    if photos and (shown := not_withdrawn(survey, found.photos)):
        withdraw(survey, shown, reason=f"{person.code} was forgotten", by=by, now=now)
    with survey.transaction():
        left = people.forget(survey, person, now=now)
        forgetting.drop(survey, gone)
        messages.make_due(survey, people.mails_of(survey, person.row))
        actions.record(survey, "forget", f"{person.code} was forgotten", by=by, now=now)
    for photo in forgetting.dropped(survey):
        originals.remove(survey.originals, photo)
        previews.remove(survey, photo)
    for raw in left.raw_mails:
        originals.remove(survey.messages, raw)
    for kept in left.files:
        originals.remove(survey.originals, kept)
        previews.remove(survey, kept)
    for name in left.drafts:
        (survey.replies / name).unlink(missing_ok=True)
    with turns.turn(survey):  # half a mail may lie where a receive was killed
        for folder in (survey.messages, survey.originals, survey.replies):
            originals.clear_leftovers(folder)
    inbox.settle_states(survey, now=now)
    people.scrub(survey)
    newest = backups.newest(survey)
    return ForgetOutcome(
        code=person.code,
        messages=left.messages,
        dropped=len(gone),
        withdrawn=len(found.photos) - len(gone) if photos else 0,
        backed_up=newest.date().isoformat() if newest else "",
    )


def names_near(survey: Survey, typed: str) -> list[str]:
    """Names of people of which this one, nobody's yet, may be a slip."""
    known = people.known(survey)
    if recognise(typed, known) is not None:
        return []
    return [name for name, _ in near_names(typed, [one.name for one in known if one.name])]


def set_short_name(survey: Survey, short: str, name: str, *, by: str, now: datetime) -> None:
    """Let initials or a nickname stand for a person wherever a determiner is named.

    Raises
    ------
    UnknownError
        If nobody has the name, or the short name is somebody else's or too long.
    """
    wanted = " ".join(short.split())
    if not 0 < len(wanted) <= SHORT_NAME_LETTERS:
        raise UnknownError(
            f"a short name has 1 to {SHORT_NAME_LETTERS} letters",
            failing=short,
            next_step="Choose initials or a nickname.",
        )
    person = people.determiner(survey, name)
    holder = recognise(wanted, people.known(survey))
    if holder is not None and holder.row != person.row:
        raise UnknownError(
            f"{wanted} is {holder.name or holder.code} already",
            failing=short,
            next_step="Choose another short name.",
        )
    with survey.transaction():
        changes = people.add_short_name(survey, wanted, person.row)
        history.act(survey, changes, "people", f"{wanted} is {person.code}", by=by, now=now)
