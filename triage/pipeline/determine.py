"""Record what determiners say of sightings: one, a table of many, or the answers of a packet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from pathlib import Path

from triage.checklist import Checklist
from triage.determinations import (
    Accepted,
    Determination,
    SaidRow,
    Statement,
    read_determinations,
    read_statement,
    recorded,
    said_by,
)
from triage.determinations.determiners import (
    KnownPerson,
    ask_about,
    names_near,
    of_known_family,
    recognise,
)
from triage.determinations.tables import COLUMNS
from triage.errors import TriageError, UnknownError
from triage.packets import Asked, Now, conflict, read_key
from triage.pipeline.standing import standing
from triage.pipeline.tables import ImportOutcome, parted
from triage.report.queue_sheet import HEADINGS, RETIRED_HEADINGS
from triage.sightings import SightingRow
from triage.standards.digests import short_digest_of
from triage.standards.groups import in_groups
from triage.standards.tables import RefusedRow
from triage.store import actions, determinations, evidence, packets, people, sightings
from triage.store.connection import Survey


def determine(
    survey: Survey,
    sighting: str,
    statement: Statement,
    *,
    by: str,
    now: datetime,
    new: bool = False,
) -> Accepted:
    """Append one determination and return where the sighting stands.

    ``by`` is a person of the survey; with ``new`` somebody not known yet is added. What the
    determiner said last of these photos, word for word, is not recorded again.

    Raises
    ------
    UnknownError
        If the sighting, the name or the determiner is unknown.
    TriageError
        If the statement says nothing, or two things at once.
    """
    row = sightings.find(survey, sighting)
    found = read_statement(evidence.checklist(survey), statement)
    with survey.transaction():
        person = people.determiner(survey, by, new=new)
        if not said_before(survey, row, found, person):
            summary = f"sighting {row.identifier}: {statement.words}"
            who = person.name or person.code
            action = actions.record(survey, "determine", summary, by=who, now=now)
            append(survey, row, found, person=person, action=action, now=now)
    return standing(survey, [row.identifier]).accepted[row.identifier]


def said_last(survey: Survey, sighting: str, by: str) -> Statement:
    """What a determiner said last of a sighting, as it is kept."""
    row, person = sightings.find(survey, sighting), people.determiner(survey, by)
    return said_by(_made_by(survey, row, person)[-1])


def said_before(
    survey: Survey, row: SightingRow, statement: Statement, person: KnownPerson
) -> bool:
    """Whether this is what the determiner said last of these photos, word for word."""
    mine = _made_by(survey, row, person)
    return bool(mine) and said_by(mine[-1]) == statement and set(mine[-1].photos) == set(row.photos)


def _made_by(survey: Survey, row: SightingRow, person: KnownPerson) -> list[Determination]:
    made = determinations.of_sighting(survey, row.identifier)
    return [one for one in made if one.identified_by == person.code]


def append(
    survey: Survey,
    row: SightingRow,
    statement: Statement,
    *,
    person: KnownPerson,
    action: int,
    now: datetime,
) -> None:
    """Append a statement that was read, under an action."""
    sightings.freeze(survey, row.identifier, now=now)
    already = determinations.count_of_action(survey, action)
    # In the order of the log, so that of two in one second the later one counts.
    number = f"{action:08d}" + (f"-{already:04d}" if already else "")
    made = recorded(
        statement,
        identifier=f"{row.identifier}-{number}",
        sighting=row.identifier,
        by=person.code,
        at=actions.utc_text(now),
        photos=row.photos,
    )
    determinations.add(survey, made, person=person.row, action=action)


def asked_under(survey: Survey, key: str) -> Asked | None:
    """What a packet of this survey asked under a key; None if the text is no key.

    Raises
    ------
    UnknownError
        If no packet of this survey has the key, or the packet was taken back.
    """
    read = read_key(key)
    if read is None:
        return None
    found = packets.asked(survey, *read)
    if found is None:
        raise UnknownError(
            "no packet of this survey asks that, or the packet was taken back",
            failing=key,
            next_step="See 'triage log' for the packets that were made.",
        )
    return found


def sighting_asked(survey: Survey, asked: Asked) -> SightingRow:
    """The sighting that an answer is recorded of.

    Raises
    ------
    TriageError
        If it was settled or changed since the packet was made: then somebody must look.
    """
    stands = standing(survey, [asked.sighting])
    row = stands.rows.get(asked.sighting)
    accepted = stands.accepted.get(asked.sighting, Accepted(state="queued"))
    ours = set(packets.answered(survey, asked).values())
    since = packets.actions_naming(survey, asked.sighting, after=asked.action)
    live = row is not None and not row.superseded_by
    now = Now(
        photos=row.photos if row is not None and live else [],
        state=accepted.state,
        name=" ".join(p for p in (accepted.qualifier, accepted.scientific_name) if p),
        others=bool(since - ours),
    )
    problem = conflict(asked, now)
    if problem or row is None:
        raise TriageError(
            problem,
            failing="sighting",
            next_step=f"Look at sighting {asked.sighting}; if the answer holds, record it with"
            f" 'triage determine {asked.sighting} NAME --by DETERMINER'.",
        )
    return row


def _digest_of(statement: Statement) -> str:
    return short_digest_of(repr([getattr(statement, one.name) for one in fields(statement)]))


def determine_from_table(
    survey: Survey, path: Path, *, by: str, now: datetime, new: bool = False
) -> ImportOutcome:
    """Record one determination a row; a row that repeats what its determiner said is no change.

    ``by`` is the determiner of rows without identifiedBy. The queue's own table may be filled in:
    its columns are passed over.

    Raises
    ------
    TableError
        The file as a whole cannot be read, or has a column that is not known.
    """
    said, wrong = read_determinations(path, passed_over=(*HEADINGS, *RETIRED_HEADINGS))
    with survey.transaction():
        before = people.known(survey)
        accepted, read, refused_rows = _read_all(survey, said, by, before, new=new)
        wrong += refused_rows
        twice = _said_twice(read)
        accepted -= len(twice)
        wrong += twice.values()
        kept = {line: one for line, one in read.items() if line not in twice}
        wrong += _of_known_families(kept, before)
        wrong += _answered_by_others(kept, by, before)
        new_ones = [
            one
            for one in kept.values()
            if not said_before(survey, one.sighting, one.statement, one.who)
        ]
        if new_ones:
            says = by or _only_one(found.who for found in new_ones)
            summary = f"determinations of {path.name}"
            action = actions.record(survey, "determine", summary, by=says, now=now)
        who_named = dict.fromkeys(found.who for found in new_ones)
        added = {one: people.added(survey, one) for one in who_named}
        for found in new_ones:
            who = added[found.who]
            append(survey, found.sighting, found.statement, person=who, action=action, now=now)
            if found.asked is not None:
                digest = _digest_of(found.statement)
                packets.add_answer(survey, found.asked, digest, action=action)
    refused, told = parted(wrong)
    return ImportOutcome(
        file=str(path), accepted=accepted, new=len(new_ones), changed=0, refused=refused, told=told
    )


def _read_all(
    survey: Survey, said: Iterable[SaidRow], by: str, before: Sequence[KnownPerson], *, new: bool
) -> tuple[int, dict[int, _Found], list[RefusedRow]]:
    """How many rows can be taken, what they say by line, and the refused ones.

    Somebody new is one of the known for the rows below, and is added to the survey by nobody yet.
    """
    checklist, everybody = evidence.checklist(survey), list(before)
    accepted, read, refused = 0, dict[int, _Found](), list[RefusedRow]()
    for row in said:
        try:
            found = _read(survey, row, by, checklist, everybody, new=new)
        except TriageError as error:
            column = error.failing if error.failing in COLUMNS else ""
            reason = str(error).removeprefix(f"{column}: ") if column else str(error)
            refused.append(RefusedRow(line=row.line, column=column, reason=reason))
            continue
        accepted += 1
        if found:
            read[row.line] = found
            everybody += [found.who] if found.who not in everybody else []
    return accepted, read, refused


def _said_twice(read: Mapping[int, _Found]) -> dict[int, RefusedRow]:
    """By line: what one person says twice of one sighting, under two spellings of either."""
    lines = in_groups(((one.who.code, one.sighting.identifier), line) for line, one in read.items())
    return {
        line: RefusedRow(
            line=line,
            column="sighting",
            reason=f"{read[line].who.name} names sighting {read[line].sighting.identifier} on line"
            f" {' and '.join(str(other) for other in same if other != line)} as well. None of these"
            " rows was taken: keep the right one.",
        )
        for same in lines.values()
        for line in same
        if len(same) > 1
    }


def _of_known_families(
    read: Mapping[int, _Found], before: Sequence[KnownPerson]
) -> list[RefusedRow]:
    """What is told of people whom a table added: who may be meant, under another first name."""
    found = [(line, one.who) for line, one in read.items() if one.who not in before]
    added = {who.name: line for line, who in reversed(found)}
    return [
        RefusedRow(line=line, column="identifiedBy", reason=reason, only_told=True)
        for name, line in added.items()
        if (reason := of_known_family(name, before))
    ]


def _only_one(people: Iterable[KnownPerson]) -> str:
    """Whose table it is: its one determiner's; one of several people is the coordinator's."""
    names = {person.name or person.code for person in people}
    return names.pop() if len(names) == 1 else "coordinator"


def _determiner(everybody: Sequence[KnownPerson], who: str, *, new: bool) -> KnownPerson:
    """The person of a row; a new one only if near nobody's name: one word answers for all rows."""
    if new and names_near(who, everybody) and recognise(who, everybody) is None:
        raise UnknownError(
            ask_about(who, everybody).what,
            failing=who,
            next_step="Write that name if it is the same person; somebody else is added by one"
            " determination of their own, 'triage determine SIGHTING NAME --by WHO --new'.",
        )
    return people.meant(everybody, who, new=new)


