"""Tell whether an answer from a packet was taken in before, and of which sighting it speaks."""

from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

from triage.determinations import Accepted, Statement
from triage.determinations.determiners import KnownPerson
from triage.errors import TriageError, UnknownError
from triage.packets import Asked, Now, conflict, read_key
from triage.pipeline.standing import standing
from triage.sightings import SightingRow
from triage.standards.digests import short_digest_of
from triage.store import packets, people
from triage.store.connection import Survey

HEAD_BYTES = 64  # of a file: enough for the first column of a table of answers


def is_table_of_answers(path: Path) -> bool:
    """Whether a file looks like the table that a packet's page saves."""
    if path.suffix.lower() != ".csv" or not path.is_file():
        return False
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    first = re.split(rb"[,;\t\r\n]", head.removeprefix(b"\xef\xbb\xbf"))[0]
    return first.strip(b'" ') == b"sighting"


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


def asked_person(survey: Survey, asked: Asked) -> KnownPerson:
    """To whom the packet went."""
    return next(one for one in people.known(survey) if one.row == asked.person)


def is_taken_in(survey: Survey, asked: Asked, statement: Statement) -> bool:
    """Whether this answer was recorded before, whatever was said after it."""
    return _digest(statement) in packets.answered(survey, asked)


def take_in(survey: Survey, asked: Asked, statement: Statement, *, action: int) -> None:
    """Note that this answer is recorded under this action."""
    packets.add_answer(survey, asked, _digest(statement), action=action)


def check(survey: Survey, asked: Asked) -> SightingRow:
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
        photos=[photo for photo, _ in row.members] if row is not None and live else [],
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


def _digest(statement: Statement) -> str:
    return short_digest_of(repr([getattr(statement, one.name) for one in fields(statement)]))
