"""Join addresses of one person, record consent that was seen, and forget people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.determinations import determiners
from triage.determinations.determiners import KnownPerson, recognise
from triage.errors import UnknownError
from triage.pipeline import inbox, proposals
from triage.pipeline.correct import not_withdrawn, withdraw
from triage.pipeline.undo import make_people_due
from triage.privacy import Secrets, leaks_in
from triage.standards.counting import counted
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
    those that others sent too. Interrupted, it is finished by the same command with the code.
    """
    found = whom(survey, address_or_code)
    person = found.person
    gone = forgetting.whole_ownership(survey, person.row, found.photos) if photos else []
    if photos and (shown := not_withdrawn(survey, found.photos)):
        withdraw(survey, shown, reason=f"{person.code} was forgotten", by=by, now=now)
    needles = forgetting.spellings(person.name, person.addresses)
    mails = people.mails_of(survey, person.row)
    others = forgetting.mails_of_others(survey, needles, mails)
    with survey.transaction():
        left = people.forget(survey, person, now=now)
        forgetting.drop(survey, gone)
        messages.make_due(survey, mails)
        actions.record(survey, "forget", f"{person.code} was forgotten", by=by, now=now)
    for kept in (*forgetting.dropped(survey), *left.files):
        originals.remove(survey.originals, kept)
        previews.remove(survey, kept)
    for raw in left.raw_mails:
        originals.remove(survey.messages, raw)
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
        left=tuple(_left(survey, person, needles, others, len(found.photos) - len(gone))),
    )


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


OWN = ("survey.db", "messages", "originals", "previews", "replies")  # in a survey's folder
LARGEST = 100_000_000  # bytes of a file of the folder that is searched


def _left(
    survey: Survey, person: Person, needles: list[str], others: int, photos: int
) -> Iterator[str]:
    """What still tells of a forgotten person, with what to do."""
    if others:
        yield f"{counted(others, 'mail')} of others that name or quote them: kept as they came"
    if photos:
        yield f"{counted(photos, 'photo')} kept as they came, with what the camera wrote into them"
    last = person.name.split()[-1] if person.name.split() else ""
    for table, count in forgetting.rows_still_naming(survey, last).items() if last else ():
        yield f"{counted(count, 'text')} of {table} with the word '{last}': look whether it is them"
    words = Secrets(words=(*needles, *([person.name] if person.name else [])))
    for path in sorted(survey.folder.iterdir()):
        if path.name.startswith(OWN):
            continue
        files = [path] if path.is_file() else [one for one in path.rglob("*") if one.is_file()]
        for one in files:
            if one.stat().st_size > LARGEST or _tells(one, words):
                name = one.relative_to(survey.folder)
                yield f"{name} in the survey's folder holds their name: correct or delete it"
    yield (
        "Exports, reports, packets and sheets that were made before, here or elsewhere, are not"
        " changed and may hold their pictures: delete them and make them anew ('triage audit'"
        " names the exports that carry photos which may not be out any more)"
    )


def _tells(path: Path, words: Secrets) -> bool:
    found = leaks_in({path.name: path.read_bytes()}, words)
    return any(leak.found in words.words for leak in found)