def _who_answers(everybody: Sequence[KnownPerson], who: str, to_whom: str) -> KnownPerson:
    """The person of an answer: a packet's table adds nobody, its cells may be shifted."""
    found = recognise(who, everybody)
    if found is None:
        names = (one.name or one.code for one in everybody if one.code == to_whom)
        raise UnknownError(
            f"{ask_about(who, everybody).what}; the packet was made for {next(names, to_whom)}",
            failing=who,
            next_step="Leave identifiedBy empty for that person's answers; somebody else is added"
            " by one determination of their own, 'triage determine SIGHTING NAME --by WHO --new'.",
        )
    return found


def _answered_by_others(
    read: Mapping[int, _Found], by: str, known: Sequence[KnownPerson]
) -> list[RefusedRow]:
    """What is told of answers that another name stands beside than that of the packet's person."""
    names = {one.row: one.name or one.code for one in known}
    given, told = " ".join(by.split()), dict[tuple[str, str], RefusedRow]()
    for line, one in read.items():
        if one.asked is None:
            continue
        packet, whose = one.asked.packet, names.get(one.asked.person, "somebody else")
        if one.who.row != one.asked.person:
            reason = f"packet {packet} was made for {whose}; {one.who.name} answers here."
        elif given and recognise(given, [one.who]) is None:
            reason = (
                f"these answers are {whose}'s, for whom packet {packet} was made, not {given}'s."
            )
        else:
            continue
        row = RefusedRow(line=line, column="identifiedBy", reason=reason, only_told=True)
        told.setdefault((packet, one.who.code), row)
    return list(told.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """Who says what of which sighting, and which question of a packet that answers."""

    who: KnownPerson
    sighting: SightingRow
    statement: Statement
    asked: Asked | None


def _read(
    survey: Survey,
    row: SaidRow,
    by: str,
    checklist: Checklist,
    everybody: Sequence[KnownPerson],
    *,
    new: bool,
) -> _Found | None:
    """What a row says; None for an answer from a packet that was taken in before."""
    asked = asked_under(survey, row.sighting)
    to_whom = people.codes(survey, [asked.person])[asked.person] if asked else by
    who = row.identified_by or to_whom
    if not who:
        raise TriageError(
            "no determiner", failing="identifiedBy", next_step="Fill it or give --by."
        )
    statement = read_statement(checklist, row.statement)
    if asked is None:
        sighting = sightings.find(survey, row.sighting)
    elif _digest_of(statement) in packets.answered(survey, asked):
        return None  # whatever was said after it
    else:
        sighting = sighting_asked(survey, asked)
    if asked is None:
        person = _determiner(everybody, who, new=new)
    else:
        person = _who_answers(everybody, who, to_whom)
    return _Found(who=person, sighting=sighting, statement=statement, asked=asked)
