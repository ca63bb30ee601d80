"""Record a table of determinations, one a row, as one action; refuse rows with the reason."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.checklist import Checklist
from triage.determinations import SaidRow, Statement, read_determinations, read_statement
from triage.determinations.determiners import KnownPerson
from triage.errors import TriageError
from triage.packets import Asked
from triage.pipeline import packet_answers
from triage.pipeline.determine import append, said_before
from triage.pipeline.determiners import determiner
from triage.pipeline.queue_views import HEADINGS, RETIRED_HEADINGS
from triage.pipeline.standing import load_checklist
from triage.pipeline.tables import ImportOutcome
from triage.sightings import SightingRow
from triage.standards.tables import RefusedRow
from triage.store import actions, sightings
from triage.store.connection import Survey


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
    said, refused = read_determinations(path, passed_over=(*HEADINGS, *RETIRED_HEADINGS))
    checklist = load_checklist(survey)
    added = accepted = action = 0
    with survey.transaction():
        for row in said:
            try:
                found = _read(survey, row, by, checklist, new=new)
            except TriageError as error:
                refused.append(RefusedRow(line=row.line, column=error.failing, reason=str(error)))
                continue
            accepted += 1
            if found is None or said_before(survey, found.sighting, found.statement, found.who):
                continue
            if not action:
                summary = f"determinations of {path.name}"
                who = by or found.who.name or found.who.code
                action = actions.record(survey, "determine", summary, by=who, now=now)
            append(
                survey, found.sighting, found.statement, person=found.who, action=action, now=now
            )
            if found.asked is not None:
                packet_answers.take_in(survey, found.asked, found.statement, action=action)
            added += 1
    return ImportOutcome(
        file=str(path),
        accepted=accepted,
        new=added,
        changed=0,
        refused=tuple(sorted(refused, key=lambda row: row.line)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """Who says what of which sighting, and which question of a packet that answers."""

    who: KnownPerson
    sighting: SightingRow
    statement: Statement
    asked: Asked | None


def _read(
    survey: Survey, row: SaidRow, by: str, checklist: Checklist, *, new: bool
) -> _Found | None:
    """What a row says; None for an answer from a packet that was taken in before."""
    asked = packet_answers.asked_under(survey, row.sighting)
    who = row.identified_by or (packet_answers.asked_person(survey, asked).code if asked else by)
    if not who:
        raise TriageError(
            "no determiner", failing="identifiedBy", next_step="Fill it or give --by."
        )
    statement = read_statement(checklist, row.statement)
    if asked is None:
        sighting = sightings.find(survey, row.sighting)
    elif packet_answers.is_taken_in(survey, asked, statement):
        return None
    else:
        sighting = packet_answers.check(survey, asked)
    person = determiner(survey, who, new=new)
    return _Found(who=person, sighting=sighting, statement=statement, asked=asked)
