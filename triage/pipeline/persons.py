"""Join addresses of one person, record consent that was seen, and forget people."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from datetime import datetime

from triage.determinations import determiners
from triage.determinations.determiners import KnownPerson, recognise
from triage.errors import TriageError, UnknownError
from triage.mail.message import read_message
from triage.pipeline import inbox, proposals
from triage.pipeline.correct import not_withdrawn, withdraw
from triage.pipeline.left_of_person import Told, mails_headed, told_of_the_rest
from triage.pipeline.receive import limits_of
from triage.pipeline.undo import make_people_due
from triage.replies.envelope import drafts_telling
from triage.standards.counting import counted
from triage.standards.digests import digest_of
from triage.store import (
    actions,
    audit,
    backups,
    forgetting,
    grouping,
    history,
    joins,
    leavings,
    messages,
    originals,
    people,
    previews,
    turns,
)
from triage.store.connection import Survey
from triage.store.leavings import Leavings
from triage.store.people import Person

SHORT_NAME_LETTERS = 12  # at most: initials or a nickname


@dataclass(frozen=True, slots=True, kw_only=True)
class ForgetOutcome:
    """Whose mail was removed, by code, and how much of it.

    ``dropped`` photos were deleted, ``withdrawn`` ones only kept back, since others sent them too;
    ``backed_up`` is the day of the newest backup, which still holds what was forgotten. ``left``
    says, a sentence each, what still tells of the person and cannot be removed without them.
    """

    code: str
    messages: int
    dropped: int = 0
    withdrawn: int = 0
    backed_up: str = ""
    left: tuple[str, ...] = ()

    @property
    def sentences(self) -> list[str]:
        """What was done, and what is left to do."""
        said = [
            f"{self.code}: {counted(self.messages, 'message')} removed, records stay under the code"
        ]
        if self.dropped:
            said.append(f"{counted(self.dropped, 'photo')} deleted")
        if self.withdrawn:
            said.append(
                f"{counted(self.withdrawn, 'photo')} withdrawn from every export: others sent"
                " them too"
            )
        said += self.left
        if self.backed_up:
            said.append(
                f"The backup of {self.backed_up} and older ones still hold what was forgotten:"
                " make a new one with 'triage backup --to FILE.zip', then delete them"
            )
        return said


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


def join(
    survey: Survey, first: str, second: str, *, by: str = "coordinator", now: datetime
) -> None:
    """Say that two addresses are one person's; what hung on two observers is grouped anew."""
    with survey.transaction():
        two = joins.two_people(survey, first, second)
        if two is None:
            return
        codes = people.codes(survey, two)
        summary = " and ".join(codes[row] for row in two) + " are one person"
        action = actions.record(survey, "people", summary, by=by, now=now)
        joins.record(survey, *two, action=action)
        make_people_due(survey, [two[0]])
    proposals.compare_and_propose(survey)
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
    those that others sent too. Interrupted, it is finished by the next one, or by ``repair``.
    """
    finish_forgetting(survey)
    found = whom(survey, address_or_code)
    person = found.person
    gone = forgetting.whole_ownership(survey, person.row, found.photos) if photos else []
    if photos and (shown := not_withdrawn(survey, found.photos)):
        reason = f"{person.code} was forgotten"
        withdraw(survey, shown, reason=reason, by=by, now=now, command="forget")
    names = people.names_of(survey, person)
    needles = forgetting.spellings(names, person.addresses)
    mails = people.mails_of(survey, person.row)
    others = forgetting.mails_of_others(survey, person.row, needles, mails)
    headed = {*person.addresses, *leavings.message_headers(survey, person.row, mails)}
    shared = [name for name in names if len(forgetting.called_so(survey, name)) > 1]
    with turns.turn(survey):  # nobody receives: a mail without rows is a killed run's
        left, letters = _leavings(survey, person, gone, mails, needles)
        with survey.transaction():
            people.forget(survey, person, now=now)
            forgetting.drop(survey, gone)
            messages.make_due(survey, mails)
            actions.record(survey, "forget", f"{person.code} was forgotten", by=by, now=now)
            leavings.note(survey, left)
        for folder in (survey.messages, survey.originals, survey.replies):
            originals.clear_leftovers(folder)
    inbox.settle_states(survey, now=now)
    whole = finish_forgetting(survey)
    newest = backups.newest(survey)
    kept = len(found.photos) - len(gone)
    others |= mails_headed(survey, headed)
    told = Told(others=len(others), photos=kept, letters=letters, shared=shared, whole=whole)
    return ForgetOutcome(
        code=person.code,
        messages=len(mails),
        dropped=len(gone),
        withdrawn=kept if photos else 0,
        backed_up=newest.date().isoformat() if newest else "",
        left=tuple(told_of_the_rest(survey, names, needles, told)),
    )


def finish_forgetting(survey: Survey) -> bool:
    """Delete what was noted with the rows off the disk; tell whether nothing is left of it.

    A forgetting that was cut off leaves the note, and so does another program that is just reading.
    """
    left = leavings.noted(survey)
    if left is None:
        return True
    for kept in (*forgetting.dropped(survey), *left.files):
        originals.remove(survey.originals, kept)
        previews.remove(survey, kept)
    for raw in left.raw_mails:
        originals.remove(survey.messages, raw)
    for name in left.drafts:
        (survey.replies / name).unlink(missing_ok=True)
    whole = people.scrub(survey)
    if whole:
        leavings.done(survey)
    return whole


def _leavings(
    survey: Survey, person: Person, gone: list[str], mails: list[int], needles: list[str]
) -> tuple[Leavings, int]:
    """What lies on the disk of a person, and how many letters to others tell of them or show them.

    That is also what a killed receive left: whole mails that no row names.
    """
    left = leavings.of_person(survey, person.row, mails)
    raw, files = set(left.raw_mails), set(left.files)
    kept = audit.kept_digests(survey)
    for digest, path in originals.all_digests(survey.messages).items():
        if digest not in kept[survey.messages]:
            with contextlib.suppress(TriageError, OSError):
                mail = read_message(path.read_bytes(), limits=limits_of(survey))
                if any(one.sender_address.casefold() in person.addresses for one in mail.envelopes):
                    raw.add(digest)
                    files |= {digest_of(part.content) for part in mail.parts if part.content}
    letters = drafts_telling(
        {path.name: path.read_bytes() for path in survey.replies.glob("*.eml")},
        [*needles, *leavings.file_names(survey, person.row, mails)],
        {
            path.read_bytes()
            for one in gone
            if (path := previews.path_of(survey, one, "small")).is_file()
        },
    )
    of_others = set(letters) - set(left.drafts)
    whole = Leavings(
        raw_mails=tuple(sorted(raw)),
        files=tuple(sorted(files - (kept[survey.originals].keys() - set(left.files)))),
        drafts=(*left.drafts, *sorted(of_others)),
    )
    return whole, len(of_others)


def names_near(survey: Survey, typed: str) -> list[str]:
    """Names of people of which this one, nobody's yet, may be a slip."""
    return determiners.names_near(typed, _others(survey, typed))


def known_family(survey: Survey, typed: str) -> str:
    """What to say before somebody is added of whose family name others are; empty if nothing."""
    return determiners.of_known_family(typed, _others(survey, typed))


def _others(survey: Survey, typed: str) -> list[KnownPerson]:
    """Everybody, where a name is nobody's yet; nobody where it is somebody's."""
    known = people.known(survey)
    return known if recognise(typed, known) is None else []


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
